#pragma once
// A good text, each way to break it, and the whole answer to that: the refusal, or the notes with which it is read.

#include <algorithm>
#include <boost/test/unit_test.hpp>
#include <string>
#include <vector>

#include "tests/importers/text_support.hpp"

namespace pulsewright::tests {

struct Break {
  std::string from, to;    ///< what stands once in the good text, and what stands there instead
  std::string answer;      ///< "t.csv:6: expected ..., found ...", or the notes that the good text does not get, " | " between them
  std::size_t lines = 0;   ///< instead of from and to: only so many lines are kept
};

inline Break only_lines(std::size_t lines, std::string answer) { return {"", "", std::move(answer), lines}; }

inline std::string broken(const std::string& good, const Break& way) {
  std::string text = good;
  if (way.lines > 0) {
    std::size_t end = 0;
    for (std::size_t n = 0; n < way.lines; ++n) end = text.find('\n', end) + 1;
    return text.substr(0, end);
  }
  const auto at = text.find(way.from);
  BOOST_TEST_REQUIRE(at != std::string::npos);
  BOOST_TEST_REQUIRE(text.find(way.from, at + 1) == std::string::npos);
  return text.replace(at, way.from.size(), way.to);
}

/// The refusal, or the notes that `whole` does not have.
inline std::string answer_to(const std::string& text, const importers::Capture& whole, const importers::ImportOptions& options) {
  const std::string refused = refusal(text, options);
  if (!refused.empty()) return refused;
  std::string notes;
  for (const auto& note : read_text(text, options).notes)
    if (std::find(whole.notes.begin(), whole.notes.end(), note) == whole.notes.end()) notes += (notes.empty() ? "" : " | ") + note;
  return notes;
}

inline void check_broken(const std::string& good, const std::vector<Break>& ways, const importers::ImportOptions& options = {}) {
  BOOST_TEST_REQUIRE(refusal(good, options) == "");
  const auto whole = read_text(good, options);
  for (const Break& way : ways)
    BOOST_TEST_CONTEXT(way.from << " -> " << way.to << (way.lines > 0 ? std::to_string(way.lines) + " lines" : ""))
      BOOST_TEST(answer_to(broken(good, way), whole, options) == way.answer);
}

}  // namespace pulsewright::tests
