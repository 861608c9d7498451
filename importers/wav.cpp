// WAV: fixed-point and floating-point samples, read through libsndfile from bytes in memory.

#include <sndfile.h>

#include <algorithm>
#include <cmath>
#include <cstring>
#include <exception>
#include <memory>
#include <numbers>

#include "importers/excerpt.hpp"
#include "importers/format.hpp"
#include "importers/import_error.hpp"
#include "importers/parallel.hpp"

namespace pulsewright::importers {

namespace {

constexpr std::size_t block_values = std::size_t{1} << 14;
constexpr std::size_t least_samples_a_thread = std::size_t{1} << 18;

[[noreturn]] void refuse(std::string_view name, std::size_t byte, const std::string& expected, const std::string& found) {
  throw ImportError(ImportError::Kind::unusable_data, std::string(name), {.line = {}, .column = {}, .byte = byte},
                    expected, found);
}

bool recognises(std::string_view bytes) {
  if (bytes.size() < 12) return bytes.size() >= 4 && bytes.starts_with("RIFF");
  const auto id = bytes.substr(0, 4);
  return (id == "RIFF" || id == "RIFX" || id == "RF64") && bytes.substr(8, 4) == "WAVE";
}

/// What the chunks say, before libsndfile reads them.
struct Header {
  bool big_endian = false;
  std::size_t rate_offset = 0;
  std::uint32_t rate_hz = 0;
  std::size_t block_bytes = 0;      ///< one sample of all channels
  std::size_t data_offset = 0;
  std::uint32_t data_bytes = 0;     ///< as announced, or `left_open`
};

/// The size of samples that go on to the end of the file (common practice, no source), or that another chunk states.
constexpr std::uint32_t left_open = 0xffffffff;

std::uint32_t number(std::string_view bytes, std::size_t at, std::size_t width, bool big_endian) {
  std::uint32_t value = 0;
  for (std::size_t i = 0; i < width; ++i) {
    const std::size_t place = big_endian ? at + i : at + width - 1 - i;
    value = value << 8 | static_cast<unsigned char>(bytes[place]);
  }
  return value;
}

/// Calls `look(id, size, at)` for the chunks from `at` on until it returns false, but for no more than a WAV file has: a file of tiny
/// ones costs no time. Where the last one ends, or the one at which `look` stopped starts.
template <class Look>
std::size_t walk_chunks(const Content& content, std::size_t at, bool big_endian, Look look) {
  constexpr int most_chunks = 100;
  BlockBuffer buffer;
  for (int i = 0; i < most_chunks && at < content.size() && content.size() - at >= 8; ++i) {
    const auto bytes = content.block(at, 8, buffer).bytes;
    const std::size_t chunk = number(bytes, 4, 4, big_endian);
    if (!look(bytes.substr(0, 4), chunk, at)) return at;
    at += 8 + chunk + chunk % 2;
  }
  return at;
}

/// Throws ImportError when the samples are in several chunks; `at` is behind the first.
void refuse_second_data(std::string_view name, const Content& content, bool big_endian, std::size_t at) {
  walk_chunks(content, at, big_endian, [&](std::string_view id, std::size_t, std::size_t place) {
    if (id == "data") refuse(name, place, "one \"data\" chunk", "a second one");
    return true;
  });
}

/// Whether samples stand at `at`: something that is no chunk.
bool samples_at(const Content& content, std::size_t at, bool big_endian) {
  const auto is_chunk = [&](std::string_view id, std::size_t size, std::size_t place) {
    return std::all_of(id.begin(), id.end(), [](char c) { return c >= ' ' && c <= '~'; }) && size <= content.size() - place - 8;
  };
  return at < content.size() && walk_chunks(content, at, big_endian, is_chunk) == at;
}

Header read_header(std::string_view name, const Content& content) {
  const std::size_t size = content.size();
  if (size < 12) refuse(name, size, "a WAV header", "the end of the file");
  Header header;
  header.big_endian = content.head().starts_with("RIFX");
  BlockBuffer buffer;
  std::size_t at = 12;
  while (size - at >= 8) {
    const auto bytes = content.block(at, 24, buffer).bytes;
    const auto id = bytes.substr(0, 4);
    const std::uint32_t chunk = number(bytes, 4, 4, header.big_endian);
    if (id == "data") {
      if (header.rate_offset == 0) refuse(name, at, "a \"fmt \" chunk before the samples", "none");
      header.data_offset = at + 8;
      const bool never_completed = chunk == 0 && samples_at(content, header.data_offset, header.big_endian);
      header.data_bytes = never_completed ? left_open : chunk;
      if (header.data_bytes != left_open) refuse_second_data(name, content, header.big_endian, header.data_offset + chunk + chunk % 2);
      return header;
    }
    if (chunk > size - at - 8)
      refuse(name, at + 4, "a chunk of at most " + std::to_string(size - at - 8) + " bytes",
             "chunk " + quoted(id) + " of " + std::to_string(chunk) + " bytes");
    if (id == "fmt ") {
      if (chunk < 16) refuse(name, at + 4, "a \"fmt \" chunk of at least 16 bytes", std::to_string(chunk) + " bytes");
      header.rate_offset = at + 12;
      header.rate_hz = number(bytes, 12, 4, header.big_endian);
      header.block_bytes = number(bytes, 20, 2, header.big_endian);
    }
    at = std::min<std::size_t>(size, at + 8 + chunk + chunk % 2);
  }
  refuse(name, size, "a \"data\" chunk", "the end of the file");
}

/// The bytes as libsndfile sees them. The rate is replaced by a harmless one: libsndfile refuses 0 Hz and rates of
/// 2^31 Hz and above, and the program takes the rate from the header itself. A size of samples that was never filled in is replaced by
/// `left_open`.
struct Source {
  const Content& content;
  std::size_t at = 0;
  std::size_t rate_offset = 0;
  std::size_t open_size_offset = 0;  ///< of a size that is left open, else 0
  bool big_endian = false;
  BlockBuffer buffer{};
  std::exception_ptr problem{};  ///< libsndfile is C: what reading throws waits here

  unsigned char rate_byte(std::size_t index) const {
    constexpr std::uint32_t harmless_hz = 48000;
    const std::size_t shift = 8 * (big_endian ? 3 - index : index);
    return static_cast<unsigned char>(harmless_hz >> shift & 0xff);
  }
};

sf_count_t source_length(void* user) { return static_cast<sf_count_t>(static_cast<Source*>(user)->content.size()); }
sf_count_t source_tell(void* user) { return static_cast<sf_count_t>(static_cast<Source*>(user)->at); }
sf_count_t source_write(const void*, sf_count_t, void*) { return 0; }

sf_count_t source_seek(sf_count_t offset, int whence, void* user) {
  auto& source = *static_cast<Source*>(user);
  const auto size = static_cast<sf_count_t>(source.content.size());
  const sf_count_t base = whence == SEEK_SET ? 0 : whence == SEEK_CUR ? static_cast<sf_count_t>(source.at) : size;
  const sf_count_t wanted = offset > size - base ? size : base + std::max(offset, -base);
  source.at = static_cast<std::size_t>(wanted);
  return wanted;
}

sf_count_t source_read(void* place, sf_count_t count, void* user) {
  auto& source = *static_cast<Source*>(user);
  if (count <= 0) return 0;
  std::string_view bytes;
  try {
    bytes = source.content.block(source.at, static_cast<std::size_t>(count), source.buffer).bytes;
  } catch (...) {
    source.problem = std::current_exception();
  }
  const std::size_t length = bytes.size();
  std::memcpy(place, bytes.data(), length);
  const auto put = [&](std::size_t byte, unsigned char value) {
    if (byte >= source.at && byte < source.at + length) static_cast<unsigned char*>(place)[byte - source.at] = value;
  };
  for (std::size_t i = 0; i < 4; ++i) {
    put(source.rate_offset + i, source.rate_byte(i));
    if (source.open_size_offset != 0) put(source.open_size_offset + i, left_open & 0xff);
  }
  source.at += length;
  return static_cast<sf_count_t>(length);
}

struct Close {
  void operator()(SNDFILE* file) const { sf_close(file); }
};

/// libsndfile on the bytes of a content; used by one thread at a time.
class Decoder {
 public:
  Decoder(std::string_view name, const Content& content, const Header& header)
      : source_{content, 0, header.rate_offset, header.data_bytes == left_open ? header.data_offset - 4 : 0, header.big_endian} {
    SF_VIRTUAL_IO access{source_length, source_seek, source_read, source_write, source_tell};
    file_.reset(sf_open_virtual(&access, SFM_READ, &info_, &source_));
    if (source_.problem) std::rethrow_exception(source_.problem);
    if (!file_) refuse(name, header.rate_offset, "a WAV header that can be read", printable(sf_strerror(nullptr)));
  }

  const SF_INFO& info() const { return info_; }

  /// `count` samples of each channel to `place`, from sample `first` on; how many there were.
  std::size_t read(std::size_t first, std::size_t count, float* place) {
    if (first != next_ && sf_seek(file_.get(), static_cast<sf_count_t>(first), SEEK_SET) < 0) return 0;
    const sf_count_t got = sf_readf_float(file_.get(), place, static_cast<sf_count_t>(count));
    if (source_.problem) std::rethrow_exception(source_.problem);
    next_ = first + static_cast<std::size_t>(std::max<sf_count_t>(got, 0));
    return next_ - first;
  }

 private:
  Source source_;
  SF_INFO info_{};
  std::unique_ptr<SNDFILE, Close> file_;
  std::size_t next_ = 0;
};

struct Encoding {
  const char* words;
  std::size_t bytes;
};

std::optional<Encoding> encoding_of(int format) {
  switch (format & SF_FORMAT_SUBMASK) {
    case SF_FORMAT_PCM_U8: return Encoding{"8-bit PCM", 1};
    case SF_FORMAT_PCM_16: return Encoding{"16-bit PCM", 2};
    case SF_FORMAT_PCM_24: return Encoding{"24-bit PCM", 3};
    case SF_FORMAT_PCM_32: return Encoding{"32-bit PCM", 4};
    case SF_FORMAT_FLOAT: return Encoding{"32-bit floating point", 4};
    case SF_FORMAT_DOUBLE: return Encoding{"64-bit floating point", 8};
    default: return std::nullopt;
  }
}

/// The channels' samples from one block of all; the scale is 1 where full scale is not known.
void store(std::string_view name, const Header& header, const std::vector<float>& block, std::size_t from, std::size_t count, double scale,
           std::vector<Channel>& channels) {
  for (std::size_t c = 0; c < channels.size(); ++c) {
    float* const values = channels[c].values.data() + from;
    const float* const first = block.data() + c;
    const std::size_t step = channels.size();
    std::size_t finite = 0;
    for (std::size_t i = 0; i < count; ++i) {
      values[i] = static_cast<float>(first[i * step] * scale);
      finite += values[i] - values[i] == 0;
    }
    if (finite == count) continue;
    const auto odd = from + static_cast<std::size_t>(std::find_if(values, values + count, [](float v) { return !std::isfinite(v); }) - values);
    refuse(name, header.data_offset + odd * header.block_bytes + c * (header.block_bytes / channels.size()), "finite samples",
           "sample " + std::to_string(odd + 1) + " of channel " + std::to_string(c + 1) + " that is infinite or not a number");
  }
}

/// Samples [first, last) of each channel as one thread reads them.
struct Part {
  std::size_t first = 0, last = 0;
  std::size_t next = 0;          ///< the first one that is not read
  std::exception_ptr problem{};
};

void read_part(std::string_view name, const Content& content, const Header& header, const ImportOptions& options,
               std::vector<Channel>& channels, Part& part) {
  Decoder decoder(name, content, header);
  std::vector<float> block(std::max(block_values / channels.size(), std::size_t{1}) * channels.size());
  for (part.next = part.first; part.next < part.last;) {
    const std::size_t wanted = std::min(block.size() / channels.size(), part.last - part.next);
    const std::size_t got = decoder.read(part.next, wanted, block.data());
    if (got == 0) return;
    store(name, header, block, part.next, got, options.full_scale_v.value_or(1), channels);
    part.next += got;
    if (part.first == 0 && options.progress) options.progress(static_cast<double>(part.next) / static_cast<double>(part.last));
  }
}

/// Fills the channels from several threads; how many samples of each could be read.
std::size_t read_samples(std::string_view name, const Content& content, const Header& header, const ImportOptions& options,
                         std::vector<Channel>& channels) {
  const std::size_t frames = channels.front().values.size();
  const std::size_t threads = std::min(thread_count(options.threads), frames / least_samples_a_thread + 1);
  std::vector<Part> parts(threads);
  for (std::size_t i = 0; i < threads; ++i) parts[i].first = frames * i / threads, parts[i].last = frames * (i + 1) / threads;
  for_each_index(threads, threads, [&](std::size_t i) {
    try {
      read_part(name, content, header, options, channels, parts[i]);
    } catch (...) {
      parts[i].problem = std::current_exception();
    }
  });
  for (const Part& part : parts) {  // what is wrong first in the file counts
    if (part.problem) std::rethrow_exception(part.problem);
    if (part.next < part.last) return part.next;
  }
  return frames;
}

/// Turns a channel into logic when it holds exactly two values.
bool make_logic(Channel& channel, double interval_s) {
  const auto [low, high] = std::minmax_element(channel.values.begin(), channel.values.end());
  const float low_value = *low, high_value = *high;
  if (low_value == high_value) return false;
  const auto is_level = [&](float v) { return v == low_value || v == high_value; };
  if (!std::all_of(channel.values.begin(), channel.values.end(), is_level)) return false;
  for (std::size_t i = 0; i < channel.values.size(); ++i) {
    const bool state = channel.values[i] == high_value;
    if (channel.changes.empty() || channel.changes.back().high != state)
      channel.changes.push_back({static_cast<double>(i) * interval_s, state});
  }
  channel.values = Samples{};
  channel.kind = ChannelKind::logic;
  channel.unit.clear();
  return true;
}

void set_interval(std::string_view name, const Header& header, const ImportOptions& options, Capture& capture) {
  if (options.sample_rate_hz) {
    capture.sample_interval_s = 1 / *options.sample_rate_hz;
    capture.sample_interval_rule = "sample rate given by the user";
    return;
  }
  if (header.rate_hz == 0) refuse(name, header.rate_offset, "a sample rate, in the file or stated", "0 Hz");
  capture.sample_interval_s = 1.0 / header.rate_hz;
  // The header holds whole hertz: half a hertz either way, evenly likely.
  capture.sample_interval_u_s = capture.sample_interval_s * (0.5 / std::numbers::sqrt3) / header.rate_hz;
  capture.sample_interval_rule = "sample rate in the header, " + std::to_string(header.rate_hz) + " Hz";
  if (header.rate_hz <= 192000)
    capture.notes.push_back("the header's sample rate of " + std::to_string(header.rate_hz) +
                            " Hz is an audio rate and may be a placeholder; state the true one if it differs");
}

void note_length(std::string_view head, const Header& header, Capture& capture) {
  const bool open_ended = header.data_bytes == left_open;
  if (!open_ended && header.block_bytes != 0) {
    capture.samples_announced = header.data_bytes / header.block_bytes;
    if (*capture.samples_announced > capture.samples)
      capture.notes.push_back("the header announces " + std::to_string(*capture.samples_announced) +
                              " samples a channel, the file holds " + std::to_string(capture.samples));
  } else if (open_ended && !head.starts_with("RF64")) {
    capture.notes.push_back("the header does not say how many samples there are; read to the end of the file");
  }
}

Capture read(std::string_view name, const Content& content, const ImportOptions& options) {
  const Header header = read_header(name, content);
  Capture capture;
  set_interval(name, header, options, capture);

  const SF_INFO info = Decoder(name, content, header).info();
  const auto encoding = encoding_of(info.format);
  if (!encoding || info.channels < 1)
    refuse(name, header.rate_offset - 4, "PCM or floating-point samples", "a compressed or unknown encoding");

  const auto channels = static_cast<std::size_t>(info.channels);
  const std::size_t frame_bytes = channels * encoding->bytes;
  if (header.block_bytes != 0 && header.block_bytes != frame_bytes)
    refuse(name, header.rate_offset + 8, "blocks of " + std::to_string(frame_bytes) + " bytes for " + encoding->words + " of " + std::to_string(channels) + " channels",
           "blocks of " + std::to_string(header.block_bytes) + " bytes");
  const std::size_t held = (content.size() - header.data_offset) / frame_bytes;
  const std::size_t frames = info.frames < 0 ? 0 : std::min(held, static_cast<std::size_t>(info.frames));
  if (frames == 0) refuse(name, header.data_offset, "samples", "none");
  if (options.memory_limit_bytes != 0 && frames > options.memory_limit_bytes / (channels * sizeof(float)))
    refuse(name, header.data_offset, "samples within the memory limit of " + std::to_string(options.memory_limit_bytes) +
           " bytes", std::to_string(frames) + " samples of " + std::to_string(channels) + " channels");

  for (std::size_t c = 0; c < channels; ++c) {
    Channel channel;
    channel.name = "channel " + std::to_string(c + 1);
    channel.unit = options.full_scale_v ? "V" : "full scale";
    channel.kind = options.full_scale_v ? ChannelKind::analog : ChannelKind::counts;
    channel.values.resize(frames);
    capture.channels.push_back(std::move(channel));
  }
  const std::size_t done = read_samples(name, content, header, options, capture.channels);
  if (done == 0) refuse(name, header.data_offset, "samples", "none that can be read");
  for (Channel& channel : capture.channels) channel.values.resize(done);

  capture.samples = done;
  capture.span_s = static_cast<double>(done - 1) * capture.sample_interval_s;
  capture.dialect = std::string(encoding->words) + ", " + std::to_string(channels) +
                    (channels == 1 ? " channel" : " channels");
  note_length(content.head(), header, capture);
  std::size_t relative = 0;
  for (Channel& channel : capture.channels) {
    const bool logic = (info.format & SF_FORMAT_SUBMASK) == SF_FORMAT_PCM_U8 &&
                       make_logic(channel, capture.sample_interval_s);
    if (logic) capture.notes.push_back(channel.name + " holds two values only: taken as logic");
    if (channel.kind == ChannelKind::counts) ++relative;
  }
  if (relative != 0) capture.notes.push_back("full scale in volts is not known: levels are fractions of full scale");
  return capture;
}

}  // namespace

const Format wav_format{"wav", recognises, read};

}  // namespace pulsewright::importers
