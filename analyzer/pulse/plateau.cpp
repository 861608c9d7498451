#include "analyzer/pulse/plateau.hpp"

#include <Eigen/Core>
#include <algorithm>

namespace pulsewright::analyzer {

namespace {

constexpr std::size_t most_samples = 4096;

double mean_of(const SampleView& samples, std::size_t from, std::size_t count) {
  const Eigen::Map<const Eigen::ArrayXf> raw(samples.values.data() + from, static_cast<Eigen::Index>(count));
  return samples.scale * raw.cast<double>().mean() + samples.offset;
}

void settle(const SampleView& samples, Plateau& plateau) {
  const std::size_t length = plateau.length();
  // At the record's end the plateau is not followed by an edge.
  const std::size_t guard = plateau.last == samples.size() ? 0 : std::max<std::size_t>(1, length / 10);
  if (length < guard + 1) return;
  const std::size_t end = plateau.last - guard;
  const std::size_t want = std::clamp<std::size_t>(length / 3, 1, most_samples);
  const std::size_t begin = end - std::min(want, end - plateau.first);
  plateau.used = end - begin;
  if (plateau.used < 4) {
    plateau.value_v = mean_of(samples, begin, plateau.used);
    plateau.quarter_v.fill(plateau.value_v);
    return;
  }
  double sum = 0;
  for (std::size_t k = 0; k < 4; ++k) {
    const std::size_t from = k * plateau.used / 4, count = (k + 1) * plateau.used / 4 - from;
    plateau.quarter_v[k] = mean_of(samples, begin + from, count);
    sum += plateau.quarter_v[k] * static_cast<double>(count);
  }
  plateau.value_v = sum / static_cast<double>(plateau.used);
}

}  // namespace

std::vector<Plateau> plateaus_of(const SampleView& samples, const std::vector<Passage>& passages) {
  std::vector<Plateau> plateaus;
  if (passages.empty()) return plateaus;
  plateaus.resize(passages.size() + 1);
  in_parts(plateaus.size(), 1024, [&](std::size_t begin, std::size_t end, std::size_t) {
    for (std::size_t i = begin; i < end; ++i) {
      const bool first = i == 0, last = i == passages.size();
      Plateau& plateau = plateaus[i];
      plateau.first = first ? 0 : passages[i - 1].first_in;
      plateau.last = last ? samples.size() : passages[i].last_out + 1;
      plateau.high = (first ? !passages[0].up : passages[i - 1].up) == (samples.scale > 0);
      plateau.whole = !first && !last;
      if (plateau.last > plateau.first) settle(samples, plateau);
    }
  });
  return plateaus;
}

}  // namespace pulsewright::analyzer
