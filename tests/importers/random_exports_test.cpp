// A random waveform written in a random shape of export comes back: names, interval, start and every sample.

#include <array>
#include <boost/test/unit_test.hpp>
#include <cmath>
#include <cstdio>
#include <random>
#include <string>
#include <string_view>
#include <vector>

#include "tests/importers/text_support.hpp"

using namespace pulsewright::importers;
using pulsewright::tests::has_note;
using pulsewright::tests::read_text;
using pulsewright::tests::refusal;

namespace {

struct Unit {
  std::string_view name;
  double in_base;  ///< one of it in seconds or volts
};

/// One way in which an instrument may write its record; every part is chosen by itself.
class Export {
 public:
  explicit Export(unsigned seed) : random_(seed) {
    separator_ = one_of<std::string_view>({",", ", ", ";", "\t", " ,"});
    comma_ = (separator_ == ";" || separator_ == "\t") && chance(0.5);
    line_end_ = one_of<std::string_view>({"\n", "\n", "\r\n", "\r\r\n"});
    time_ = one_of<Unit>({{"s", 1}, {"ms", 1e-3}, {"us", 1e-6}, {"\u00B5s", 1e-6}, {"ns", 1e-9}});
    volts_ = one_of<Unit>({{"V", 1}, {"mV", 1e-3}});
    interval_s = one_of<double>({10e-9, 20e-9, 8e-9, 4e-9, 5e-9, 16e-9, 40e-9 / 3});
    rows = one_of<std::size_t>({40, 900, 5000});
    timed_ = chance(0.6);
    start_s = timed_ ? one_of<double>({0, -static_cast<double>(rows / 2) * interval_s, -1e-5, 2.5e-4, -12.5e-6}) : 0;
    counted_ = chance(0.25);
    const std::size_t channels = 1 + random_() % 3;
    const auto family = random_() % 4;
    for (std::size_t c = 0; c < channels; ++c) {
      names.push_back(std::array<std::string, 4>{"CH" + std::to_string(c + 1), std::string(1, static_cast<char>('A' + c)), "Probe " + std::to_string(c + 1),
                                                 std::array<std::string, 3>{"data line", "12V rail", "clock"}[c]}[family]);
      values.emplace_back();
      for (std::size_t i = 0; i < rows; ++i) values.back().push_back(std::round(static_cast<double>(random_() % 6000)) / 1000 - 0.5);
    }
  }

  std::string text() {
    std::string made = header();
    const bool trailing = chance(0.2);
    ended = chance(0.8);
    const auto time_form = one_of<const char*>({"%.6e", "%.9E", "%+.8E", "%.10g"});
    const auto volts_form = one_of<const char*>({"%.4e", "%+.7E", "%.4f", "%.9g"});
    for (std::size_t i = 0; i < rows; ++i) {
      std::string row = counted_ ? std::to_string(i) : "";
      if (timed_) append(row, number(time_form, (start_s + static_cast<double>(i) * interval_s) / time_.in_base));
      for (const auto& channel : values) append(row, number(volts_form, channel[i] / volts_.in_base));
      made += row;
      if (trailing) made += separator_.substr(separator_.find_first_not_of(' '), 1);
      if (i + 1 < rows || ended) made += line_end_;
    }
    return encoded(made);
  }

  double interval_s, start_s;
  std::size_t rows;
  bool ended = true;  ///< false: nothing says that the last number is whole
  std::vector<std::string> names;
  std::vector<std::vector<double>> values;  ///< volts of each channel

 private:
  template <class T>
  T one_of(std::initializer_list<T> choices) {
    return choices.begin()[random_() % choices.size()];
  }
  bool chance(double part) { return static_cast<double>(random_() % 1000) < part * 1000; }

  void append(std::string& row, const std::string& cell) const { row += row.empty() ? cell : std::string(separator_) + cell; }

  std::string number(const char* form, double value) const {
    char cell[64];
    std::snprintf(cell, sizeof cell, form, value);
    for (char& c : cell) c = c == '.' && comma_ ? ',' : c;
    return cell;
  }

  std::string header() {
    std::string made;
    const auto mark = one_of<std::string_view>({"", "# ", ";"});
    const auto between = std::string(mark.empty() ? separator_ : mark == "# " ? ": " : separator_ == ";" ? "=" : ",");
    const auto line = [&](std::string_view key, const std::string& value) {
      made += std::string(mark) + std::string(key) + between + value + std::string(line_end_);
    };
    if (!timed_ || chance(0.6)) {
      line("Model", "XZ-9");
      line("Record Length", std::to_string(rows));
      if (!timed_ && chance(0.5)) line(one_of<std::string_view>({"Sample Interval", "Sampling Period", "Time Interval"}), number("%.9e", interval_s));
      else if (!timed_) line(one_of<std::string_view>({"Sample Rate", "Sampling Rate"}), number("%.9e", 1 / interval_s));
      if (chance(0.5)) line("Date", "2031-05-06 07:08:09");
    }
    return made + column_names();
  }

  std::string column_names() {
    std::vector<std::pair<std::string, std::string>> columns;
    if (counted_) columns.emplace_back("Sample", "");
    if (timed_) columns.emplace_back(one_of<std::string_view>({"Time", "time", "TIME", "t"}), time_.name);
    for (const auto& name : names) columns.emplace_back(name, volts_.name);
    const auto form = random_() % 4;
    std::string first, second;
    for (const auto& [name, unit] : columns) {
      const std::string put = unit.empty() ? "" : form == 0 ? " (" + unit + ")" : form == 1 ? " [" + unit + "]" : form == 2 ? " in " + unit : "";
      first += (first.empty() ? "" : std::string(separator_)) + name + put;
      second += (&name == &columns.front().first ? "" : std::string(separator_)) + unit;
    }
    return first + std::string(line_end_) + (form == 3 ? second + std::string(line_end_) : "");
  }

  std::string encoded(const std::string& utf8) {
    const auto form = random_() % 5;
    if (form == 0) return "\xEF\xBB\xBF" + utf8;
    if (form > 2) return utf8;
    std::string latin1 = utf8;  // the only character beyond ASCII is the micro sign
    std::erase(latin1, '\xC2');
    return pulsewright::tests::utf16(latin1, form == 2, true);
  }

  std::mt19937 random_;
  std::string_view separator_, line_end_;
  bool comma_ = false, timed_ = false, counted_ = false;
  Unit time_{}, volts_{};
};

}  // namespace

BOOST_AUTO_TEST_SUITE(random_exports)

BOOST_AUTO_TEST_CASE(every_sample_comes_back_from_any_mix_of_shapes) {
  for (unsigned seed = 1; seed <= 300; ++seed) {
    Export made(seed);
    const std::string text = made.text();
    BOOST_TEST_CONTEXT("seed " << seed << ": " << text.substr(0, 300)) {
      BOOST_TEST_REQUIRE(refusal(text) == "");
      const Capture capture = read_text(text, {.threads = 1 + seed % 2});
      BOOST_TEST_REQUIRE(capture.channels.size() == made.names.size());
      const std::size_t whole = made.ended || capture.samples == made.rows ? made.rows : made.rows - 1;
      BOOST_TEST(capture.samples == whole);
      BOOST_TEST((whole == made.rows || has_note(capture, "mid-row")));
      BOOST_TEST(std::abs(capture.sample_interval_s / made.interval_s - 1) < 2e-3, capture.sample_interval_s);
      BOOST_TEST(std::abs(capture.start_s - made.start_s) < 0.6 * made.interval_s, capture.start_s);
      for (std::size_t c = 0; c < made.names.size(); ++c) {
        BOOST_TEST(capture.channels[c].name == made.names[c]);
        BOOST_TEST(capture.channels[c].unit == "V");
        BOOST_TEST_REQUIRE(capture.channels[c].values.size() == whole);
        double worst_v = 0;
        for (std::size_t i = 0; i < whole; ++i) worst_v = std::max(worst_v, std::abs(static_cast<double>(capture.channels[c].values[i]) - made.values[c][i]));
        BOOST_TEST(worst_v < 6e-4);  // the coarsest form writes four decimals of millivolts or five digits of volts
      }
    }
  }
}

BOOST_AUTO_TEST_SUITE_END()
