#include "analyzer/compare/bits.hpp"

#include <boost/test/unit_test.hpp>

using namespace pulsewright::analyzer;

namespace {

using Relation = BitsCompared::Relation;

/// Complete frames of 24-bit pixels with this content.
Diagnosis with_frames(const std::vector<std::string>& contents) {
  Diagnosis made;
  made.settings.windows.bits_per_pixel = 24;
  for (const auto& hex : contents) made.frames.frames.push_back({.start_s = 0, .bits = 4 * hex.size(), .pixels = hex.size() / 6, .leftover_bits = 0, .hex = hex, .differing_bits = 0, .first_difference = {}, .cut = false});
  return made;
}

Check failing(const std::string& id) {
  return {.id = id, .name = id, .result = Outcome::fail, .value = {}, .limit_low = {}, .limit_high = {}, .unit = "1", .source = {}, .text = {}, .advisory = false};
}

const std::string sent = "10ff4ca50380007ec1";

}  // namespace

BOOST_AUTO_TEST_SUITE(bits)

BOOST_AUTO_TEST_CASE(the_same_frame_without_errors) {
  const auto found = compare_bits(with_frames({sent, sent}), with_frames({sent, sent, sent}));
  BOOST_TEST((found.relation == Relation::same_frame));
  BOOST_TEST(found.before.bits == 144u);
  BOOST_TEST(found.after.bits == 216u);
  BOOST_TEST(found.before.wrong + found.after.wrong == 0u);
}

// a5 is the first byte of the second pixel; 25 has lost its most significant bit. 00 is the first byte of the third; 04 has gained bit 2.
BOOST_AUTO_TEST_CASE(each_wrong_bit_is_placed) {
  const auto found = compare_bits(with_frames({sent, sent}), with_frames({sent, "10ff4c250380007ec1", "10ff4ca50380047ec1"}));
  BOOST_TEST((found.relation == Relation::same_frame));
  BOOST_TEST(found.before.wrong == 0u);
  BOOST_TEST(found.after.wrong == 2u);
  BOOST_TEST_REQUIRE(found.after.places.size() == 2u);
  const auto& lost = found.after.places[0];
  BOOST_TEST(lost.frame == 1u);
  BOOST_TEST(lost.bit == 24u);
  BOOST_TEST(lost.pixel == 1u);
  BOOST_TEST(lost.channel == 0u);
  BOOST_TEST(lost.channel_bit == 7u);
  BOOST_TEST((lost.expected && !lost.found));
  const auto& gained = found.after.places[1];
  BOOST_TEST(gained.frame == 2u);
  BOOST_TEST(gained.pixel == 2u);
  BOOST_TEST(gained.channel == 0u);
  BOOST_TEST(gained.channel_bit == 2u);
  BOOST_TEST((!gained.expected && gained.found));
}

BOOST_AUTO_TEST_CASE(errors_of_the_earlier_capture_count_against_it) {
  auto before = with_frames({"10ff4c250380007ec1", "10ff4ca50380047ec1"});
  before.frames.differing_bits = 2;
  const auto found = compare_bits(before, with_frames({sent, sent}));
  BOOST_TEST(found.before.wrong == 2u);
  BOOST_TEST(found.after.wrong == 0u);
}

BOOST_AUTO_TEST_CASE(unrelated_content_is_no_error) {
  const auto found = compare_bits(with_frames({sent}), with_frames({"ef00b35afc7fff813e"}));
  BOOST_TEST((found.relation == Relation::other_content));
  BOOST_TEST(found.after.wrong == 0u);
}

// One colour step of one pixel: both captures steady, nothing wrong with their pulses.
BOOST_AUTO_TEST_CASE(a_small_steady_difference_between_sound_captures_is_content) {
  const std::string brighter = "10ff4ca50380007ec3";
  BOOST_TEST((compare_bits(with_frames({sent, sent}), with_frames({brighter, brighter})).relation == Relation::other_content));
  auto failing_after = with_frames({brighter, brighter});
  failing_after.checks.push_back(failing("t0h"));
  const auto found = compare_bits(with_frames({sent, sent}), failing_after);
  BOOST_TEST((found.relation == Relation::same_frame));
  BOOST_TEST(found.after.wrong == 2u);
}

BOOST_AUTO_TEST_CASE(two_captures_in_trouble_leave_it_open) {
  auto a = with_frames({sent}), b = with_frames({"10ff4ca50380007ec3"});
  a.checks.push_back(failing("undecided"));
  b.checks.push_back(failing("t1h"));
  BOOST_TEST((compare_bits(a, b).relation == Relation::undecided));
}

BOOST_AUTO_TEST_CASE(garbled_bits_are_not_called_other_content) {
  auto after = with_frames({"ef00b35afc7fff813e"});
  after.checks.push_back(failing("undecided"));
  const auto found = compare_bits(with_frames({sent}), after);
  BOOST_TEST((found.relation == Relation::not_compared));
  BOOST_TEST(found.text.find("later capture") != std::string::npos, found.text);
}

BOOST_AUTO_TEST_CASE(cut_frames_and_other_lengths_are_left_out_and_said) {
  auto cut = with_frames({sent});
  cut.frames.frames[0].cut = true;
  BOOST_TEST((compare_bits(cut, with_frames({sent})).relation == Relation::not_compared));
  const auto shorter = compare_bits(with_frames({sent}), with_frames({sent.substr(0, 12)}));
  BOOST_TEST((shorter.relation == Relation::not_compared));
  BOOST_TEST(shorter.text.find("72 bits before and 48") != std::string::npos, shorter.text);
}

BOOST_AUTO_TEST_CASE(the_list_of_places_ends_and_the_count_does_not) {
  std::vector<BitDifference> places;
  const std::vector<bool> zeros(100, false), ones(100, true);
  BOOST_TEST(note_differences(zeros, ones, 3, 24, places) == 100u);
  BOOST_TEST(places.size() == kShownBitDifferences);
}

BOOST_AUTO_TEST_SUITE_END()
