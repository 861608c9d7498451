// WAV files written by SoX and by libsndfile, read back exact to the code, cut everywhere and spoilt.

#include <sndfile.h>

#include <boost/test/unit_test.hpp>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <span>
#include <string>

#include "importers/import.hpp"
#include "importers/import_error.hpp"

namespace {

using namespace pulsewright::importers;

Capture import(const std::string& bytes, const ImportOptions& options = {}) {
  return import_bytes("wind.wav", std::as_bytes(std::span(bytes)), options);
}

ImportOptions sample_rate(double rate_hz) {
  ImportOptions options;
  options.sample_rate_hz = rate_hz;
  return options;
}

ImportOptions full_scale(double volts) {
  ImportOptions options;
  options.full_scale_v = volts;
  return options;
}

ImportOptions memory_limit(std::size_t bytes) {
  ImportOptions options;
  options.memory_limit_bytes = bytes;
  return options;
}

std::string message(const std::string& bytes, const ImportOptions& options = {}) {
  try {
    import(bytes, options);
  } catch (const ImportError& error) {
    return error.what();
  }
  return "no error";
}

std::string little(std::uint32_t value, int width) {
  std::string text;
  for (int i = 0; i < width; ++i) text += static_cast<char>(value >> (8 * i) & 0xff);
  return text;
}

/// A canonical 16-bit file (RIFF WAVE, one "fmt " and one "data" chunk) made byte by byte.
std::string plain_wav(std::uint32_t rate_hz, const std::vector<std::int16_t>& codes, const std::string& extra = "") {
  std::string samples;
  for (const auto code : codes) samples += little(static_cast<std::uint16_t>(code), 2);
  const auto size = static_cast<std::uint32_t>(samples.size());
  return "RIFF" + little(36 + size, 4) + "WAVEfmt " + little(16, 4) + little(1, 2) + little(1, 2) + little(rate_hz, 4) +
         little(rate_hz * 2, 4) + little(2, 2) + little(16, 2) + extra + "data" + little(size, 4) + samples;
}

/// Codes that every format from 8 bits on holds exactly.
const std::vector<std::int16_t> coarse{0, 256, -256, 32512, -32768, 12800, -5120, 0};

struct Folder {
  std::filesystem::path path;
  Folder() {
    std::string pattern = (std::filesystem::temp_directory_path() / "pulsewright-wav-XXXXXX").string();
    BOOST_REQUIRE(::mkdtemp(pattern.data()) != nullptr);
    path = pattern;
  }
  ~Folder() { std::filesystem::remove_all(path); }
  std::string operator/(const char* name) const { return (path / name).string(); }
};

void check_two_channels(const Capture& capture) {
  BOOST_TEST_REQUIRE(capture.channels.size() == 2U);
  BOOST_TEST_REQUIRE(capture.samples == coarse.size() / 2);
  for (std::size_t i = 0; i < coarse.size(); ++i)
    BOOST_TEST(capture.channels[i % 2].values.at(i / 2) == static_cast<float>(coarse[i]) / 32768.0F);
}

}  // namespace

BOOST_AUTO_TEST_SUITE(wav)

BOOST_AUTO_TEST_CASE(every_sample_format_of_sox_is_exact) {
  const Folder folder;
  std::string raw;
  for (const auto code : coarse) raw += little(static_cast<std::uint16_t>(code), 2);
  std::ofstream(folder / "in.raw", std::ios::binary) << raw;
  for (const std::string format : {"-e unsigned -b 8", "-e signed -b 16", "-e signed -b 24", "-e signed -b 32",
                                   "-e float -b 32", "-e float -b 64"}) {
    BOOST_TEST_CONTEXT(format) {
      const std::string command = "sox -D -t raw -r 20000000 -e signed -b 16 -c 2 '" + (folder / "in.raw") + "' " + format +
                                  " '" + (folder / "out.wav") + "'";
      BOOST_TEST_REQUIRE(std::system(command.c_str()) == 0);
      const Capture capture = import_file(folder / "out.wav");
      check_two_channels(capture);
      BOOST_TEST(capture.sample_interval_s == 1 / 20e6);
      BOOST_TEST(capture.format == "wav");
    }
  }
}

BOOST_AUTO_TEST_CASE(every_sample_format_of_libsndfile_is_exact) {
  const Folder folder;
  for (const int format : {SF_FORMAT_PCM_U8, SF_FORMAT_PCM_16, SF_FORMAT_PCM_24, SF_FORMAT_PCM_32, SF_FORMAT_FLOAT,
                           SF_FORMAT_DOUBLE}) {
    for (const int container : {SF_FORMAT_WAV, SF_FORMAT_WAVEX, SF_FORMAT_RF64}) {
      SF_INFO info{};
      info.samplerate = 8000000;
      info.channels = 2;
      info.format = container | format;
      const std::string path = folder / "out.wav";
      SNDFILE* file = sf_open(path.c_str(), SFM_WRITE, &info);
      BOOST_REQUIRE(file != nullptr);
      sf_writef_short(file, coarse.data(), static_cast<sf_count_t>(coarse.size() / 2));
      sf_close(file);
      const Capture capture = import_file(path);
      // libsndfile writes short codes to floating-point files unscaled unless told otherwise.
      BOOST_TEST_REQUIRE(capture.channels.size() == 2U);
      const float unit = format == SF_FORMAT_FLOAT || format == SF_FORMAT_DOUBLE ? capture.channels[1].values[0] / 256 : 1 / 32768.0F;
      BOOST_TEST((unit == 1 || unit == 1 / 32768.0F));
      for (std::size_t i = 0; i < coarse.size(); ++i)
        BOOST_TEST(capture.channels[i % 2].values.at(i / 2) == static_cast<float>(coarse[i]) * unit);
    }
  }
}

BOOST_AUTO_TEST_CASE(every_16_bit_code_is_exact_and_scaled_by_full_scale) {
  std::vector<std::int16_t> codes;
  for (int code = -32768; code <= 32767; ++code) codes.push_back(static_cast<std::int16_t>(code));
  const Capture fractions = import(plain_wav(1000000, codes));
  const Capture volts = import(plain_wav(1000000, codes), full_scale(4.0));
  std::size_t wrong = 0;
  for (std::size_t i = 0; i < codes.size(); ++i) {
    wrong += fractions.channels[0].values[i] != static_cast<float>(codes[i]) / 32768.0F;
    wrong += volts.channels[0].values[i] != static_cast<float>(codes[i]) / 8192.0F;
  }
  BOOST_TEST(wrong == 0U);
  BOOST_TEST((fractions.channels[0].kind == ChannelKind::counts));
  BOOST_TEST(fractions.channels[0].unit == "full scale");
  BOOST_TEST(fractions.notes.back() == "full scale in volts is not known: levels are fractions of full scale");
  BOOST_TEST((volts.channels[0].kind == ChannelKind::analog));
  BOOST_TEST(volts.channels[0].unit == "V");
}

BOOST_AUTO_TEST_CASE(sample_rate_zero_placeholder_and_above_31_bits) {
  BOOST_TEST(message(plain_wav(0, coarse)) ==
             "wind.wav, byte 24: expected a sample rate, in the file or stated, found 0 Hz");
  BOOST_TEST(import(plain_wav(0, coarse), sample_rate(50e6)).sample_interval_s == 1 / 50e6);
  BOOST_TEST(import(plain_wav(44100, coarse), sample_rate(50e6)).sample_interval_s == 1 / 50e6);
  BOOST_TEST(import(plain_wav(4000000000, coarse)).sample_interval_s == 1 / 4e9);
  BOOST_TEST(import(plain_wav(44100, coarse)).notes.front() ==
             "the header's sample rate of 44100 Hz is an audio rate and may be a placeholder; state the true one if it differs");
}

BOOST_AUTO_TEST_CASE(extra_chunks_are_walked_over) {
  const std::string extra = "LIST" + little(5, 4) + std::string("INFOx\0", 6) + "padd" + little(4, 4) + "\1\2\3\4";
  const Capture capture = import(plain_wav(1000000, coarse, extra));
  BOOST_TEST(capture.samples == coarse.size());
  BOOST_TEST(capture.channels[0].values[3] == 32512 / 32768.0F);
}

BOOST_AUTO_TEST_CASE(two_valued_8_bit_file_is_logic) {
  const std::string samples("\x40\x40\xC0\xC0\xC0\x40", 6);
  const std::string bytes = "RIFF" + little(42, 4) + "WAVEfmt " + little(16, 4) + little(1, 2) + little(1, 2) +
                            little(2000000, 4) + little(2000000, 4) + little(1, 2) + little(8, 2) + "data" + little(6, 4) + samples;
  const Capture capture = import(bytes);
  BOOST_TEST_REQUIRE((capture.channels[0].kind == ChannelKind::logic));
  const auto& changes = capture.channels[0].changes;
  BOOST_TEST_REQUIRE(changes.size() == 3U);
  BOOST_TEST(!changes[0].high);
  BOOST_TEST(changes[1].high);
  BOOST_TEST(changes[1].time_s == 2 / 2e6);
  BOOST_TEST(changes[2].time_s == 5 / 2e6, boost::test_tools::tolerance(1e-15));
  BOOST_TEST(capture.notes.front() == "channel 1 holds two values only: taken as logic");
}

BOOST_AUTO_TEST_CASE(every_truncation_is_an_error_or_a_noted_partial_read) {
  const std::string good = plain_wav(1000000, coarse);
  for (std::size_t length = 1; length < good.size(); ++length) {
    BOOST_TEST_CONTEXT("cut to " << length) {
      try {
        const Capture capture = import(good.substr(0, length));
        BOOST_TEST(length >= 46U);
        BOOST_TEST(capture.samples == (length - 44) / 2);
        BOOST_TEST(capture.notes.front() == "the header announces 8 samples a channel, the file holds " +
                                                std::to_string(capture.samples));
      } catch (const ImportError& error) {
        BOOST_TEST(length < 46U);
        const std::string at = std::to_string(length);
        std::string expected = "wind.wav, byte " + at + ": expected a \"data\" chunk, found the end of the file";
        if (length < 4) expected = "";  // not yet a WAV file; read as text or refused as binary data
        else if (length < 12) expected = "wind.wav, byte " + at + ": expected a WAV header, found the end of the file";
        else if (length >= 20 && length < 36) expected = "wind.wav, byte 16: expected a chunk of at most " + std::to_string(length - 20) + " bytes, found chunk \"fmt \" of 16 bytes";
        else if (length >= 44) expected = "wind.wav, byte 44: expected samples, found none";
        if (!expected.empty()) BOOST_TEST(error.what() == expected);
      }
    }
  }
}

BOOST_AUTO_TEST_CASE(malformed_headers_have_exact_messages) {
  const std::string good = plain_wav(1000000, coarse);
  struct Break {
    std::size_t byte;
    std::string bytes, words;
  };
  const Break ways[]{
      {8, "AVI ", "0: expected delimited text, WAV, VCD or any of these gzip-compressed, found binary data beginning with the bytes 52 49 46 46 34 00 00 00"},
      {16, little(14, 4), "16: expected a \"fmt \" chunk of at least 16 bytes, found 14 bytes"},
      {20, little(7, 2), "20: expected PCM or floating-point samples, found a compressed or unknown encoding"},
      {22, little(0, 2), "24: expected a WAV header that can be read, found Channel count is zero."},
      {22, little(60000, 2), "24: expected a WAV header that can be read, found Too many channels specified."},
      {24, little(0, 4), "24: expected a sample rate, in the file or stated, found 0 Hz"},
      {32, little(3, 2), "32: expected blocks of 2 bytes for 16-bit PCM of 1 channels, found blocks of 3 bytes"},
      {36, "dxta", "60: expected a \"data\" chunk, found the end of the file"},
  };
  for (const Break& way : ways)
    BOOST_TEST_CONTEXT("byte " << way.byte) {
      std::string text = good;
      BOOST_TEST(message(text.replace(way.byte, way.bytes.size(), way.bytes)) == "wind.wav, byte " + way.words);
    }
  BOOST_TEST(message(good.substr(0, 44)) == "wind.wav, byte 44: expected samples, found none");
  BOOST_TEST(message(good.substr(0, 36)) == "wind.wav, byte 36: expected a \"data\" chunk, found the end of the file");
  std::string spoilt = good;
  spoilt.replace(16, 4, little(0x7fffffff, 4));
  BOOST_TEST(message(spoilt) == "wind.wav, byte 16: expected a chunk of at most 40 bytes, found chunk \"fmt \" of 2147483647 bytes");
  spoilt = good;
  spoilt.replace(12, 4, "fmx ");
  BOOST_TEST(message(spoilt) == "wind.wav, byte 36: expected a \"fmt \" chunk before the samples, found none");
  spoilt = good;
  spoilt.replace(40, 4, little(0xfffffff0, 4));
  const Capture lying = import(spoilt);
  BOOST_TEST(lying.samples == coarse.size());
  BOOST_TEST(lying.notes.front() == "the header announces 2147483640 samples a channel, the file holds 8");
}

ImportOptions threads(unsigned count) {
  ImportOptions options;
  options.threads = count;
  return options;
}

BOOST_AUTO_TEST_CASE(long_file_is_the_same_from_any_number_of_threads) {
  std::vector<std::int16_t> codes(900001);
  for (std::size_t i = 0; i < codes.size(); ++i) codes[i] = static_cast<std::int16_t>(i * 40503 >> 3);
  const std::string good = plain_wav(1000000, codes);
  for (const unsigned count : {1u, 2u, 3u, 4u}) {
    const Capture capture = import(good, threads(count));
    BOOST_TEST_REQUIRE(capture.samples == codes.size());
    std::size_t exact = 0;
    for (std::size_t i = 0; i < codes.size(); ++i) exact += capture.channels[0].values[i] == static_cast<float>(codes[i]) / 32768;
    BOOST_TEST(exact == codes.size(), count << " threads");
    const Capture cut = import(good.substr(0, 44 + 2 * 700000), threads(count));
    BOOST_TEST(cut.samples == 700000u);
    BOOST_TEST(cut.notes.front() == "the header announces 900001 samples a channel, the file holds 700000");
  }
}

BOOST_AUTO_TEST_CASE(what_is_wrong_first_in_the_file_counts) {
  const std::size_t samples = 900000, bytes = 4 * samples;
  std::string file = "RIFF" + little(static_cast<std::uint32_t>(36 + bytes), 4) + "WAVEfmt " + little(16, 4) + little(3, 2) + little(1, 2) + little(1000000, 4) +
                     little(4000000, 4) + little(4, 2) + little(32, 2) + "data" + little(static_cast<std::uint32_t>(bytes), 4) + std::string(bytes, '\0');
  for (const std::size_t odd : {800000u, 500000u}) {
    file.replace(44 + 4 * odd, 4, little(0x7fc00000, 4));  // not a number (IEEE 754-2019, 3.4)
    for (const unsigned count : {1u, 2u, 3u})
      BOOST_TEST(message(file, threads(count)) == "wind.wav, byte " + std::to_string(44 + 4 * odd) + ": expected finite samples, found sample " + std::to_string(odd + 1) +
                                                      " of channel 1 that is infinite or not a number");
  }
}

BOOST_AUTO_TEST_CASE(lengths_that_headers_leave_open) {
  std::string open_ended = plain_wav(1000000, coarse);
  open_ended.replace(40, 4, little(0xffffffff, 4));
  const Capture capture = import(open_ended);
  BOOST_TEST(capture.samples == coarse.size());
  BOOST_TEST(capture.notes.front() == "the header does not say how many samples there are; read to the end of the file");
  // A recorder that was cut off never came back to fill in the sizes (common practice, no source).
  std::string cut_off = plain_wav(1000000, coarse);
  cut_off.replace(40, 4, little(0, 4));
  for (const std::uint32_t whole_size : {36u, 0u}) {
    cut_off.replace(4, 4, little(whole_size, 4));
    const Capture rest = import(cut_off);
    BOOST_TEST_REQUIRE(rest.samples == coarse.size());
    BOOST_TEST((rest.channels[0].values == capture.channels[0].values));
    BOOST_TEST(rest.notes.front() == "the header does not say how many samples there are; read to the end of the file");
  }
  BOOST_TEST(import(cut_off + "\x01").samples == coarse.size());
  const std::string none = cut_off.substr(0, 44);
  BOOST_TEST(message(none) == "wind.wav, byte 44: expected samples, found none");
  BOOST_TEST(message(none + "LIST" + little(4, 4) + "INFO") == "wind.wav, byte 44: expected samples, found none");
  std::string whole = plain_wav(1000000, coarse);
  whole.replace(4, 4, little(0xffffffff, 4));
  BOOST_TEST(import(whole).samples == coarse.size());
}

BOOST_AUTO_TEST_CASE(eight_channels_and_an_odd_number_of_bytes_before_another_chunk) {
  const auto file = [](std::uint32_t channels, const std::string& samples, const std::string& behind) {
    return "RIFF" + little(static_cast<std::uint32_t>(36 + samples.size() + behind.size()), 4) + "WAVEfmt " + little(16, 4) + little(1, 2) + little(channels, 2) + little(1000000, 4) +
           little(1000000 * channels, 4) + little(channels, 2) + little(8, 2) + "data" + little(static_cast<std::uint32_t>(samples.size()), 4) + samples + behind;
  };
  const Capture wide = import(file(8, std::string("\x80\x90\xa0\xb0\xc0\xd0\xe0\xf0\x00\x10\x20\x30\x40\x50\x60\x70\x80\x80\x80\x80\x80\x80\x80\x80", 24), ""));
  BOOST_TEST_REQUIRE(wide.channels.size() == 8u);
  for (int c = 0; c < 8; ++c) {
    const auto& values = wide.channels[static_cast<std::size_t>(c)].values;
    BOOST_TEST(wide.samples == 3u);
    if (values.empty()) continue;  // two values: logic
    BOOST_TEST(values[0] == static_cast<float>(c) / 8);
    BOOST_TEST(values[1] == static_cast<float>(c) / 8 - 1);
  }
  const Capture odd = import(file(1, "\x90\xa0\x40", std::string("\0", 1) + "LIST" + little(4, 4) + "INFO"));
  BOOST_TEST_REQUIRE(odd.samples == 3u);
  BOOST_TEST(odd.channels[0].values[2] == -0.5F);
}

BOOST_AUTO_TEST_CASE(memory_limit_holds) {
  BOOST_TEST(message(plain_wav(1000000, coarse), memory_limit(31)) ==
             "wind.wav, byte 44: expected samples within the memory limit of 31 bytes, found 8 samples of 1 channels");
}

BOOST_AUTO_TEST_CASE(samples_in_two_chunks_are_refused) {
  const std::string second = "data" + little(4, 4) + little(0, 4);
  BOOST_TEST(message(plain_wav(1'000'000, coarse) + second) == "wind.wav, byte 60: expected one \"data\" chunk, found a second one");
  BOOST_TEST(message(plain_wav(1'000'000, coarse) + "note" + little(3, 4) + "abc" + std::string(1, '\0') + second) ==
             "wind.wav, byte 72: expected one \"data\" chunk, found a second one");
}

BOOST_AUTO_TEST_SUITE_END()
