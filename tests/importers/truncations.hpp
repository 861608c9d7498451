#pragma once
// What has to hold of a good file that is cut anywhere.

#include <algorithm>
#include <boost/test/unit_test.hpp>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "importers/capture.hpp"
#include "importers/import_error.hpp"

namespace pulsewright::tests {

using Reader = std::function<importers::Capture(const std::string& bytes)>;

/// Every length of a short file; of a longer one each of the first and last 300 bytes and 200 lengths between, of a very long
/// one, which takes its time to read, a quarter of these.
inline std::vector<std::size_t> cuts_of(std::size_t size) {
  const std::size_t ends = size > 100'000 ? 75 : 300, between = size > 100'000 ? 50 : 200;
  std::vector<std::size_t> cuts;
  const std::size_t step = size > 2000 ? size / between : 1;
  for (std::size_t length = 1; length < size; length += length < ends || length + ends >= size ? 1 : std::min(step, size - ends - length))
    cuts.push_back(length);
  return cuts;
}

/// The cut file, or nothing where it is refused: by one line that names the file.
inline std::optional<importers::Capture> read_cut(const std::string& bytes, std::string_view name, const Reader& read) {
  try {
    return read(bytes);
  } catch (const importers::ImportError& error) {
    const std::string_view message = error.what();
    BOOST_TEST(message.starts_with(name));
    BOOST_TEST(message.find_first_of("\n\r\t") == std::string_view::npos, message);
    return {};
  }
}

/// Samples and changes of `cut` are those of `whole` as far as they go.
inline void check_beginning(const importers::Capture& cut, const importers::Capture& whole) {
  BOOST_TEST_REQUIRE(cut.samples <= whole.samples);
  BOOST_TEST_REQUIRE(cut.channels.size() <= whole.channels.size());
  for (std::size_t c = 0; c < cut.channels.size(); ++c) {
    const auto& values = cut.channels[c].values;
    const auto& all = whole.channels[c].values;
    BOOST_TEST_REQUIRE(values.size() <= all.size());
    BOOST_TEST(std::equal(values.begin(), values.end(), all.begin()));
    const auto& changes = cut.channels[c].changes;
    const auto& all_changes = whole.channels[c].changes;
    BOOST_TEST_REQUIRE(changes.size() <= all_changes.size());
    for (std::size_t i = 0; i < changes.size(); ++i) {
      BOOST_TEST(changes[i].time_s == all_changes[i].time_s, boost::test_tools::tolerance(1e-12));
      BOOST_TEST(changes[i].high == all_changes[i].high);
    }
  }
}

/// Too few rows can look like another shape: two of them, one cut, or the first ones of a list of changes.
inline bool read_as_another_shape(const importers::Capture& cut, const importers::Capture& whole) {
  bool other = cut.dialect != whole.dialect || cut.channels.size() != whole.channels.size();
  for (std::size_t c = 0; !other && c < cut.channels.size(); ++c) other = cut.channels[c].kind != whole.channels[c].kind;
  return other;
}

/// A text cut to `length` is refused, or holds the values before the cut and says so when a row was lost.
inline void check_cut_text(const std::string& text, std::size_t length, const importers::Capture& whole, std::string_view name,
                           const Reader& read) {
  constexpr std::string_view line_ends = "\r\n", separators = ",;\t ";
  const auto cut = read_cut(text.substr(0, length), name, read);
  if (!cut) return;
  if (read_as_another_shape(*cut, whole)) {
    BOOST_TEST(cut->samples < 5u);
    return;
  }
  check_beginning(*cut, whole);
  if (text.find('\0') != std::string::npos) return;  // UTF-16: the ends of its lines are not looked for
  const auto line_begin = text.find_last_of(line_ends, length - 1) + 1;
  if (text.find_first_not_of(separators, line_begin) >= length) return;
  const auto line = read_cut(text.substr(0, std::min(text.find_first_of(line_ends, length), text.size() - 1) + 1), name, read);
  if (!line || line->samples <= cut->samples) return;
  const auto told = [](const std::string& note) { return note.find("may be cut in mid-row") != std::string::npos; };
  BOOST_TEST(std::any_of(cut->notes.begin(), cut->notes.end(), told));
}

}  // namespace pulsewright::tests
