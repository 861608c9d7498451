#include "analyzer/line/member_line.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace pulsewright::analyzer {

namespace {

struct PatternWaveform {
  std::vector<double> v;
  double step_s = 0, arrival_s = 0;
  BitPattern pattern;  // edges moved onto the grid
};

// Bits are judged on steps of about a nanosecond: crossings are interpolated.
std::size_t stride_for(double step_s) {
  std::size_t stride = 1;
  while (2 * static_cast<double>(stride) * step_s < 1.1e-9) stride *= 2;
  return stride;
}

// Points of a step before it stays within a fraction of a per mille of where it ends.
std::size_t settled_after(const StepResponseGrid& step) {
  std::size_t points = step.v.size();
  while (points > 0 && std::abs(step.v[points - 1] - step.final_v) < 2e-4) --points;
  return points;
}

// Adds every edge at its nearest grid point.
PatternWaveform lay(const StepResponseGrid& rising, const StepResponseGrid& falling, const BitPattern& pattern, double low_v, double high_v) {
  PatternWaveform made{.v = {}, .step_s = rising.step_s, .arrival_s = 0, .pattern = pattern};
  const double onset_s = std::max(rising.first_crossing_s(0.02), 0.0);
  made.arrival_s = std::isfinite(onset_s) ? onset_s : 0;
  const auto lead = static_cast<std::size_t>(std::lround(-rising.first_s / rising.step_s));
  const std::array<std::size_t, 2> lengths{settled_after(falling) - lead, settled_after(rising) - lead};
  const auto count = static_cast<std::size_t>((pattern.end_s + made.arrival_s) / made.step_s) + 2;
  made.v.assign(count, 0);
  std::vector<Settled> settled{{0, low_v}};
  for (auto& edge : made.pattern.edges) {
    const auto start = static_cast<std::size_t>(std::lround(edge.time_s / made.step_s));
    edge.time_s = static_cast<double>(start) * made.step_s;
    const auto& step = edge.rising ? rising : falling;
    const double swing = edge.rising ? high_v - low_v : low_v - high_v;
    const std::size_t to = std::min(count, start + lengths[edge.rising ? 1 : 0]);
    for (std::size_t i = start; i < to; ++i) made.v[i] += swing * step.v[i - start + lead];
    settled.push_back({to, swing * step.final_v});
  }
  add_settled(std::move(settled), made.v);
  made.pattern.end_s = std::round(pattern.end_s / made.step_s) * made.step_s;
  return made;
}

void measure_shape(Behind& made) {
  const auto& step = made.service;
  const auto peak = std::max_element(step.v.begin(), step.v.end());
  made.overshoot = std::max(0.0, *peak - step.final_v);
  const double t90 = step.first_crossing_s(0.9 * step.final_v);
  made.duration_s = t90 - step.first_crossing_s(0.1 * step.final_v);
  const auto from = made.overshoot > 0.005 ? peak : step.v.end();
  made.undershoot = from == step.v.end() ? 0 : std::max(0.0, step.final_v - *std::min_element(from, step.v.end()));
}

// The 50 % instant would not do to compare members: where it falls on a step of a staircase, a little more or less resistance
// moves it by a whole step.
double arrival_s(const StepResponseGrid& step, double source_ohm, double z0_ohm) {
  const double found = step.first_crossing_s(std::min(0.5, z0_ohm / (source_ohm + z0_ohm)) * step.final_v);
  return std::isfinite(found) ? found : 0;
}

LineParameters with_probe(const LineBelief::Member& member, double probe_f) {
  auto line = member.line;
  line.far_f += probe_f, line.bandwidth_hz = member.bandwidth_hz;
  return line;
}

LineParameters without_instrument(LineParameters line) {
  line.bandwidth_hz = 0;
  return line;
}

}  // namespace

MemberLine::Solved::Solved(const MemberLine& member, double reach_ohm)
    : grid(LineGrid::fit_for(member.probed_, reach_ohm)), waves(member.probed_, grid), service(member.m_.line, LineEnd::far, grid, waves),
      probed(member.probed_, LineEnd::far, grid, waves) {
  if (member.m_.clamp) bare.emplace(without_instrument(member.probed_), LineEnd::far, grid, waves);
}

MemberLine::MemberLine(const LineBelief::Member& member, double probe_f)
    : m_(member), probed_(with_probe(member, probe_f)), split_ohm_(2.5 * member.line.z0_ohm) {}

const MemberLine::Solved& MemberLine::solved(double series_ohm) {
  const bool slow = std::max(m_.rising_ohm, m_.falling_ohm) + series_ohm > split_ohm_;
  auto& place = slow ? slow_ : fast_;
  if (!place) place.emplace(*this, slow ? std::max(1100.0, 1000 + std::max(m_.rising_ohm, m_.falling_ohm)) : split_ohm_);
  return *place;
}

Behind MemberLine::behind(double series_ohm, const BitPattern& pattern, const Receiver& receiver) {
  const auto& on = solved(series_ohm);
  const double source_ohm = m_.rising_ohm + series_ohm;
  auto rising = on.service.step_response(source_ohm);
  const auto falling = on.service.step_response(m_.falling_ohm + series_ohm);
  const std::size_t stride = stride_for(on.grid.step_s());
  auto bits = lay(rising.thinned(stride), falling.thinned(stride), pattern, m_.low_v, m_.high_v);
  const auto added_v = added_by_clamps(bits.v, bits.step_s, m_.line, series_ohm);
  for (std::size_t i = 0; i < added_v.size(); ++i) bits.v[i] += added_v[i];
  Behind made;
  made.margins = judge_waveform(bits.v, 0, bits.step_s, bits.pattern, bits.arrival_s, m_.low_v, m_.high_v, receiver);
  const auto far_step = on.bare ? on.bare->step_response(source_ohm).v : std::vector<double>();
  made.probed = clamped(on.probed.step_response(source_ohm), far_step, probed_, series_ohm);
  made.service = clamped(rising, rising.v, m_.line, series_ohm);
  measure_shape(made);
  made.service_arrival_s = arrival_s(made.service, source_ohm, m_.line.z0_ohm);
  made.probed_arrival_s = arrival_s(made.probed, source_ohm, m_.line.z0_ohm);
  return made;
}

// To a node whose far end would be at `far_v` without clamps. Empty where they never conduct.
std::vector<double> MemberLine::added_by_clamps(const std::vector<double>& far_v, double step_s, const LineParameters& line, double series_ohm) const {
  if (!m_.clamp || std::none_of(far_v.begin(), far_v.end(), [&](double v) { return m_.clamp->conduct_at(v); })) return {};
  return ClampEffect(line, LineEnd::far, (m_.rising_ohm + m_.falling_ohm) / 2 + series_ohm, step_s).on(far_v, *m_.clamp);
}

// `far_step`: that of the far node itself, without instrument.
StepResponseGrid MemberLine::clamped(StepResponseGrid shown, const std::vector<double>& far_step, const LineParameters& line, double series_ohm) const {
  if (!m_.clamp) return shown;
  const double swing_v = m_.high_v - m_.low_v;
  std::vector<double> far_v;
  for (const double v : far_step) far_v.push_back(m_.low_v + swing_v * v);
  const auto added_v = added_by_clamps(far_v, shown.step_s, line, series_ohm);
  for (std::size_t i = 0; i < added_v.size(); ++i) shown.v[i] += added_v[i] / swing_v;
  return shown;
}

}  // namespace pulsewright::analyzer
