#include "analyzer/compare/bits.hpp"

#include <algorithm>
#include <array>
#include <map>
#include <optional>
#include <string_view>

namespace pulsewright::analyzer {

namespace {

using Bits = std::vector<bool>;

struct Whole {
  std::size_t frame;  ///< index in the record
  Bits bits;
};

Bits bits_of(const std::string& hex) {
  Bits bits;
  bits.reserve(4 * hex.size());
  for (const char c : hex) {
    const int digit = c >= '0' && c <= '9' ? c - '0' : c >= 'a' && c <= 'f' ? c - 'a' + 10 : c >= 'A' && c <= 'F' ? c - 'A' + 10 : 0;
    for (int shift = 3; shift >= 0; --shift) bits.push_back((digit >> shift & 1) != 0);
  }
  return bits;
}

std::vector<Whole> whole_frames(const Diagnosis& diagnosis) {
  std::vector<Whole> frames;
  for (std::size_t i = 0; i < diagnosis.frames.frames.size(); ++i) {
    const auto& frame = diagnosis.frames.frames[i];
    if (!frame.cut && !frame.hex.empty()) frames.push_back({i, bits_of(frame.hex)});
  }
  return frames;
}

std::size_t distance(const Bits& a, const Bits& b) {
  std::size_t found = 0;
  for (std::size_t i = 0; i < a.size(); ++i) found += a[i] != b[i];
  return found;
}

/// The most common content of this length.
const Bits* most_common(const std::vector<Whole>& frames, std::size_t length) {
  std::map<Bits, std::size_t> tally;
  const Bits* best = nullptr;
  std::size_t most = 0;
  for (const auto& frame : frames) {
    if (frame.bits.size() != length) continue;
    if (const auto count = ++tally[frame.bits]; count > most) most = count, best = &frame.bits;
  }
  return best;
}

/// Is there anything in this capture that turns bits over: times, thresholds, or frames that differ among themselves?
bool bits_in_doubt(const Diagnosis& diagnosis) {
  static constexpr std::array<std::string_view, 6> ids{"t0h", "t1h", "recrossing", "undecided", "whole-pixels", "high-level"};
  return diagnosis.frames.differing_bits > 0 || std::ranges::any_of(diagnosis.checks, [](const Check& check) {
           return check.result == Outcome::fail && std::ranges::find(ids, check.id) != ids.end();
         });
}

struct Content {
  const Bits* frame = nullptr;
  std::string doubt;  ///< set when it is not certain which of both captures is right
};

/// Content found in both captures counts as sent. Without any, the capture whose bits are beyond doubt is believed.
std::optional<Content> sent_content(const Diagnosis& a, const std::vector<Whole>& before, const Diagnosis& b, const std::vector<Whole>& after,
                                    std::size_t length) {
  const Bits *first = most_common(before, length), *second = most_common(after, length);
  if (first == nullptr || second == nullptr || !alike(distance(*first, *second), length)) return {};
  const auto holds = [](const std::vector<Whole>& frames, const Bits& bits) {
    return std::ranges::any_of(frames, [&](const Whole& frame) { return frame.bits == bits; });
  };
  if (holds(before, *second)) return Content{second, {}};
  if (holds(after, *first)) return Content{first, {}};
  const bool doubt_a = bits_in_doubt(a), doubt_b = bits_in_doubt(b);
  if (!doubt_a && !doubt_b) return {};
  if (doubt_a && !doubt_b) return Content{second, {}};
  if (doubt_b && !doubt_a) return Content{first, {}};
  return Content{first, "both captures have trouble with their bits, so which of them is right cannot be told"};
}

void count_errors(const Bits& sent, const std::vector<Whole>& frames, unsigned bits_per_pixel, BitErrors& errors) {
  for (const auto& frame : frames) {
    if (frame.bits.size() != sent.size()) {
      ++errors.other_frames;
      continue;
    }
    const auto found = distance(sent, frame.bits);
    if (!alike(found, sent.size())) {
      ++errors.other_frames;
      continue;
    }
    ++errors.frames;
    errors.bits += sent.size();
    errors.wrong += note_differences(sent, frame.bits, frame.frame, bits_per_pixel, errors.places);
  }
}

std::string in_words(const BitErrors& errors) {
  const std::string of = std::to_string(errors.bits) + " bits in " + std::to_string(errors.frames) + (errors.frames == 1 ? " frame" : " frames");
  return (errors.wrong == 0 ? "none" : std::to_string(errors.wrong)) + " of " + of;
}

BitsCompared not_compared(std::string why) {
  BitsCompared none;
  none.text = std::move(why);
  return none;
}

}  // namespace

bool alike(std::size_t differing, std::size_t bits) { return 8 * differing <= bits; }

std::size_t note_differences(const Bits& expected, const Bits& found, std::size_t frame, unsigned bits_per_pixel, std::vector<BitDifference>& places) {
  const std::size_t pixel_bits = std::max(1u, bits_per_pixel);
  std::size_t count = 0;
  for (std::size_t bit = 0; bit < expected.size(); ++bit) {
    if (expected[bit] == found[bit]) continue;
    ++count;
    if (places.size() == kShownBitDifferences) continue;
    const std::size_t within = bit % pixel_bits;
    places.push_back({.frame = frame, .bit = bit, .pixel = bit / pixel_bits, .channel = static_cast<unsigned>(within / 8),
                      .channel_bit = static_cast<unsigned>(7 - within % 8), .expected = expected[bit], .found = found[bit]});
  }
  return count;
}

BitsCompared compare_bits(const Diagnosis& before, const Diagnosis& after) {
  const auto first = whole_frames(before), last = whole_frames(after);
  if (first.empty() || last.empty()) return not_compared("One of the captures holds no frame that is complete, so no bits were compared.");
  std::map<std::size_t, std::size_t> lengths;  // of the frames of both, by how often
  for (const auto& frame : first) ++lengths[frame.bits.size()];
  const auto common = std::ranges::max_element(lengths, {}, [](const auto& each) { return each.second; })->first;
  if (most_common(last, common) == nullptr)
    return not_compared("The frames have other lengths, " + std::to_string(common) + " bits before and " + std::to_string(last.front().bits.size()) +
                        " after: other content, or whole bits lost. No bits were compared.");
  BitsCompared compared;
  const auto sent = sent_content(before, first, after, last, common);
  if (!sent && (bits_in_doubt(before) || bits_in_doubt(after))) {
    const std::string which = !bits_in_doubt(before) ? "later" : bits_in_doubt(after) ? "earlier and the later" : "earlier";
    return not_compared("The bits of the " + which + " capture are too garbled to tell whether both carry the same frame, so none were compared.");
  }
  if (!sent) {
    compared.relation = BitsCompared::Relation::other_content;
    compared.text = "The captures hold other content, so no bits were counted as wrong.";
    return compared;
  }
  const unsigned bits_per_pixel = before.settings.windows.bits_per_pixel;
  count_errors(*sent->frame, first, bits_per_pixel, compared.before);
  count_errors(*sent->frame, last, bits_per_pixel, compared.after);
  compared.relation = sent->doubt.empty() ? BitsCompared::Relation::same_frame : BitsCompared::Relation::undecided;
  compared.text = "Both captures carry the same frame. Bits that differ from it: before " + in_words(compared.before) + ", after " + in_words(compared.after) + ".";
  if (!sent->doubt.empty())
    compared.text = "The captures carry nearly the same frame, but " + sent->doubt + "; they differ in " + std::to_string(compared.after.wrong) + " of " +
                    std::to_string(compared.after.bits) + " bits.";
  if (compared.before.other_frames + compared.after.other_frames > 0)
    compared.text += " Frames of other content or length were left out: " + std::to_string(compared.before.other_frames) + " before, " +
                     std::to_string(compared.after.other_frames) + " after.";
  return compared;
}

}  // namespace pulsewright::analyzer
