// A comparison on the terminal, as JSON and as a page: what the analyzer found stands there, text from outside stays text.

#include <boost/test/unit_test.hpp>
#include <nlohmann/json.hpp>
#include <string>

#include "analyzer/compare.hpp"
#include "reports/html/comparison_report.hpp"
#include "reports/json/comparison_json.hpp"
#include "reports/text/comparison_text.hpp"
#include "tests/support/sample_diagnosis.hpp"

namespace {

using namespace pulsewright;

analyzer::Comparison swap() {
  auto before = samples::overdamped(), after = samples::pass();
  if (before.suggestion.series_ohm) after.settings.series_ohm = before.suggestion.series_ohm;
  return analyzer::compare({before, after}, {"before", "after <b>\"swap\"</b>"});
}

bool contains(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

}  // namespace

BOOST_AUTO_TEST_SUITE(comparison)

BOOST_AUTO_TEST_CASE(terminal_says_the_result_first_and_every_figure_that_moved) {
  const auto result = swap();
  const auto text = reports::comparison_text(result, {});
  BOOST_TEST(text.starts_with("BETTER: "), text.substr(0, 80));
  std::size_t moved = 0;
  for (const auto& difference : result.differences) {
    moved += difference.significant;
    if (difference.significant)
      BOOST_TEST(contains(text, difference.name.substr(0, difference.name.find(' '))), difference.name);
  }
  BOOST_TEST(moved > 0u);
  BOOST_TEST(!contains(text, "Best first"));
}

BOOST_AUTO_TEST_CASE(a_series_is_ranked) {
  const auto result = analyzer::compare({samples::overdamped(), samples::ringing(), samples::pass()}, {"220", "0", "68"});
  const auto text = reports::comparison_text(result, {});
  BOOST_TEST(contains(text, "Best first"));
  BOOST_TEST(contains(text, "1  68 "));
  const auto page = reports::comparison_report(result, {});
  BOOST_TEST(contains(page, "Ranking"));
}

BOOST_AUTO_TEST_CASE(json_carries_the_schema_and_both_diagnoses) {
  const auto result = swap();
  const auto out = nlohmann::json::parse(reports::comparison_json(result));
  BOOST_TEST(out["schema"] == "pulsewright.comparison.v1");
  BOOST_TEST(out["before"]["schema"] == "pulsewright.diagnosis.v1");
  BOOST_TEST(out["after"]["verdict"]["result"] == "pass");
  BOOST_TEST(out["verdict"]["result"] == "better");
  BOOST_TEST(out["verdict"]["headline"] == result.headline);
  BOOST_TEST(out["differences"].size() == result.differences.size());
  for (const auto& row : out["differences"])
    for (const char* key : {"key", "before", "after", "change", "u", "significant", "better"}) BOOST_TEST(row.contains(key), key);
  BOOST_TEST(out.contains("prediction"));
}

BOOST_AUTO_TEST_CASE(labels_stay_text_on_the_page) {
  const auto page = reports::comparison_report(swap(), {.program_version = "1", .command_line = "pulsewright compare '<i>'", .title = "<u>", .forum_markdown = {}, .forum_bbcode = {}});
  BOOST_TEST(!contains(page, "<b>"));
  BOOST_TEST(!contains(page, "<i>"));
  BOOST_TEST(!contains(page, "<u>"));
  BOOST_TEST(contains(page, "after &lt;b&gt;"));
  BOOST_TEST(contains(page, "Content-Security-Policy"));
  BOOST_TEST(!contains(page, " style="));
}

BOOST_AUTO_TEST_SUITE_END()
