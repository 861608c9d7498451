// Escapes after the HTML standard (13.1.2, text and attribute values) and XML 1.0 section 2.4; well-formed UTF-8 after table
// 3-7 of the Unicode Standard.

#include "reports/markup.hpp"

#include <boost/test/unit_test.hpp>
#include <nlohmann/json.hpp>
#include <string>

using pulsewright::reports::escape;
using pulsewright::reports::json_in_script;

BOOST_AUTO_TEST_SUITE(markup)

BOOST_AUTO_TEST_CASE(characters_of_markup_become_references) {
  BOOST_TEST(escape("<a href='x'>\"&\"</a>") == "&lt;a href=&#39;x&#39;&gt;&quot;&amp;&quot;&lt;/a&gt;");
  BOOST_TEST(escape("75 Ω, µs — 東") == "75 Ω, µs — 東");
  BOOST_TEST(escape("a\tb\nc") == "a\tb\nc");
}

BOOST_AUTO_TEST_CASE(control_characters_and_direction_marks_are_replaced) {
  BOOST_TEST(escape(std::string("a\0b\x1b[31m\r", 9)) == "a\uFFFDb\uFFFD[31m\uFFFD");
  BOOST_TEST(escape("x\u202Ey\u2066z\uFEFF") == "x\uFFFDy\uFFFDz\uFFFD");
  BOOST_TEST(escape("\x7f\u0085\uFFFE") == "\uFFFD\uFFFD\uFFFD");
}

BOOST_AUTO_TEST_CASE(broken_utf8_is_replaced_byte_by_byte) {
  BOOST_TEST(escape("\xff") == "\uFFFD");
  BOOST_TEST(escape("\xC0\xBC") == "\uFFFD\uFFFD");          // overlong "<"
  BOOST_TEST(escape("\xE0\x80\xBC") == "\uFFFD\uFFFD\uFFFD");  // overlong "<"
  BOOST_TEST(escape("\xED\xA0\x80") == "\uFFFD\uFFFD\uFFFD");  // surrogate
  BOOST_TEST(escape("\xF4\x90\x80\x80").size() == 12u);        // beyond U+10FFFF
  BOOST_TEST(escape("a\xE2\x82") == "a\uFFFD\uFFFD");          // cut short
  BOOST_TEST(escape("\xE2<b>") == "\uFFFD&lt;b&gt;");          // a lead byte must not swallow markup
}

BOOST_AUTO_TEST_CASE(json_cannot_end_its_script_and_still_says_the_same) {
  const nlohmann::json data{{"name", "</script><!--<script> & \u2028\u2029"}};
  const std::string safe = json_in_script(data.dump());
  BOOST_TEST(safe.find_first_of("<>&") == std::string::npos);
  BOOST_TEST(safe.find("\u2028") == std::string::npos);
  BOOST_TEST((nlohmann::json::parse(safe) == data));
}

BOOST_AUTO_TEST_SUITE_END()
