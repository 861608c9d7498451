// Do 95 % intervals hold 95 % of the time? Simulated captures with known truth, random line, scope, phase and noise.
// PULSEWRIGHT_COVERAGE_CAPTURES sets their number (default 600), PULSEWRIGHT_COVERAGE_SEED the first seed. Seeds from 1000 to
// 59999 served to find the uncertainty terms; those from 700000 on, the default, did not.

#include <boost/test/unit_test.hpp>
#include <cmath>
#include <cstdlib>
#include <iomanip>
#include <iostream>
#include <map>
#include <numbers>
#include <optional>
#include <random>
#include <sstream>
#include <string>
#include <vector>

#include "analyzer/pulse/aberration.hpp"
#include "analyzer/pulse/edge_history.hpp"
#include "analyzer/pulse/pulse.hpp"
#include "analyzer/pulse/ringing.hpp"
#include "tests/support/waveforms.hpp"

using namespace pulsewright;

namespace {

constexpr double vil_v = 1.5, vih_v = 3.5;

struct Tally {
  std::size_t captures = 0, held = 0, missing = 0;
  double u_sum = 0, error_squares = 0;
};
using Table = std::map<std::string, Tally>;

void note(Table& table, const std::string& name, const analyzer::Measured& found, double truth) {
  auto& row = table[name];
  if (!found) {
    ++row.missing;
    return;
  }
  ++row.captures;
  row.held += std::abs(*found - truth) <= 1.96 * found.u;
  row.u_sum += found.u;
  row.error_squares += std::pow(*found - truth, 2);
}

/// One simulated situation, drawn at random.
struct Draw {
  std::string kind;
  waveforms::BitTrain train;
  waveforms::StepResponse step;
  waveforms::Scope scope;
  double ring_hz = 0, decay_ratio = 0;  ///< 0: does not ring
};

Draw draw(unsigned seed) {
  std::mt19937 generator(seed);
  const auto between = [&](double a, double b) { return std::uniform_real_distribution<double>(a, b)(generator); };
  const auto normal = [&](double sigma) { return std::normal_distribution<double>(0, sigma)(generator); };
  Draw d;
  d.train = {.bits = waveforms::random_bits(72, seed + 1), .idle_s = between(3e-6, 12e-6), .high_v = between(4.6, 5.2), .jitter_s = between(0, 0.5e-9), .seed = seed};
  switch (seed % 4) {
    case 0: {
      const double ratio = between(0.22, 0.7), td_s = between(15e-9, 60e-9), gamma = (ratio - 1) / (ratio + 1);
      d.kind = "ringing line";
      d.step = waveforms::lattice({.source_ratio = ratio, .td_s = td_s, .edge_s = between(3e-9, 10e-9), .gaussian_s = between(4e-9, 8e-9)});
      d.ring_hz = 1 / (4 * td_s), d.decay_ratio = gamma * gamma;
      break;
    }
    case 1:
      d.kind = "matched line";
      d.step = waveforms::lattice({.source_ratio = 1, .td_s = between(15e-9, 60e-9), .edge_s = between(5e-9, 20e-9), .gaussian_s = between(4e-9, 12e-9)});
      break;
    case 2:
      d.kind = "slow edges";
      d.step = waveforms::single_pole(between(15e-9, 70e-9));
      break;
    default: {
      const double zeta = between(0.25, 0.7), omega = 2 * std::numbers::pi * between(5e6, 12e6);
      d.kind = "second order";
      d.step = waveforms::second_order(omega, zeta);
      if (zeta < 0.45) {
        const double root = std::sqrt(1 - zeta * zeta);
        d.ring_hz = omega * root / (2 * std::numbers::pi), d.decay_ratio = std::exp(-2 * std::numbers::pi * zeta / root);
      }
    }
  }
  const analyzer::Accuracy accuracy;
  d.scope = {.sample_interval_s = between(2.3e-9, 6e-9), .start_s = between(0, 50e-9), .noise_rms_v = between(0.008, 0.05),
             .range_low_v = -4 + between(-0.1, 0.1), .range_high_v = 9, .gain = 1 + normal(accuracy.gain_ratio_u),
             .clock_ratio = 1 + normal(accuracy.timebase_ratio_u), .seed = seed + 7};
  return d;
}

struct StepTruth {
  double t10_90_s, t20_80_s, slew_per_s, overshoot, undershoot, settling_s;
};

constexpr double state_boundary = 0.02;  // of the amplitude, either side of a state level

StepTruth truth_of(const waveforms::StepResponse& step) {
  const double from = step.begins_s, to = std::min(step.settled_s, from + 1.5e-6);
  const auto first = [&](double level) { return waveforms::first_reaches(step, level, from, to, 3000); };
  StepTruth truth{.t10_90_s = first(0.9) - first(0.1), .t20_80_s = first(0.8) - first(0.2), .slew_per_s = 0.2 / (first(0.6) - first(0.4)), .overshoot = 0, .undershoot = 0, .settling_s = 0};
  double last = from, top = 0;
  for (int i = 0; i <= 6000; ++i) {
    const double t = from + (to - from) * i / 6000, y = step.at(t);
    truth.overshoot = std::max(truth.overshoot, y - 1);
    top = std::max(top, y);  // short of the new state, from the first instant within its boundaries (IEEE Std 181, from memory)
    if (top >= 1 - state_boundary) truth.undershoot = std::max(truth.undershoot, std::min(top, 1.0) - y);
    if (std::abs(y - 1) > 0.05) last = t;
  }
  truth.settling_s = last - first(0.5);
  return truth;
}

// Crossing of a level near the driver's edge `index`, as the receiver sees the noise-free signal.
double crossing_s(const waveforms::Signal& signal, std::size_t index, double level_v) {
  const bool rising = index % 2 == 0;
  double a = signal.edges_s[index] + signal.step.begins_s - 1e-9, b = a;
  const auto beyond = [&](double t) { return rising ? signal.at(t) >= level_v : signal.at(t) <= level_v; };
  while (!beyond(b) && b < a + 400e-9) b += 0.5e-9;
  a = b - 0.5e-9;
  for (int k = 0; k < 30; ++k) (beyond((a + b) / 2) ? b : a) = (a + b) / 2;
  return b;
}

// Pre-transition aberration region (IEEE Std 181, from memory): three durations before the last instant within the state boundaries,
// at most half of the way to the transition before. What earlier transitions left there is part of the waveform: truth is the mean
// of the noise-free one before the edges of one history. None where the edge begins before the old state is reached.
std::optional<double> preshoot_of(const waveforms::Signal& signal, const std::vector<analyzer::Transition>& transitions, bool rising, double start_s, double duration_s) {
  const auto chosen = analyzer::transitions_of_one_history(transitions, rising, start_s, 48);
  const std::size_t apart = std::max<std::size_t>(1, chosen.size() / 12);
  std::vector<double> middles_s;
  double most_s = 0;  // half of the way to the transition before
  for (std::size_t i = 0; i < chosen.size(); i += apart) {
    middles_s.push_back(crossing_s(signal, chosen[i], (signal.low_v + signal.high_v) / 2));
    if (chosen[i] > 0) most_s += (middles_s.back() - crossing_s(signal, chosen[i] - 1, (signal.low_v + signal.high_v) / 2)) / 2;
  }
  most_s /= static_cast<double>(middles_s.size());
  const double old_v = rising ? signal.low_v : signal.high_v, step_v = (signal.high_v - signal.low_v) * (rising ? 1 : -1);
  const auto mean_before = [&](double before_s) {
    double sum = 0;
    for (const double middle_s : middles_s) sum += (signal.at(middle_s - before_s) - old_v) / step_v;
    return sum / static_cast<double>(middles_s.size());
  };
  const double resolution_s = duration_s / 25;
  double before_s = 0;
  while (before_s < most_s && mean_before(before_s) > state_boundary) before_s += resolution_s;
  if (before_s >= most_s) return {};
  double largest = 0, bottom = mean_before(before_s);
  for (const double end_s = std::min(most_s, before_s + 3 * duration_s); before_s <= end_s; before_s += resolution_s) {
    const double level = mean_before(before_s);
    bottom = std::min(bottom, level);
    largest = std::max({largest, -level, level - std::max(bottom, 0.0)});
  }
  return largest;
}

void widths(Table& table, const Draw& d, const waveforms::Signal& signal, const std::vector<analyzer::Transition>& transitions,
            const analyzer::WidthUncertainty& u, double gain_ratio_u) {
  if (transitions.size() != signal.edges_s.size()) return;
  const auto pulses = analyzer::pulses_of(transitions);
  struct Row {
    const char* name;
    double level_v;
    double analyzer::Pulse::*width;
    std::size_t begins;  ///< edges after the rising one
  };
  const double middle_v = (signal.low_v + signal.high_v) / 2;
  for (const auto& row : {Row{"mean width of ones at mid", middle_v, &analyzer::Pulse::high_s, 0}, Row{"mean width of ones at VIL", vil_v, &analyzer::Pulse::high_at_vil_s, 0},
                          Row{"mean width of ones at VIH", vih_v, &analyzer::Pulse::high_at_vih_s, 0}, Row{"mean low after ones at mid", middle_v, &analyzer::Pulse::low_after_s, 1},
                          Row{"mean low after ones at VIL", vil_v, &analyzer::Pulse::low_at_vil_s, 1}, Row{"mean low after ones at VIH", vih_v, &analyzer::Pulse::low_at_vih_s, 1}}) {
    double found = 0, truth = 0, count = 0, at_mid = 0;
    for (std::size_t i = 0; i < pulses.size(); ++i) {
      if (!d.train.bits[i] || std::isnan(pulses[i].*row.width)) continue;
      found += pulses[i].*row.width;
      at_mid += row.begins ? pulses[i].low_after_s : pulses[i].high_s;
      truth += crossing_s(signal, 2 * i + row.begins + 1, row.level_v) - crossing_s(signal, 2 * i + row.begins, row.level_v);
      count += 1;
    }
    if (count == 0) continue;
    const double mean = found / count;
    const double gain_s = analyzer::threshold_width_u(at_mid / count, mean, middle_v, row.level_v, gain_ratio_u);
    const double u_s = analyzer::root_sum_square(u.of_mean(static_cast<std::size_t>(count)), u.common_ratio * mean, gain_s);
    note(table, row.name, analyzer::Measured::of(mean, u_s), truth / count);
  }
}

void one_capture(Table& table, unsigned seed) {
  const auto d = draw(seed);
  const auto signal = waveforms::bit_train(d.train, d.step);
  const auto record = waveforms::sample(signal, d.scope);
  const auto view = record.view();
  const analyzer::Accuracy accuracy;
  const auto states = analyzer::measure_states(view, accuracy);
  BOOST_TEST_REQUIRE(states.two_states);
  const auto transitions = analyzer::find_transitions(view, states.levels, vil_v, vih_v, *states.noise_rms_v, states.adc_step_v.value.value_or(0));
  const analyzer::TransitionContext context{.samples = view, .states = &states, .accuracy = accuracy, .vil_v = vil_v, .vih_v = vih_v, .bandwidth_hz = {}};
  const auto rising = analyzer::summarize_transitions(context, transitions, states.levels, true);
  const auto falling = analyzer::summarize_transitions(context, transitions, states.levels, false);
  const double step_v = (d.scope.range_high_v - d.scope.range_low_v) / 256;
  const auto truth = truth_of(d.step);

  const auto each = [&](const std::string& name, const analyzer::Measured& found, double is) {
    note(table, name, found, is);
    note(table, name + " | " + d.kind, found, is);
  };
  each("noise_rms_v", states.noise_rms_v, std::hypot(d.scope.noise_rms_v, step_v / std::sqrt(12)));
  each("low_v", states.levels.low_v, signal.low_v);
  each("high_v", states.levels.high_v, signal.high_v);
  each("amplitude_v", states.levels.amplitude_v, signal.high_v - signal.low_v);
  for (const auto* side : {&rising, &falling}) {
    const std::string name = side == &rising ? "rising " : "falling ";
    each(name + "10-90", side->duration_10_90_s, truth.t10_90_s);
    each(name + "20-80", side->duration_20_80_s, truth.t20_80_s);
    each(name + "slew", side->slew_v_per_s, truth.slew_per_s * (signal.high_v - signal.low_v));
    each(name + "overshoot", side->overshoot_ratio, truth.overshoot);
    each(name + "undershoot", side->undershoot_ratio, truth.undershoot);
    each(name + "settling", side->settling_s, truth.settling_s);
    if (transitions.size() != signal.edges_s.size()) continue;
    const auto preshoot = preshoot_of(signal, transitions, side == &rising, view.start_s, truth.t10_90_s);
    if (preshoot) each(name + "preshoot", side->preshoot_ratio, *preshoot);
  }
  const auto ringing = analyzer::find_ringing({.rising = &rising.response, .falling = &falling.response, .levels = &states.levels,
                                               .noise_rms_v = *states.noise_rms_v, .adc_step_v = states.adc_step_v.value.value_or(0), .sample_interval_s = view.sample_interval_s,
                                               .rising_10_90_s = rising.duration_10_90_s.value.value_or(0), .falling_10_90_s = falling.duration_10_90_s.value.value_or(0),
                                               .accuracy = accuracy, .length_m = {}, .velocity_m_per_s = analyzer::Measured::none("not stated")});
  if (d.ring_hz > 0) {
    each("ring frequency", ringing.frequency_hz, d.ring_hz);
    each("ring decay ratio", ringing.decay_ratio, d.decay_ratio);
  } else if (d.kind != "second order") {
    auto& row = table["ring claimed where none is | " + d.kind];
    ++row.captures;
    row.held += !ringing.frequency_hz.value.has_value();
  }
  const auto u = analyzer::width_uncertainty(states, accuracy, view.sample_interval_s, rising.duration_10_90_s.value.value_or(0),
                                             falling.duration_10_90_s.value.value_or(0));
  widths(table, d, signal, transitions, u, accuracy.gain_ratio_u);
}

// The same lines with a supply and a ground that wander along each frame: `high_v` and `low_v` more at its last bit than at its first.
void drifting_capture(Table& table, unsigned seed) {
  auto d = draw(seed);
  d.train.frames = 2, d.train.latch_gap_s = 30e-6;
  const auto signal = waveforms::bit_train(d.train, d.step);
  std::mt19937 generator(seed + 11);
  const auto drift = [&](double largest_v) { return std::uniform_real_distribution<double>(-largest_v, largest_v)(generator); };
  const double high_v = drift(1), low_v = drift(0.3);
  const std::size_t edges = 2 * d.train.bits.size();
  const auto volts = [&](double t) {
    const std::size_t frame = t < signal.edges_s[edges] - d.train.latch_gap_s / 2 ? 0 : edges;
    const double first_s = signal.edges_s[frame], last_s = signal.edges_s[frame + edges - 2];
    const double along = std::clamp((t - first_s) / (last_s - first_s), 0.0, 1.0), up = (signal.at(t) - signal.low_v) / (signal.high_v - signal.low_v);
    return signal.at(t) + along * (low_v + up * (high_v - low_v));
  };
  const auto record = waveforms::sample_function(volts, signal.end_s - d.scope.start_s, d.scope);
  const auto view = record.view();
  auto states = analyzer::measure_states(view);
  BOOST_TEST_REQUIRE(states.two_states);
  const auto transitions = analyzer::find_transitions(view, states.levels, vil_v, vih_v, *states.noise_rms_v, states.adc_step_v.value.value_or(0));
  analyzer::measure_plateaus(view, transitions, states, states.levels);
  for (const auto& name : {std::string(), " | " + d.kind}) {
    note(table, "drift of the high" + name, states.levels.high_drift_v, high_v);
    note(table, "drift of the low" + name, states.levels.low_drift_v, low_v);
  }
}

std::string printed(const Table& table) {
  std::ostringstream out;
  out << std::left << std::setw(46) << "figure" << std::right << std::setw(9) << "captures" << std::setw(9) << "missing" << std::setw(10) << "held" << std::setw(12) << "mean u"
      << std::setw(12) << "rms error\n";
  for (const auto& [name, row] : table) {
    const auto n = static_cast<double>(std::max<std::size_t>(row.captures, 1));
    out << std::left << std::setw(46) << name << std::right << std::setw(9) << row.captures << std::setw(9) << row.missing << std::setw(8) << std::fixed << std::setprecision(1)
        << 100 * static_cast<double>(row.held) / n << " %" << std::scientific << std::setprecision(2) << std::setw(12) << row.u_sum / n << std::setw(11)
        << std::sqrt(row.error_squares / n) << "\n";
  }
  return out.str();
}

}  // namespace

BOOST_AUTO_TEST_SUITE(coverage)

BOOST_AUTO_TEST_CASE(ninety_five_percent_intervals_hold) {
  const char* wanted = std::getenv("PULSEWRIGHT_COVERAGE_CAPTURES");
  const unsigned captures = wanted ? static_cast<unsigned>(std::strtoul(wanted, nullptr, 10)) : 600;
  Table table;
  const char* seed = std::getenv("PULSEWRIGHT_COVERAGE_SEED");
  const unsigned first = seed ? static_cast<unsigned>(std::strtoul(seed, nullptr, 10)) : 700000;
  for (unsigned i = 0; i < captures; ++i) {
    one_capture(table, first + i);
    drifting_capture(table, first + i);
  }
  std::cout << printed(table);
  // Each figure for itself, over all kinds and for each kind. Two standard errors of the share for the number of captures stand on
  // both sides, three below where a kind has a quarter of them; a figure that always holds is proven too wide by 600 captures, not by 150.
  for (const auto& [name, row] : table) {
    if (name.starts_with("ring claimed")) {
      BOOST_TEST(row.held == row.captures, name);
      continue;
    }
    const bool of_one_kind = name.find('|') != std::string::npos;
    const double n = static_cast<double>(row.captures), share = static_cast<double>(row.held) / n;
    BOOST_TEST_REQUIRE(n > 0, name);
    BOOST_TEST(share > 0.90 - (of_one_kind ? 3 : 2) * std::sqrt(0.90 * 0.10 / n), name << " holds " << share);
    if (!of_one_kind) BOOST_TEST(share < 0.99 + 2 * std::sqrt(0.99 * 0.01 / n), name << " holds " << share);
  }
}

BOOST_AUTO_TEST_SUITE_END()
