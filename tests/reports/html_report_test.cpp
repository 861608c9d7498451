#include "reports/html/html_report.hpp"

#include <boost/test/unit_test.hpp>
#include <nlohmann/json.hpp>
#include <regex>
#include <set>
#include <string>

#include "reports/html/html.hpp"
#include "reports/html/page_shell.hpp"
#include "reports/quantity.hpp"
#include "tests/support/sample_diagnosis.hpp"

using namespace pulsewright;
using analyzer::Diagnosis;

namespace {

const reports::ReportContext kContext{.program_version = "0.1.0",
                                      .command_line = "pulsewright diagnose 'a b.csv' --length 18m",
                                      .title = "",
                                      .forum_markdown = "**fail** & <b>",
                                      .forum_bbcode = "[b]fail[/b]"};

std::string page(const Diagnosis& d) { return reports::html_report(d, kContext); }
bool holds(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

std::string between(const std::string& text, const std::string& from, const std::string& to) {
  const auto start = text.find(from);
  BOOST_TEST_REQUIRE(start != std::string::npos);
  return text.substr(start + from.size(), text.find(to, start + from.size()) - start - from.size());
}

std::vector<std::string> blocks_of(const std::string& text, const std::string& from, const std::string& to) {
  std::vector<std::string> blocks;
  for (auto at = text.find(from); at != std::string::npos; at = text.find(from, at + 1))
    blocks.push_back(text.substr(at + from.size(), text.find(to, at) - at - from.size()));
  return blocks;
}

/// Start tags without the values of their attributes.
std::vector<std::string> tags_of(const std::string& text) {
  std::vector<std::string> tags;
  for (auto at = text.find('<'); at != std::string::npos; at = text.find('<', at + 1)) {
    std::string tag;
    bool quoted = false;
    for (auto i = at; i < text.size() && (quoted || text[i] != '>'); ++i) {
      if (text[i] == '"') quoted = !quoted;
      if (!quoted) tag += text[i];
    }
    tags.push_back(tag);
  }
  return tags;
}

nlohmann::json data_of(const std::string& text) {
  return nlohmann::json::parse(between(text, "id=\"page-data\">", "</script>"));
}

}  // namespace

BOOST_AUTO_TEST_SUITE(html_report)

BOOST_AUTO_TEST_CASE(first_screen_says_verdict_value_bands_range_and_confidence) {
  const auto first = between(page(samples::overdamped()), "<section id=\"verdict\"", "</section>");
  BOOST_TEST(holds(first, "<span>Fail</span>"));
  BOOST_TEST(holds(first, "The edges are too slow"));
  BOOST_TEST(holds(first, "Fit 75 Ω"));
  BOOST_TEST(holds(first, "in place of 220 Ω"));
  for (const char* band : {">violet<", ">green<", ">black<", ">gold<"}) BOOST_TEST(holds(first, band));
  BOOST_TEST(holds(first, "<b>68 Ω</b> to <b>91 Ω</b>"));
  BOOST_TEST(holds(first, "Confidence 86 %"));
}

BOOST_AUTO_TEST_CASE(cannot_tell_shows_how_to_capture_again_on_the_first_screen) {
  const auto made = samples::logic();
  const auto first = between(page(made), "<section id=\"verdict\"", "</section>");
  BOOST_TEST(holds(first, "<span>Cannot tell</span>"));
  for (const auto& advice : made.verdict.recapture_advice) BOOST_TEST(holds(first, reports::escape(advice)));
  BOOST_TEST(holds(first, "the capture is logic levels, it carries no voltages"));
}

BOOST_AUTO_TEST_CASE(every_check_shows_value_limit_and_source_and_only_passed_ones_are_folded) {
  const auto made = samples::overdamped();
  const auto checks = between(page(made), "<section id=\"checks\"", "</section>");
  for (const auto& check : made.checks) {
    const auto name = checks.find(reports::escape(check.name));
    BOOST_TEST_REQUIRE(name != std::string::npos);
    const auto start = checks.rfind("<details", name);
    const auto one = checks.substr(start, checks.find("</details>", name) - start);
    const bool open = holds(one.substr(0, one.find('>')), " open");
    BOOST_TEST(open == (check.result != analyzer::Outcome::pass), check.id);
    BOOST_TEST(holds(one, reports::escape(reports::quantity(check.value, check.unit))), check.id);
    if (check.limit_low) BOOST_TEST(holds(one, reports::quantity(*check.limit_low, check.unit)), check.id);
    if (check.limit_high) BOOST_TEST(holds(one, reports::quantity(*check.limit_high, check.unit)), check.id);
    BOOST_TEST(holds(one, check.source), check.id);
  }
}

BOOST_AUTO_TEST_CASE(a_reason_is_said_once_in_each_column) {
  const auto reason = reports::html::figure_of(analyzer::Measured::none("too few edges"), "s");
  const auto made = reports::html::table("t", {"", "a", "b"}, {{"x", reason, "1"}, {"y", reason, "1"}, {"z", reason, reason}});
  BOOST_TEST(blocks_of(made, "too few edges", "<").size() == 2u);
  BOOST_TEST(blocks_of(made, "as above", "<").size() == 2u);
  BOOST_TEST(blocks_of(made, "<td>1</td>", "<").size() == 2u);
}

BOOST_AUTO_TEST_CASE(causes_come_with_evidence_and_what_would_refute_them) {
  const auto made = samples::overdamped();
  const auto why = between(page(made), "<section id=\"why\"", "</section>");
  for (const auto& cause : made.verdict.causes) {
    BOOST_TEST(holds(why, reports::escape(cause.text)));
    BOOST_TEST(holds(why, reports::escape(cause.refuted_by)));
    for (const auto& [key, value] : cause.evidence)
      BOOST_TEST(holds(why, reports::quantity(value, reports::meaning_of(key).unit)), key);
  }
}

BOOST_AUTO_TEST_CASE(script_data_are_those_of_the_diagnosis) {
  const auto made = samples::overdamped();
  const auto data = data_of(page(made));
  BOOST_TEST(data["record"]["max_v"].size() == made.figures.record.max_v.size());
  BOOST_TEST_REQUIRE(data["candidates"].size() == made.suggestion.candidates.size());
  for (std::size_t i = 0; i < made.suggestion.candidates.size(); ++i) {
    const auto& c = made.suggestion.candidates[i];
    const auto& shown = data["candidates"][i];
    BOOST_TEST(shown["ohm"].get<double>() == c.ohm);
    BOOST_TEST(shown["margin"].get<std::string>() == reports::quantity(c.margin, "1"));
    BOOST_TEST_REQUIRE(shown["v"].size() == c.waveform.v.size());
    for (std::size_t k = 0; k < c.waveform.v.size(); ++k)  // four significant digits
      BOOST_TEST(std::abs(shown["v"][k].get<double>() - c.waveform.v[k]) <= 5e-4 * std::abs(c.waveform.v[k]) + 1e-12);
  }
}

BOOST_AUTO_TEST_CASE(policy_names_exactly_the_embedded_style_and_script) {
  const auto text = page(samples::pass());
  const auto policy = between(text, "Content-Security-Policy\" content=\"", "\"");
  BOOST_TEST(policy.starts_with("default-src 'none';"));
  BOOST_TEST(!holds(policy, "unsafe"));
  std::set<std::string> hashes;
  for (const auto& block : blocks_of(text, "<script>", "</script>")) hashes.insert(reports::html::policy_hash(block));
  for (const auto& block : blocks_of(text, "<style>", "</style>")) hashes.insert(reports::html::policy_hash(block));
  BOOST_TEST(hashes.size() == 4u);
  for (const auto& hash : hashes) BOOST_TEST(holds(policy, "'" + hash + "'"));
}

// "abc": FIPS 180-4 example, in base64.
BOOST_AUTO_TEST_CASE(policy_hash_is_sha256_in_base64) {
  BOOST_TEST(reports::html::policy_hash("abc") == "sha256-ungWv48Bz+pBQUDeXa4iI7ADYaOWF3qctBD/YfIAFa0=");
}

BOOST_AUTO_TEST_CASE(nothing_is_loaded_and_nothing_runs_from_attributes) {
  for (const auto& made : {samples::overdamped(), samples::logic(), samples::hostile(samples::ringing())}) {
    auto text = page(made);
    for (const char* name : {"script", "style"})
      for (std::size_t at; (at = text.find("<" + std::string(name))) != std::string::npos;)
        text.erase(at, text.find("</" + std::string(name) + ">", at) + std::string(name).size() + 3 - at);
    const auto tags = tags_of(text);
    BOOST_TEST_REQUIRE(tags.size() > 200u);
    for (const auto& tag : tags)
      for (const char* forbidden : {" src", " style", " srcset", " on", "<img", "<link", "<iframe", "<base", "<object", "<form"})
        BOOST_TEST(!holds(tag, forbidden), tag);
  }
}

BOOST_AUTO_TEST_CASE(hostile_texts_add_no_element) {
  const auto count = [](const std::string& text) {
    std::size_t tags = 0;
    for (std::size_t i = 0; i + 1 < text.size(); ++i)
      if (text[i] == '<' && (std::isalpha(static_cast<unsigned char>(text[i + 1])) || text[i + 1] == '!')) ++tags;
    return tags;
  };
  auto plain = samples::overdamped(), hostile = samples::hostile(plain);
  hostile.capture.logic = plain.capture.logic;
  plain.capture.notes.resize(hostile.capture.notes.size());
  BOOST_TEST(count(page(hostile)) == count(page(plain)));
}

BOOST_AUTO_TEST_CASE(ids_are_unique) {
  const auto text = page(samples::overdamped());
  std::set<std::string> seen;
  const std::regex id(R"re( id="([^"]+)")re");
  for (std::sregex_iterator at(text.begin(), text.end(), id), end; at != end; ++at)
    BOOST_TEST(seen.insert((*at)[1].str()).second, (*at)[1].str());
  BOOST_TEST(seen.size() > 20u);
}

BOOST_AUTO_TEST_CASE(page_of_the_largest_figures_stays_below_two_megabytes) {
  auto made = samples::overdamped();
  made.figures.folded.traces.resize(1);
  auto trace = made.figures.folded.traces[0];
  trace.t_s.clear(), trace.v.clear();
  for (int i = 0; i < 3000; ++i) {
    trace.t_s.push_back(static_cast<float>(i) * 0.5e-9F);
    trace.v.push_back(static_cast<float>(i % 7));
  }
  made.figures.folded.traces.assign(200, trace);
  made.figures.record.min_v.assign(4000, -0.12345F);
  made.figures.record.max_v.assign(4000, 5.12345F);
  while (made.suggestion.candidates.size() < 80) made.suggestion.candidates.push_back(made.suggestion.candidates.back());
  const auto text = page(made);
  BOOST_TEST(text.size() < 2'000'000u);
}

BOOST_AUTO_TEST_CASE(page_without_any_figure_still_stands) {
  const auto text = page(Diagnosis{});
  BOOST_TEST(holds(text, "<span>Cannot tell</span>"));
  BOOST_TEST(holds(text, "</html>"));
  BOOST_TEST(!data_of(text).is_null());
}

BOOST_AUTO_TEST_CASE(licence_of_the_plotting_library_is_shown) {
  BOOST_TEST(holds(std::string(reports::html::plot_licence()), "The MIT License"));
  BOOST_TEST(holds(page(samples::pass()), reports::escape(reports::html::plot_licence())));
}

BOOST_AUTO_TEST_SUITE_END()
