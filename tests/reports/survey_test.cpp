// The summary of many captures: order, counts, and what it makes of hostile names.

#include "reports/survey.hpp"

#include <boost/test/unit_test.hpp>
#include <nlohmann/json.hpp>

#include "reports/html/survey_page.hpp"
#include "reports/json/survey_json.hpp"
#include "reports/text/survey_text.hpp"
#include "tests/support/run_program.hpp"
#include "tests/support/sample_diagnosis.hpp"

namespace {

using namespace pulsewright;
using analyzer::Measured;
using analyzer::Outcome;
using program::count;
using reports::SurveyEntry;

SurveyEntry judged(const std::string& file, Outcome result, double margin) {
  SurveyEntry entry;
  entry.file = file;
  entry.result = result;
  entry.headline = "headline of " + file;
  entry.action = "Fit 75 \xCE\xA9";
  entry.margin = Measured::of(margin, 0.1);
  entry.page = file + ".html";
  return entry;
}

SurveyEntry unread(const std::string& file, const std::string& complaint) {
  SurveyEntry entry;
  entry.file = file;
  entry.complaint = complaint;
  entry.status = 65;
  return entry;
}

std::vector<SurveyEntry> mixed() {
  return {judged("fine.csv", Outcome::pass, 0.9),     judged("tight.csv", Outcome::pass, 0.1),
          judged("dim.csv", Outcome::cannot_tell, 1), judged("edge.csv", Outcome::marginal, 0),
          unread("shopping.txt", "expected a waveform, found words"),
          judged("bad.csv", Outcome::fail, -0.2),     judged("worst.csv", Outcome::fail, -3)};
}

}  // namespace

BOOST_AUTO_TEST_SUITE(survey)

BOOST_AUTO_TEST_CASE(worst_first_by_verdict_then_margin_then_name) {
  auto entries = mixed();
  entries.push_back(judged("also-fine.csv", Outcome::pass, 0.9));
  auto without = judged("a-unknown.csv", Outcome::pass, 0);
  without.margin = Measured::none("no check was decided");
  entries.push_back(without);
  reports::sort_worst_first(entries);
  std::vector<std::string> names;
  for (const auto& entry : entries) names.push_back(entry.file);
  const std::vector<std::string> expected{"worst.csv", "bad.csv",       "shopping.txt", "edge.csv",     "dim.csv",
                                          "tight.csv", "also-fine.csv", "fine.csv",     "a-unknown.csv"};
  BOOST_TEST(names == expected, boost::test_tools::per_element());
}

BOOST_AUTO_TEST_CASE(entry_tells_what_the_diagnosis_says) {
  const auto diagnosis = samples::overdamped();
  const auto entry = reports::survey_entry(diagnosis);
  BOOST_TEST(entry.judged());
  BOOST_TEST(entry.headline == diagnosis.verdict.headline);
  BOOST_TEST(entry.cause == diagnosis.verdict.causes.front().id);
  BOOST_TEST(*entry.series_ohm == *diagnosis.suggestion.series_ohm);
  BOOST_TEST(*entry.high_v == *diagnosis.levels.high_v);
}

BOOST_AUTO_TEST_CASE(text_counts_and_lists_in_the_order_given) {
  const auto text = reports::survey_text(mixed(), {.width = 100, .colour = false});
  BOOST_TEST(text.starts_with("7 files: 2 fail, 1 not judged, 1 marginal, 1 cannot tell, 2 pass\n"), text);
  BOOST_TEST(text.find("expected a waveform, found words") != std::string::npos);
  BOOST_TEST(text.find("fine.csv") < text.find("worst.csv"));
  // A pass needs no action.
  BOOST_TEST(text.find("headline of fine.csv Fit") == std::string::npos);
  BOOST_TEST(text.find("headline of bad.csv Fit 75") != std::string::npos);
}

BOOST_AUTO_TEST_CASE(hostile_names_stay_text) {
  auto entries = mixed();
  const std::string hostile = "x\x1b]0;owned\x07\"><script>alert(1)</script>\xE2\x80\xAE\n.csv";
  entries.push_back(judged(hostile, Outcome::fail, -1));
  entries.back().headline = entries.back().margin_check = hostile;
  entries.push_back(unread(hostile, "found " + hostile));
  const auto page = reports::survey_page(entries, {.program_version = "0", .command_line = hostile, .title = hostile, .forum_markdown = {}, .forum_bbcode = {}});
  BOOST_TEST(page.find("<script>alert") == std::string::npos);
  BOOST_TEST(page.find('\x1b') == std::string::npos);
  BOOST_TEST(page.find("\xE2\x80\xAE") == std::string::npos);
  auto plain = entries;
  for (auto& entry : plain) entry.file = entry.headline = entry.page = "x";
  const auto tame = reports::survey_page(plain, {.program_version = "0", .command_line = "x", .title = "x", .forum_markdown = {}, .forum_bbcode = {}});
  BOOST_TEST(count(page, "<a ") == count(tame, "<a "));
  BOOST_TEST(count(page, "<td") == count(tame, "<td"));
  BOOST_TEST(count(page, "<script") == count(tame, "<script"));
  const auto text = reports::survey_text(entries, {});
  BOOST_TEST(text.find('\x1b') == std::string::npos);
  BOOST_TEST(text.find("\xE2\x80\xAE") == std::string::npos);
}

BOOST_AUTO_TEST_CASE(page_links_every_report_and_names_files_without_verdict) {
  const auto page = reports::survey_page(mixed(), {.program_version = "0.1.0", .command_line = "pulsewright diagnose bench/", .title = {}, .forum_markdown = {}, .forum_bbcode = {}});
  for (const char* file : {"fine.csv", "tight.csv", "dim.csv", "edge.csv", "bad.csv", "worst.csv"})
    BOOST_TEST(count(page, std::string("<a href=\"") + file + ".html\">" + file + "</a>") == 1u, file);
  BOOST_TEST(count(page, "Not judged") == 1u);
  BOOST_TEST(count(page, "expected a waveform, found words") == 1u);
  BOOST_TEST(count(page, "pulsewright diagnose bench/") == 1u);
  BOOST_TEST(page.ends_with("</html>\n"));
  // Without a plot no plotting library, whose licence would have to stand here.
  BOOST_TEST(page.find("uPlot.iife") == std::string::npos);
  BOOST_TEST(page.size() < 40000u);
}

BOOST_AUTO_TEST_CASE(json_has_every_file_and_null_where_nothing_was_judged) {
  const auto out = nlohmann::json::parse(reports::survey_json(mixed(), 1));
  BOOST_TEST(out["schema"] == "pulsewright.survey.v1");
  BOOST_TEST(out["status"] == 1);
  BOOST_TEST(out["counts"]["fail"] == 2);
  BOOST_TEST(out["counts"]["not-judged"] == 1);
  BOOST_TEST(out["captures"].size() == 7u);
  const auto& unread = out["captures"][4];
  BOOST_TEST(unread["result"].is_null());
  BOOST_TEST(unread["complaint"] == "expected a waveform, found words");
  BOOST_TEST(unread["status"] == 65);
  BOOST_TEST(!unread.contains("headline"));
  BOOST_TEST(out["captures"][6]["margin"].get<double>() == -3.0);
  BOOST_TEST(out["captures"][6]["rise_duration_10_90_s"].is_null());
  BOOST_TEST(out["captures"][6].contains("rise_duration_10_90_s_missing"));
}

BOOST_AUTO_TEST_SUITE_END()
