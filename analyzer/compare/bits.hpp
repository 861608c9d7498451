#pragma once
// Bits of two captures held against each other.

#include <cstddef>
#include <string>
#include <vector>

#include "analyzer/compare.hpp"

namespace pulsewright::analyzer {

inline constexpr std::size_t kShownBitDifferences = 64;

/// Adds the places where `found` differs from `expected` (of the same length) to `places`, up to kShownBitDifferences of
/// them in all. Returns how many differ.
std::size_t note_differences(const std::vector<bool>& expected, const std::vector<bool>& found, std::size_t frame,
                             unsigned bits_per_pixel, std::vector<BitDifference>& places);

/// Frames alike within this share of their bits hold the same content with errors; unrelated content differs in about half.
bool alike(std::size_t differing, std::size_t bits);

/// Do both captures carry the same frame, and which bits of it are wrong in each? Only frames that the record does not cut
/// take part, the first 64 of a capture, whole bytes of each.
BitsCompared compare_bits(const Diagnosis& before, const Diagnosis& after);

}  // namespace pulsewright::analyzer
