#include "analyzer/pulse/sample_scan.hpp"

#include <Eigen/Core>
#include <algorithm>
#include <array>
#include <cstdint>

#include "importers/parallel.hpp"

namespace pulsewright::analyzer {

namespace {

constexpr std::size_t stride = 32;  // compared without a branch, so that the compiler uses vector instructions
constexpr std::size_t least_samples_a_thread = 1u << 19;

// First of the values [from, to) that `hit` takes, or `to`.
template <class Hit>
std::size_t first_of_all(const float* v, std::size_t from, std::size_t to, Hit hit) {
  while (from + stride <= to) {
    int any = 0;
    for (std::size_t j = 0; j < stride; ++j) any |= hit(v[from + j]) ? 1 : 0;
    if (any) break;
    from += stride;
  }
  while (from < to && !hit(v[from])) ++from;
  return from;
}

// The same; only in blocks whose extremes say that they may hold such a value.
template <class Hit, class MayHold>
std::size_t first_where(const BlockedValues& values, std::size_t from, std::size_t to, Hit hit, MayHold may_hold) {
  while (from < to) {
    const std::size_t end = values.block_end(from, to);
    if (values.blocks.empty() || may_hold(values.blocks[values.block_of(from)])) {
      const std::size_t found = first_of_all(values.values.data(), from, end, hit);
      if (found < end) return found;
    }
    from = end;
  }
  return to;
}

Extremes both(const Extremes& a, const Extremes& b) { return {std::min(a.low, b.low), std::max(a.high, b.high)}; }

// Of sixteen values at a time.
Extremes extremes_of_part(const float* v, std::size_t count) {
  constexpr std::size_t lanes = 16;
  using Lanes = Eigen::Array<float, lanes, 1>;
  const auto at = [&](std::size_t i) { return Eigen::Map<const Lanes>(v + i); };
  Extremes found{v[0], v[0]};
  std::size_t i = 0;
  if (count >= lanes) {
    Lanes low = at(0), high = low;
    for (i = lanes; i + lanes <= count; i += lanes) low = low.min(at(i)), high = high.max(at(i));
    found = {low.minCoeff(), high.maxCoeff()};
  }
  for (; i < count; ++i) found = both(found, {v[i], v[i]});
  return found;
}

void count_part(const float* v, std::size_t count, double first, double width, std::vector<std::size_t>& counts) {
  // Four tables, so that equal neighbours (idle line) do not wait for each other's count.
  const std::size_t bins = counts.size();
  std::vector<std::uint32_t> tables(4 * bins, 0);
  const auto offset = static_cast<float>(first);
  const auto scale = static_cast<float>(1 / width);
  const auto top = static_cast<float>(bins - 1);
  const auto bin_of = [&](float x) {
    const float place = (x - offset) * scale;
    return static_cast<std::size_t>(static_cast<int>(place < 0 ? 0 : place > top ? top : place));
  };
  std::size_t i = 0;
  for (; i + 4 <= count; i += 4)
    for (std::size_t j = 0; j < 4; ++j) ++tables[j * bins + bin_of(v[i + j])];
  for (; i < count; ++i) ++tables[bin_of(v[i])];
  for (std::size_t b = 0; b < bins; ++b)
    for (std::size_t j = 0; j < 4; ++j) counts[b] += tables[j * bins + b];
}

// State at `index`, looked for backwards: +1 high, -1 low, 0 where the record begins inside the band.
int state_before(std::span<const float> values, std::size_t index, float low, float high) {
  while (index > 0) {
    --index;
    if (values[index] > high) return 1;
    if (values[index] < low) return -1;
  }
  return 0;
}

std::size_t last_outside(std::span<const float> values, std::size_t first_in, bool up, float low, float high) {
  std::size_t i = first_in;
  while (i > 0) {
    --i;
    if (up ? values[i] < low : values[i] > high) return i;
  }
  return i;
}

void passages_of_part(const BlockedValues& blocked, std::size_t first, std::size_t last, float low, float high,
                      std::vector<Passage>& found) {
  const auto values = blocked.values;
  int state = state_before(values, first, low, high);
  std::size_t i = first;
  if (state == 0) {
    while (i < last && values[i] <= high && values[i] >= low) ++i;
    if (i == last) return;
    state = values[i] > high ? 1 : -1;
  }
  while (i < last) {
    i = state < 0 ? first_above(blocked, i, last, high) : first_below(blocked, i, last, low);
    if (i == last) break;
    const bool up = state < 0;
    found.push_back({last_outside(values, i, up, low, high), i, up});
    state = -state;
  }
}

}  // namespace

std::size_t in_parts(std::size_t size, std::size_t least_a_part,
                     const std::function<void(std::size_t, std::size_t, std::size_t)>& work) {
  if (size < 2 * least_a_part || importers::thread_count() < 2) {
    work(0, size, 0);
    return 1;
  }
  const std::size_t half = size / 2;
  importers::for_each_index(2, 2, [&](std::size_t part) { work(part * half, part == 0 ? half : size, part); });
  return 2;
}

Extremes extremes_of(const BlockedValues& blocked) {
  const auto values = blocked.values;
  if (!blocked.blocks.empty()) return extremes_of(blocked, 0, values.size());
  std::array<Extremes, 2> part;
  const auto parts = in_parts(values.size(), least_samples_a_thread, [&](std::size_t a, std::size_t b, std::size_t p) {
    part[p] = extremes_of_part(values.data() + a, b - a);
  });
  if (parts == 1) return part[0];
  return both(part[0], part[1]);
}

Extremes extremes_of(const BlockedValues& values, std::size_t from, std::size_t to) {
  Extremes found{values.values[from], values.values[from]};
  while (from < to) {
    const std::size_t end = values.block_end(from, to);
    const bool whole = !values.blocks.empty() && end - from == BlockedValues::in_block;
    found = both(found, whole ? values.blocks[values.block_of(from)] : extremes_of_part(values.values.data() + from, end - from));
    from = end;
  }
  return found;
}

std::vector<Extremes> block_extremes(std::span<const float> values) {
  constexpr std::size_t n = BlockedValues::in_block;
  std::vector<Extremes> blocks((values.size() + n - 1) / n);
  in_parts(blocks.size(), least_samples_a_thread / n, [&](std::size_t first, std::size_t last, std::size_t) {
    for (std::size_t b = first; b < last; ++b) {
      const bool whole = (b + 1) * n <= values.size();
      blocks[b] = whole ? extremes_of_part(values.data() + b * n, n) : extremes_of_part(values.data() + b * n, values.size() - b * n);
    }
  });
  return blocks;
}

std::size_t first_above(const BlockedValues& values, std::size_t from, std::size_t to, float limit) {
  return first_where(values, from, to, [=](float v) { return v > limit; }, [=](const Extremes& block) { return block.high > limit; });
}

std::size_t first_below(const BlockedValues& values, std::size_t from, std::size_t to, float limit) {
  return first_where(values, from, to, [=](float v) { return v < limit; }, [=](const Extremes& block) { return block.low < limit; });
}

std::size_t count_in_runs(const BlockedValues& blocked, float level, float within, std::size_t least_run) {
  const float low = level - within, high = level + within;
  const auto on_level = [=](float v) { return static_cast<bool>(static_cast<int>(v >= low) & static_cast<int>(v <= high)); };
  const auto may_hold = [=](const Extremes& block) { return block.high >= low && block.low <= high; };
  const auto values = blocked.values;
  std::size_t total = 0;
  for (std::size_t i = first_where(blocked, 0, values.size(), on_level, may_hold); i < values.size();) {
    std::size_t end = i;
    while (end < values.size() && on_level(values[end])) ++end;
    if (end - i >= least_run) total += end - i;
    i = first_where(blocked, end, values.size(), on_level, may_hold);
  }
  return total;
}

ValueHistogram histogram_of(std::span<const float> values, double first, double width, std::size_t bins) {
  std::array<std::vector<std::size_t>, 2> part;
  for (auto& counts : part) counts.assign(bins, 0);
  in_parts(values.size(), least_samples_a_thread, [&](std::size_t a, std::size_t b, std::size_t p) {
    constexpr std::size_t stretch = 1u << 30;  // the tables count in 32 bits
    for (; a < b; a += std::min(stretch, b - a))
      count_part(values.data() + a, std::min(stretch, b - a), first, width, part[p]);
  });
  for (std::size_t b = 0; b < bins; ++b) part[0][b] += part[1][b];
  return {.first = first, .width = width, .counts = std::move(part[0])};
}

std::vector<Passage> passages_of(const BlockedValues& values, float low, float high) {
  std::array<std::vector<Passage>, 2> part;
  in_parts(values.size(), least_samples_a_thread, [&](std::size_t a, std::size_t b, std::size_t p) {
    passages_of_part(values, a, b, low, high, part[p]);
  });
  part[0].insert(part[0].end(), part[1].begin(), part[1].end());
  return std::move(part[0]);
}

}  // namespace pulsewright::analyzer
