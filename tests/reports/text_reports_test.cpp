// The terminal summary and the forum post.

#include <boost/test/unit_test.hpp>
#include <string>

#include "reports/forum/forum_post.hpp"
#include "reports/text/diagnosis_text.hpp"
#include "reports/text/printable.hpp"
#include "tests/support/golden.hpp"
#include "tests/support/sample_diagnosis.hpp"

namespace {

using namespace pulsewright;
using reports::Markup;

constexpr const char* asked = "pulsewright diagnose footbridge-far-220ohm.csv --series-ohms 220 --length 18m";

std::size_t widest(const std::string& text) {
  std::size_t widest = 0, start = 0;
  while (start < text.size()) {
    const auto end = std::min(text.find('\n', start), text.size());
    widest = std::max(widest, reports::columns(text.substr(start, end - start)));
    start = end + 1;
  }
  return widest;
}

}  // namespace

BOOST_AUTO_TEST_SUITE(text_reports)

BOOST_AUTO_TEST_CASE(the_terminal_summary_begins_with_the_verdict) {
  auto untitled = samples::overdamped();
  untitled.settings.title.clear();
  BOOST_TEST(reports::diagnosis_text(untitled, {}).starts_with("FAIL: The edges are too slow: fit 75 Ω in place of 220 Ω\n"));
  golden::matches("summary-slow.txt", reports::diagnosis_text(samples::overdamped(), {}));
  golden::matches("summary-pass.txt", reports::diagnosis_text(samples::pass(), {}));
  golden::matches("summary-logic.txt", reports::diagnosis_text(samples::logic(), {}));
}

BOOST_AUTO_TEST_CASE(lines_keep_to_the_width) {
  for (const std::size_t width : {40u, 60u, 80u, 110u})
    for (const auto& diagnosis : {samples::overdamped(), samples::ringing(), samples::logic()})
      BOOST_TEST(widest(reports::diagnosis_text(diagnosis, {.width = width})) <= width, "width " << width);
}

BOOST_AUTO_TEST_CASE(colour_adds_codes_and_no_words) {
  const auto plain = reports::diagnosis_text(samples::ringing(), {.width = 80});
  auto coloured = reports::diagnosis_text(samples::ringing(), {.width = 80, .colour = true});
  BOOST_TEST(plain.find('\x1b') == std::string::npos);
  BOOST_TEST(coloured != plain);
  for (std::size_t at = 0; (at = coloured.find('\x1b')) != std::string::npos;) coloured.erase(at, coloured.find('m', at) - at + 1);
  BOOST_TEST(coloured == plain);
}

BOOST_AUTO_TEST_CASE(text_of_a_capture_cannot_drive_the_terminal) {
  auto diagnosis = samples::hostile(samples::overdamped());
  diagnosis.capture.channel = "A\x1b]0;owned\x07\x1b[2J\r\nB\x7f\xc2\x9b";
  const auto text = reports::diagnosis_text(diagnosis, {});
  for (const char c : text) BOOST_TEST((static_cast<unsigned char>(c) >= 0x20 || c == '\n'));
  BOOST_TEST(text.find("\x7f") == std::string::npos);
  BOOST_TEST(text.find("\xc2\x9b") == std::string::npos);
  BOOST_TEST(text.find("\xE2\x80\xAE") == std::string::npos);  // right-to-left override
}

BOOST_AUTO_TEST_CASE(one_line_of_text) {
  BOOST_TEST(reports::one_line("a\r\n\tb") == "a b");
  BOOST_TEST(reports::one_line(std::string("a\0b", 3)) == "a\xEF\xBF\xBD" "b");
  BOOST_TEST(reports::one_line("\xff\xc0\x80") == "\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD");
  BOOST_TEST(reports::one_line("\xed\xa0\x80").find("\xed\xa0\x80") == std::string::npos);  // a surrogate is no character
  BOOST_TEST(reports::one_line("Grüße, 灯", 100) == "Grüße, 灯");
  BOOST_TEST(reports::one_line("abcdef", 4) == "abc…");
  BOOST_TEST(reports::columns("灯 Ω") == 4u);
  BOOST_TEST(reports::shell_word("far end.csv") == "'far end.csv'");
  BOOST_TEST(reports::shell_word("it's") == "'it'\\''s'");
  BOOST_TEST(reports::shell_word("") == "''");
}

BOOST_AUTO_TEST_CASE(forum_posts_of_both_markups) {
  golden::matches("post-slow.md", reports::forum_post(samples::overdamped(), Markup::markdown, asked));
  golden::matches("post-slow.txt", reports::forum_post(samples::overdamped(), Markup::bbcode, asked));
  golden::matches("post-logic.md", reports::forum_post(samples::logic(), Markup::markdown, asked));
}

BOOST_AUTO_TEST_CASE(a_post_names_the_set_up_and_six_figures) {
  for (const auto markup : {Markup::markdown, Markup::bbcode}) {
    const auto post = reports::forum_post(samples::overdamped(), markup, asked);
    for (const char* part : {"FAIL", "Set-up", "Six figures", "Lowest settled high", "Highest settled low", "Rising edge 10-90",
                             "Overshoot", "High time of a 0", "High time of a 1", "Suggestion", "Asked", "violet green black gold"})
      BOOST_TEST(post.find(part) != std::string::npos, part);
  }
}

BOOST_AUTO_TEST_CASE(hostile_text_is_no_markup_link_or_mention) {
  auto diagnosis = samples::hostile(samples::overdamped());
  const std::string bad = "[url=http://x.example]x[/url] **b** `c` @all #1 ![i](http://x.example/i.png) <b> www.x.example\n# head";
  diagnosis.settings.title = diagnosis.capture.channel = diagnosis.capture.notes[0] = bad;
  diagnosis.capture.file = "/home/somebody/secret/" + std::string("run.csv");
  const auto bbcode = reports::forum_post(diagnosis, Markup::bbcode, "pulsewright diagnose '" + bad + "'");
  BOOST_TEST(bbcode.find("[url") == std::string::npos);
  const auto markdown = reports::forum_post(diagnosis, Markup::markdown, asked);
  BOOST_TEST(markdown.find("![") == std::string::npos);
  BOOST_TEST(markdown.find("\n# head") == std::string::npos);
  for (const auto& post : {bbcode, markdown}) {
    BOOST_TEST(post.find("://") == std::string::npos);
    BOOST_TEST(post.find("@all") == std::string::npos);
    BOOST_TEST(post.find("www.") == std::string::npos);
    BOOST_TEST(post.find("secret") == std::string::npos);
  }
}

BOOST_AUTO_TEST_CASE(a_post_stays_within_the_limit) {
  auto diagnosis = samples::hostile(samples::overdamped());
  const std::string endless(20000, '*');
  diagnosis.settings.title = diagnosis.capture.file = diagnosis.verdict.headline = diagnosis.suggestion.text = endless;
  for (int i = 0; i < 50; ++i) {
    diagnosis.checks.push_back(diagnosis.checks.front());
    diagnosis.checks.back().name = endless;
    diagnosis.verdict.causes.push_back(diagnosis.verdict.causes.front());
    diagnosis.verdict.causes.back().text = endless;
    diagnosis.capture.notes.push_back(endless + std::to_string(i));
  }
  for (const auto markup : {Markup::markdown, Markup::bbcode})
    BOOST_TEST(reports::forum_post(diagnosis, markup, endless).size() <= reports::longest_forum_post);
}

BOOST_AUTO_TEST_SUITE_END()
