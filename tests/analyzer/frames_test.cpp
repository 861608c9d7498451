#include "analyzer/protocol/frames.hpp"

#include <boost/test/unit_test.hpp>

#include "analyzer/protocol/pulse_statistics.hpp"
#include "tests/support/edges.hpp"
#include "tests/support/waveforms.hpp"

using namespace pulsewright;
using namespace pulsewright::analyzer;

namespace {

struct Read {
  std::vector<BitPulse> pulses;
  FrameCutting cutting;
  FrameSummary frames;
};

Read read(const std::vector<std::vector<bool>>& contents, double gap_s, double before_s, double after_s,
          const char* chip = "WS2812B") {
  std::vector<Transition> transitions;
  double t_s = before_s;
  for (const auto& bits : contents) t_s = edges::append_bits(transitions, t_s, bits) + gap_s;
  const auto& windows = *find_windows(chip, {});
  Read found{extract_pulses(transitions, false), {}, {}};
  analyzer::classify(found.pulses, width_shape(found.pulses), windows);
  found.cutting = cut_frames(found.pulses, windows, 0, t_s - gap_s + after_s, 1e-9);
  found.frames = summarize_frames(found.pulses, found.cutting, windows);
  return found;
}

}  // namespace

BOOST_AUTO_TEST_SUITE(frames)

BOOST_AUTO_TEST_CASE(bytes_pixels_and_gap) {
  const auto bits = waveforms::bits_of({0x12, 0x34, 0xff, 0x00, 0x80, 0x01});
  const auto found = read({bits, bits, bits}, 300e-6, 400e-6, 400e-6);
  BOOST_TEST_REQUIRE(found.frames.count == 3u);
  for (const auto& frame : found.frames.frames) {
    BOOST_TEST(frame.bits == 48u);
    BOOST_TEST(frame.pixels == 2u);
    BOOST_TEST(frame.leftover_bits == 0u);
    BOOST_TEST(frame.hex == "1234ff008001");
    BOOST_TEST(!frame.cut);
  }
  BOOST_TEST(found.frames.all_alike);
  BOOST_TEST_REQUIRE(found.cutting.latch_gap_min_s.value.has_value());
  // The last low of the frame (450 ns after a 1) belongs to the gap.
  BOOST_TEST(*found.cutting.latch_gap_min_s == 300.45e-6, boost::test_tools::tolerance(1e-4));
  BOOST_TEST_REQUIRE(found.frames.rate_hz.value.has_value());
  BOOST_TEST(*found.frames.rate_hz == 1 / (48 * 1.25e-6 + 300e-6), boost::test_tools::tolerance(1e-6));
}

BOOST_AUTO_TEST_CASE(a_record_that_cuts_a_frame_is_no_error) {
  const auto bits = waveforms::random_bits(48, 4);
  const auto found =
      read({std::vector<bool>(bits.begin() + 7, bits.end()), bits, std::vector<bool>(bits.begin(), bits.begin() + 30)},
           300e-6, 1e-6, 1e-6);
  BOOST_TEST_REQUIRE(found.frames.count == 3u);
  BOOST_TEST(found.frames.frames[0].cut);
  BOOST_TEST(!found.frames.frames[1].cut);
  BOOST_TEST(found.frames.frames[2].cut);
  BOOST_TEST(found.frames.all_alike);
  BOOST_TEST(found.frames.differing_bits == 0u);
}

BOOST_AUTO_TEST_CASE(a_changed_bit_is_found_with_its_place) {
  const auto bits = waveforms::random_bits(72, 4);
  auto other = bits;
  other[41] = !other[41];
  const auto found = read({bits, bits, other, bits, bits}, 300e-6, 400e-6, 400e-6);
  BOOST_TEST(found.frames.differing_bits == 1u);
  BOOST_TEST(!found.frames.all_alike);
  BOOST_TEST_REQUIRE(found.frames.frames[2].first_difference.has_value());
  BOOST_TEST(*found.frames.frames[2].first_difference == 41u);
  BOOST_TEST(!found.frames.frames[1].first_difference);
  BOOST_TEST(odd_frames(found.pulses, found.cutting) == 1u);
}

BOOST_AUTO_TEST_CASE(content_that_moves_on_is_not_odd) {
  std::vector<std::vector<bool>> contents;
  for (unsigned frame = 0; frame < 6; ++frame) contents.push_back(waveforms::random_bits(72, 1 + frame / 2));
  const auto found = read(contents, 300e-6, 400e-6, 400e-6);
  BOOST_TEST(odd_frames(found.pulses, found.cutting) == 0u);
}

BOOST_AUTO_TEST_CASE(a_lost_bit_leaves_a_broken_pixel) {
  const auto bits = waveforms::random_bits(72, 4);
  auto shorter = bits;
  shorter.erase(shorter.begin() + 20);
  const auto found = read({bits, shorter, bits}, 300e-6, 400e-6, 400e-6);
  BOOST_TEST(found.frames.frames[1].leftover_bits == 23u);
  BOOST_TEST(found.frames.frames[1].pixels == 2u);
}

BOOST_AUTO_TEST_CASE(short_gaps_between_whole_frames_are_gaps) {
  const auto bits = waveforms::random_bits(72, 4);
  const auto found = read({bits, bits, bits, bits}, 20e-6, 400e-6, 400e-6);
  BOOST_TEST(found.frames.count == 4u);
  BOOST_TEST_REQUIRE(found.cutting.latch_gap_min_s.value.has_value());
  BOOST_TEST(*found.cutting.latch_gap_min_s < 22e-6);
}

BOOST_AUTO_TEST_CASE(a_stall_within_a_frame_is_a_pause) {
  const auto bits = waveforms::random_bits(60, 4);
  std::vector<bool> head(bits.begin(), bits.begin() + 17), tail(bits.begin() + 17, bits.end());
  const auto found = read({head, tail}, 15e-6, 400e-6, 400e-6);
  BOOST_TEST(found.frames.count == 1u);
  BOOST_TEST_REQUIRE(found.cutting.longest_pause_s.value.has_value());
  BOOST_TEST(*found.cutting.longest_pause_s > 14e-6);
  BOOST_TEST(!found.cutting.latch_gap_min_s);
}

BOOST_AUTO_TEST_CASE(first_after_idle_is_marked) {
  const auto bits = waveforms::random_bits(48, 4);
  const auto found = read({bits, bits}, 300e-6, 400e-6, 400e-6);
  for (std::size_t i = 0; i < found.pulses.size(); ++i) BOOST_TEST(found.pulses[i].first_after_idle == (i % 48 == 0));
}

BOOST_AUTO_TEST_SUITE_END()
