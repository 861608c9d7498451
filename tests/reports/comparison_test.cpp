// A comparison on the terminal, as JSON and as a page: what the analyzer found stands there, text from outside stays text.

#include <boost/test/unit_test.hpp>
#include <nlohmann/json.hpp>
#include <string>

#include "analyzer/compare.hpp"
#include "reports/forum/comparison_post.hpp"
#include "reports/html/comparison_report.hpp"
#include "reports/json/comparison_json.hpp"
#include "reports/png/comparison_picture.hpp"
#include "reports/text/comparison_text.hpp"
#include "reports/text/comparison_words.hpp"
#include "tests/support/golden.hpp"
#include "tests/support/sample_comparison.hpp"

namespace {

using namespace pulsewright;
using reports::Markup;

const std::string asked = "pulsewright compare before.csv after.csv --series-ohms 220,68";

bool contains(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

}  // namespace

BOOST_AUTO_TEST_SUITE(comparison)

BOOST_AUTO_TEST_CASE(terminal_says_the_result_first_and_every_figure_that_moved) {
  const auto result = samples::swap();
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
  const auto result = samples::swap();
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

BOOST_AUTO_TEST_CASE(terminal_texts_are_the_golden_ones) {
  golden::matches("comparison-better.txt", reports::comparison_text(samples::swap(), {}));
  golden::matches("comparison-same.txt", reports::comparison_text(samples::unchanged(), {}));
  golden::matches("comparison-other-probe.txt", reports::comparison_text(samples::other_probe(), {}));
  golden::matches("comparison-wrong-bits.txt", reports::comparison_text(samples::wrong_bits(), {}));
  golden::matches("comparison-series.txt", reports::comparison_text(samples::series(), {}));
}

BOOST_AUTO_TEST_CASE(forum_posts_are_the_golden_ones) {
  golden::matches("comparison-better.md", reports::comparison_post(samples::swap(), Markup::markdown, asked));
  golden::matches("comparison-better-bb.txt", reports::comparison_post(samples::swap(), Markup::bbcode, asked));
  golden::matches("comparison-series.md", reports::comparison_post(samples::series(), Markup::markdown, asked));
}

BOOST_AUTO_TEST_CASE(a_wrong_bit_is_told_with_its_place_everywhere) {
  const auto result = samples::wrong_bits();
  BOOST_TEST_REQUIRE(result.bits.after.places.size() >= 2u);
  const auto first = reports::place_in_words(result.bits.after.places.front());
  BOOST_TEST(contains(first, "frame 3, pixel 1, byte 1 of the pixel, bit 7: "), first);
  BOOST_TEST(contains(reports::comparison_report(result, {}), first));
  BOOST_TEST(contains(reports::comparison_post(result, Markup::bbcode, asked), first));
  const auto json = nlohmann::json::parse(reports::comparison_json(result));
  BOOST_TEST(json["bits"]["relation"] == "same-frame");
  BOOST_TEST(json["bits"]["after"]["wrong"] == 2);
  const auto& place = json["bits"]["after"]["places"][0];
  BOOST_TEST(place["frame"] == 2);
  BOOST_TEST(place["bit"] == 0);
  BOOST_TEST(place["channel_bit"] == 7);
}

BOOST_AUTO_TEST_CASE(a_series_is_one_table_and_one_figure) {
  const auto result = samples::series();
  BOOST_TEST(result.series.starts_with("Best of 10: "), result.series);
  const auto page = reports::comparison_report(result, {});
  const auto from = page.find("Best first"), to = page.find("</table>", from);
  const auto table = page.substr(from, to - from);
  std::size_t rows = 0;
  for (std::size_t at = 0; (at = table.find("<tr><th scope=\"row\">", at)) != std::string::npos; ++at) ++rows;
  BOOST_TEST(rows == 10u);
  for (const auto& label : result.labels) BOOST_TEST(contains(table, label), label);
  const auto text = reports::comparison_text(result, {});
  for (const auto& label : result.labels) BOOST_TEST(contains(text, label), label);
}

BOOST_AUTO_TEST_CASE(posts_are_short_and_labels_stay_text) {
  auto many = samples::series();
  for (std::size_t i = 0; i < many.labels.size(); ++i) many.labels[i] = "[url=http://x]@all `" + std::string(300, 'x');
  const auto post = reports::comparison_post(many, Markup::bbcode, asked);
  BOOST_TEST(post.size() <= reports::longest_forum_post);
  BOOST_TEST(!contains(post, "[url"));
  BOOST_TEST(!contains(post, "://"));
  BOOST_TEST(!contains(post, "@all"));
  const auto markdown = reports::comparison_post(samples::hostile_labels(), Markup::markdown, asked);
  BOOST_TEST(!contains(markdown, "<b>"));
  BOOST_TEST(!contains(markdown, "<script>"));
}

BOOST_AUTO_TEST_CASE(the_picture_is_a_png_of_the_size_of_a_verdicts) {
  for (const auto& result : {samples::swap(), samples::series(), samples::other_probe(), samples::hostile_labels()}) {
    const auto svg = reports::comparison_picture_svg(result);
    BOOST_TEST(svg.find("<script") == std::string::npos);
    const auto bytes = reports::comparison_png(result);
    BOOST_TEST(bytes.starts_with("\x89PNG\r\n"));
    BOOST_TEST_REQUIRE(bytes.size() > 24u);
    const auto byte = [&](std::size_t at) { return static_cast<unsigned>(static_cast<unsigned char>(bytes[at])); };
    BOOST_TEST((byte(18) << 8 | byte(19)) == 1200u);  // width and height in the header chunk (PNG, ISO/IEC 15948 11.2.2)
    BOOST_TEST((byte(22) << 8 | byte(23)) == 900u);
  }
}

BOOST_AUTO_TEST_CASE(labels_stay_text_on_the_page) {
  const auto page = reports::comparison_report(samples::hostile_labels(), {.program_version = "1", .command_line = "pulsewright compare '<i>'", .title = "<u>", .forum_markdown = {}, .forum_bbcode = {}});
  BOOST_TEST(!contains(page, "<b>"));
  BOOST_TEST(!contains(page, "<i>"));
  BOOST_TEST(!contains(page, "<u>"));
  BOOST_TEST(!contains(page, "<script>document"));
  BOOST_TEST(contains(page, "after &lt;b&gt;"));
  BOOST_TEST(contains(page, "Content-Security-Policy"));
  BOOST_TEST(!contains(page, " style="));
}

BOOST_AUTO_TEST_SUITE_END()
