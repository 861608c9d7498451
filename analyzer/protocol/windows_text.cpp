// Own timing windows from a text; the format is described at `parse_windows`.

#include <fast_float/fast_float.h>

#include <algorithm>
#include <cmath>
#include <string>

#include "analyzer/protocol/windows.hpp"
#include "importers/import_error.hpp"

namespace pulsewright::analyzer {

namespace {

using importers::ImportError;

std::string_view trimmed(std::string_view text) {
  constexpr std::string_view kBlank = " \t\r";
  const auto first = text.find_first_not_of(kBlank);
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(kBlank) - first + 1);
}

// Text of the file as it may stand in a message: short and printable.
std::string quoted(std::string_view text) {
  std::string shown = "\"";
  for (const char letter : text.substr(0, 40)) shown += letter >= ' ' && letter != 127 ? letter : '?';
  return shown + (text.size() > 40 ? "...\"" : "\"");
}

class WindowsText {
 public:
  WindowsText(std::string_view text, std::string_view name) : rest_(text), name_(name) {}

  std::vector<TimingWindows> read() {
    while (next_line()) {
      if (line_.empty()) continue;
      line_.front() == '[' ? open_entry() : read_pair();
    }
    close_entry();
    if (entries_.empty()) fail("[id] before the times of a chip", "no entry");
    return std::move(entries_);
  }

 private:
  [[noreturn]] void fail(std::string expected, std::string found) const {
    throw ImportError(ImportError::Kind::unusable_data, std::string(name_),
                      {.line = line_number_, .column = {}, .byte = {}}, std::move(expected), std::move(found));
  }

  bool next_line() {
    if (rest_.empty()) return false;
    const auto end = rest_.find('\n');
    line_ = rest_.substr(0, end);
    rest_ = end == std::string_view::npos ? std::string_view{} : rest_.substr(end + 1);
    line_ = trimmed(line_.substr(0, line_.find('#')));
    ++line_number_;
    return true;
  }

  void open_entry() {
    close_entry();
    const auto id =
        line_.size() > 2 && line_.back() == ']' ? trimmed(line_.substr(1, line_.size() - 2)) : std::string_view{};
    if (id.empty() || id.size() > 80) fail("[id] with an id of 1 to 80 characters", quoted(line_));
    const auto is_word = [](char letter) {
      return (letter >= 'a' && letter <= 'z') || (letter >= '0' && letter <= '9') || letter == '-' || letter == '.' ||
             letter == '_';
    };
    if (!std::all_of(id.begin(), id.end(), is_word)) fail("an id of a-z, 0-9, \"-\", \".\" and \"_\"", quoted(id));
    for (const auto& entry : entries_) {
      if (entry.id == id) fail("an id that was not used before", quoted(id));
    }
    entries_.emplace_back();
    auto& entry = entries_.back();
    entry.id = entry.chip = std::string(id);
    entry.source = "own timing windows, " + std::string(name_);
    keys_.clear();
    vih_unit_ = vil_unit_ = LevelUnit::none;
  }

  void close_entry() {
    if (entries_.empty()) return;
    close_levels(entries_.back());
    for (const std::string_view key : {"t0h_ns", "t1h_ns"}) {
      if (std::find(keys_.begin(), keys_.end(), key) == keys_.end()) {
        fail(std::string(key) + " for [" + entries_.back().id + "]", "the end of the entry");
      }
    }
    if (entries_.back().t0h.typical_s() >= entries_.back().t1h.typical_s()) {
      fail("t0h_ns below t1h_ns for [" + entries_.back().id + "]", "the other way round");
    }
  }

  void read_pair() {
    const auto equals = line_.find('=');
    if (equals == std::string_view::npos) fail("key = value or [id]", quoted(line_));
    const auto key = trimmed(line_.substr(0, equals));
    const auto value = trimmed(line_.substr(equals + 1));
    if (entries_.empty()) fail("[id] before the times of a chip", quoted(line_));
    if (std::find(keys_.begin(), keys_.end(), key) != keys_.end()) fail("each key once in an entry", quoted(key));
    if (value.empty()) fail("a value for " + quoted(key), "nothing");
    set(key, value);
    keys_.emplace_back(key);
  }

  void set(std::string_view key, std::string_view value) {
    auto& entry = entries_.back();
    if (key == "chip")
      entry.chip = value.substr(0, 80);
    else if (key == "edition")
      entry.edition = value.substr(0, 80);
    else if (key == "source")
      entry.source = value.substr(0, 400);
    else if (key == "t0h_ns")
      entry.t0h = window(value);
    else if (key == "t1h_ns")
      entry.t1h = window(value);
    else if (key == "t0l_ns")
      entry.t0l = window(value);
    else if (key == "t1l_ns")
      entry.t1l = window(value);
    else if (key == "period_ns")
      entry.period_s = 1e-9 * duration(value, "a period in ns");
    else if (key == "period_tolerance_ns")
      entry.period_tolerance_s = 1e-9 * duration(value, "a tolerance in ns");
    else if (key == "latch_us")
      entry.latch_gap_min_s = 1e-6 * duration(value, "a gap in us");
    else if (key == "bits_per_pixel")
      entry.bits_per_pixel = bits(value);
    else if (key == "idle")
      entry.inverted = idle_high(value);
    else if (key == "vih")
      set_level(entry.levels, value, true);
    else if (key == "vil")
      set_level(entry.levels, value, false);
    else
      fail(
          "a key of the format (t0h_ns, t1h_ns, t0l_ns, t1l_ns, period_ns, period_tolerance_ns, latch_us, "
          "bits_per_pixel, "
          "idle, vih, vil, chip, edition, source)",
          quoted(key));
  }

  std::optional<double> number(std::string_view word) const {
    double value = 0;
    const auto result = fast_float::from_chars(word.data(), word.data() + word.size(), value);
    if (result.ec != std::errc{} || result.ptr != word.data() + word.size() || !std::isfinite(value))
      return std::nullopt;
    return value;
  }

  double duration(std::string_view word, const std::string& expected) const {
    const auto value = number(word);
    if (!value || *value <= 0 || *value > 1e9) fail(expected + " above 0", quoted(word));
    return *value;
  }

  Window window(std::string_view value) const {
    std::optional<double> sides[3];
    std::size_t count = 0;
    for (auto rest = value; !rest.empty(); ++count) {
      const auto end = rest.find_first_of(" \t");
      const auto word = rest.substr(0, end);
      rest = end == std::string_view::npos ? std::string_view{} : trimmed(rest.substr(end));
      if (count == 3) fail("min nominal max in ns", quoted(value));
      if (word != "-") sides[count] = 1e-9 * duration(word, "a time in ns or \"-\",");
    }
    if (count != 3 || (!sides[0] && !sides[1] && !sides[2]))
      fail("min nominal max in ns, \"-\" for one left open", quoted(value));
    const Window read{sides[0], sides[1], sides[2]};
    if (read.min_s.value_or(0) > read.max_s.value_or(1) || read.min_s.value_or(0) > read.nominal_s.value_or(1) ||
        read.nominal_s.value_or(0) > read.max_s.value_or(1)) {
      fail("min, nominal and max in ascending order", quoted(value));
    }
    return read;
  }

  unsigned bits(std::string_view value) const {
    const auto count = number(value);
    if (!count || *count < 1 || *count > 256 || *count != std::floor(*count))
      fail("a whole number of bits from 1 to 256", quoted(value));
    return static_cast<unsigned>(*count);
  }

  bool idle_high(std::string_view value) const {
    if (value != "low" && value != "high") fail("\"low\" or \"high\"", quoted(value));
    return value == "high";
  }

  enum class LevelUnit { none, volts, supply };

  void set_level(InputLevels& levels, std::string_view value, bool high) {
    const auto gap = value.find_first_of(" \t");
    const auto level = number(value.substr(0, gap));
    const auto unit = gap == std::string_view::npos ? std::string_view{} : trimmed(value.substr(gap));
    if (!level || *level <= 0 || *level > 60 || (unit != "V" && unit != "supply")) {
      fail("a level such as \"3.5 V\" or \"0.7 supply\"", quoted(value));
    }
    (high ? levels.vih : levels.vil) = *level;
    (high ? vih_unit_ : vil_unit_) = unit == "V" ? LevelUnit::volts : LevelUnit::supply;
  }

  void close_levels(TimingWindows& entry) const {
    using Basis = InputLevels::Basis;
    if (vih_unit_ == LevelUnit::none && vil_unit_ == LevelUnit::none) return;
    if (vih_unit_ == LevelUnit::none || vil_unit_ == LevelUnit::none)
      fail("vih and vil together for [" + entry.id + "]", "one of them");
    if (vih_unit_ == LevelUnit::volts && vil_unit_ == LevelUnit::supply) {
      fail("vil in V where vih is in V for [" + entry.id + "]", "a fraction of the supply");
    }
    if (vih_unit_ == vil_unit_ && entry.levels.vil >= entry.levels.vih)
      fail("vil below vih for [" + entry.id + "]", "the other way round");
    entry.levels.basis = vih_unit_ == LevelUnit::volts   ? Basis::volts
                         : vil_unit_ == LevelUnit::volts ? Basis::high_fraction_low_volts
                                                         : Basis::fraction_of_supply;
  }

  std::string_view rest_, name_, line_;
  std::uint64_t line_number_ = 0;
  std::vector<TimingWindows> entries_;
  std::vector<std::string> keys_;
  LevelUnit vih_unit_ = LevelUnit::none, vil_unit_ = LevelUnit::none;
};

}  // namespace

std::vector<TimingWindows> parse_windows(std::string_view text, std::string_view name) {
  return WindowsText(text, name).read();
}

}  // namespace pulsewright::analyzer
