// Each kind of trap over random parameters: the right cause or "cannot tell", never a confident wrong answer.
// PULSEWRIGHT_TRAP_CAPTURES sets the captures of each kind (default 2, the full study 50), PULSEWRIGHT_TRAP_SEED the first
// seed, PULSEWRIGHT_TRAP_KIND one kind alone, with every answer that is not right.

#include <boost/test/unit_test.hpp>
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <functional>
#include <iomanip>
#include <iostream>
#include <numbers>
#include <random>
#include <sstream>
#include <string>
#include <utility>
#include <vector>

#include "analyzer/diagnose.hpp"
#include "tests/support/told.hpp"
#include "tests/support/waveforms.hpp"

using namespace pulsewright;
using namespace pulsewright::analyzer;

namespace {

constexpr double kConfident = 0.5;

class Dice {
 public:
  explicit Dice(unsigned seed) : generator_(seed) {}
  double between(double a, double b) { return std::uniform_real_distribution<double>(a, b)(generator_); }
  template <class T>
  T one_of(const std::vector<T>& all) {
    return all[generator_() % all.size()];
  }
  unsigned seed() { return static_cast<unsigned>(generator_()); }

 private:
  std::mt19937 generator_;
};

struct Taken {
  importers::Capture capture;
  Settings settings = {};
};

// 350/900 and 800/450 ns lie inside the windows that the editions of the WS2812B sheet (PDF of 2013-05-30 and later) leave together.
waveforms::BitTrain sound_bits(Dice& dice) {
  return {.bits = waveforms::random_bits(72, dice.seed()),
          .t0h_s = 350e-9, .t0l_s = 900e-9, .t1h_s = 800e-9, .t1l_s = 450e-9,
          .idle_s = 320e-6, .frames = 3, .latch_gap_s = 320e-6, .high_v = dice.between(4.7, 5.1),
          .jitter_s = dice.between(0, 1e-9), .seed = dice.seed()};
}

waveforms::Scope usual_scope(Dice& dice) {
  return {.sample_interval_s = dice.between(4e-9, 10e-9), .start_s = dice.between(0, 5e-6), .noise_rms_v = dice.between(0.01, 0.04),
          .range_low_v = -6, .range_high_v = 12, .seed = dice.seed()};
}

waveforms::StepResponse line_of(Dice& dice, double source_ratio, double longest_s = 100e-9) {
  return waveforms::lattice({.source_ratio = source_ratio, .td_s = dice.between(15e-9, longest_s), .edge_s = dice.between(4e-9, 12e-9),
                             .gaussian_s = dice.between(2e-9, 5e-9)});
}

waveforms::StepResponse matched(Dice& dice) { return line_of(dice, dice.between(0.92, 1.08)); }

importers::Capture taken(const waveforms::BitTrain& bits, const waveforms::StepResponse& step, const waveforms::Scope& scope) {
  return waveforms::sample(waveforms::bit_train(bits, step), scope).capture();
}

// What the scope sees once `change` has been done to the voltage at each instant.
importers::Capture changed(Dice& dice, const std::function<double(double t_s, double volts)>& change) {
  const auto signal = waveforms::bit_train(sound_bits(dice), matched(dice));
  return waveforms::sample_function([&](double t) { return change(t, signal.at(t)); }, signal.end_s, usual_scope(dice)).capture();
}

// Voltage at the controller's end, behind the resistor: Z0 / (R + Z0) at once, the n-th echo adds
// Z0 / (R + Z0) (1 + gamma) gamma^(n-1) at 2 n Td (wave sum of the open line).
waveforms::StepResponse near_end(double ratio, double td_s) {
  const double gamma = (ratio - 1) / (ratio + 1), launched = 1 / (1 + ratio);
  const auto edge = waveforms::lattice({.source_ratio = 1, .td_s = 20e-9, .edge_s = 6e-9, .gaussian_s = 3e-9});
  return {[=](double t) {
            double sum = launched * edge.at(t), height = launched * (1 + gamma);
            for (int n = 1; n < 60; ++n, height *= gamma) sum += height * edge.at(t - 2 * n * td_s);
            return sum;
          },
          edge.begins_s, 120 * td_s};
}

// A logic recorder with one threshold on that waveform.
importers::Capture logic_of(const waveforms::Signal& signal, double threshold_v, double interval_s) {
  std::vector<importers::LogicChange> changes{{0, false}};
  for (double t = 0; t < signal.end_s; t += interval_s) {
    const bool high = signal.at(t) > threshold_v;
    if (high != changes.back().high) changes.push_back({t, high});
  }
  return waveforms::logic_capture(std::move(changes), interval_s, signal.end_s);
}

struct Kind {
  const char* name;
  std::vector<std::string> causes;   // any of these is right
  std::vector<Outcome> outcomes;     // with one of these
  std::function<Taken(Dice&)> make;
  bool all_named = false;            // all causes must stand in the verdict, whichever is first
};

const std::vector<Kind>& kinds() {
  using enum Outcome;
  static const std::vector<Kind> all = {
      {"sound line", {"none"}, {pass, cannot_tell},
       [](Dice& dice) { return Taken{taken(sound_bits(dice), line_of(dice, dice.between(0.9, 1.15)), usual_scope(dice))}; }},
      {"undersampled", {"undersampled"}, {cannot_tell},
       [](Dice& dice) {
         auto scope = usual_scope(dice);
         scope.sample_interval_s = 1 / dice.between(2e6, 10e6);
         return Taken{taken(sound_bits(dice), matched(dice), scope)};
       }},
      {"clipped", {"clipped-capture"}, {cannot_tell},
       [](Dice& dice) {
         auto scope = usual_scope(dice);
         (dice.between(0, 1) < 0.5 ? scope.range_high_v : scope.range_low_v) = dice.between(0, 1);
         if (scope.range_high_v < 2) scope.range_high_v = dice.between(3, 4.5), scope.range_low_v = -1;
         else scope.range_low_v = dice.between(0.3, 1.2), scope.range_high_v = 7;
         return Taken{taken(sound_bits(dice), matched(dice), scope)};
       }},
      {"inverted", {"inverted-capture"}, {cannot_tell},
       [](Dice& dice) {
         auto scope = usual_scope(dice);
         scope.gain = -1, scope.offset_v = dice.one_of<double>({0, 5});
         return Taken{taken(sound_bits(dice), matched(dice), scope)};
       }},
      {"flat line", {"flat-line"}, {cannot_tell},
       [](Dice& dice) {
         const double level_v = dice.between(-0.05, 0.4), hum_v = dice.between(0, 0.03);
         return Taken{changed(dice, [=](double t, double) { return level_v + hum_v * std::sin(2 * std::numbers::pi * 50 * t); })};
       }},
      {"power rail", {"power-rail"}, {cannot_tell},
       [](Dice& dice) {
         const double rail_v = dice.one_of<double>({3.3, 5, 12, 24}) * dice.between(0.95, 1.04);
         const double ripple = dice.between(0.003, 0.03), spike = dice.between(0, 0.05), rate_hz = dice.between(50e3, 600e3);
         auto scope = usual_scope(dice);
         scope.range_low_v = -5, scope.range_high_v = 30;
         return Taken{waveforms::sample_function([=](double t) {
                        const double phase = std::fmod(t * rate_hz, 1.0);
                        return rail_v * (1 + ripple * (phase - 0.5) + spike * std::exp(-phase * 60) * std::cos(phase * 500));
                      }, 500e-6, scope).capture()};
       }},
      {"factor 10 wrong", {"probe-factor"}, {cannot_tell},
       [](Dice& dice) {
         auto scope = usual_scope(dice);
         const double factor = dice.one_of<double>({0.1, 10});
         scope.gain = factor, scope.noise_rms_v *= factor, scope.range_low_v *= factor, scope.range_high_v *= factor;
         auto bits = sound_bits(dice);
         bits.high_v = dice.one_of<double>({3.3, 5});
         return Taken{taken(bits, matched(dice), scope)};
       }},
      {"bit dropped", {"bits-lost"}, {fail},
       [](Dice& dice) {
         auto signal = waveforms::bit_train(sound_bits(dice), matched(dice));
         const auto at = 2 * (72 + static_cast<std::ptrdiff_t>(dice.between(1, 70)));
         signal.edges_s.erase(signal.edges_s.begin() + at, signal.edges_s.begin() + at + 2);
         return Taken{waveforms::sample(signal, usual_scope(dice)).capture()};
       }},
      {"gap too short", {"latch-gap-short"}, {fail},
       [](Dice& dice) {
         auto bits = sound_bits(dice);
         bits.latch_gap_s = dice.between(8e-6, 240e-6);
         return Taken{taken(bits, matched(dice), usual_scope(dice)), {.protocol = "ws2812b-800k-later"}};
       }},
      {"3.3 V into 5 V pixels", {"low-drive-level"}, {fail, marginal},
       [](Dice& dice) {
         auto bits = sound_bits(dice);
         bits.high_v = dice.between(2.9, 3.35);
         return Taken{taken(bits, matched(dice), usual_scope(dice))};
       }},
      {"probe rings", {"probe-artefact"}, {cannot_tell, marginal},
       [](Dice& dice) {
         auto scope = usual_scope(dice);
         scope.sample_interval_s = dice.between(0.8e-9, 1.6e-9);
         auto bits = sound_bits(dice);
         bits.idle_s = 20e-6, bits.frames = 1, bits.bits.resize(48);
         return Taken{taken(bits, waveforms::second_order(2 * std::numbers::pi * dice.between(95e6, 160e6), dice.between(0.06, 0.22)), scope)};
       }},
      {"probe rings beside the line", {"underdamped-source", "probe-artefact"}, {fail, marginal, cannot_tell},
       [](Dice& dice) {
         auto scope = usual_scope(dice);
         scope.sample_interval_s = dice.between(0.8e-9, 1.6e-9), scope.range_low_v = -9, scope.range_high_v = 14;
         auto bits = sound_bits(dice);
         bits.idle_s = 20e-6, bits.frames = 1, bits.bits.resize(48);
         const auto probe = waveforms::second_order(2 * std::numbers::pi * dice.between(95e6, 160e6), dice.between(0.1, 0.25));
         return Taken{taken(bits, waveforms::seen_through(probe, dice.between(0.3, 0.6), dice.between(30e-9, 80e-9)), scope)};
       }, true},
      {"noise", {"crosstalk-or-noise"}, {fail, marginal},
       [](Dice& dice) {
         auto scope = usual_scope(dice);
         scope.noise_rms_v = dice.between(0.4, 0.7);
         return Taken{taken(sound_bits(dice), matched(dice), scope)};
       }},
      {"AC-coupled", {"ac-coupled"}, {cannot_tell},
       [](Dice& dice) {
         const auto bits = sound_bits(dice);
         const auto signal = waveforms::bit_train(bits, matched(dice));
         double mean_v = 0;
         for (int i = 0; i < 20000; ++i) mean_v += signal.at(signal.end_s * i / 20000) / 20000;
         auto scope = usual_scope(dice);
         scope.offset_v = -mean_v;
         return Taken{waveforms::sample(signal, scope).capture()};
       }},
      {"mains hum", {"crosstalk-or-noise", "ground-offset"}, {fail, marginal},
       [](Dice& dice) {
         const double hum_v = dice.between(0.6, 1.6), rate_hz = dice.one_of<double>({50, 60});
         const double phase = dice.one_of<double>({0, std::numbers::pi}) + dice.between(0.6, 2.2);  // about a crest: elsewhere there is little to see
         return Taken{changed(dice, [=](double t, double v) { return v + hum_v * std::sin(2 * std::numbers::pi * rate_hz * t + phase); })};
       }},
      {"ground bounce", {"crosstalk-or-noise", "ground-offset"}, {fail, marginal},
       [](Dice& dice) {
         const double bounce_v = dice.between(1.2, 2.2), rate_hz = dice.between(1e3, 40e3), share = dice.between(0.2, 0.7);
         return Taken{changed(dice, [=](double t, double v) {
           const double phase = std::fmod(t * rate_hz, 1.0);
           return v + (phase < share ? bounce_v * std::min(1.0, phase / rate_hz / 100e-9) : 0);
         })};
       }},
      {"lifted ground", {"ground-offset"}, {fail, marginal},
       [](Dice& dice) {
         auto bits = sound_bits(dice);
         bits.low_v = dice.between(1.55, 2.1), bits.high_v = bits.low_v + dice.between(3.2, 4.9);
         return Taken{taken(bits, matched(dice), usual_scope(dice))};
       }},
      {"supply sags", {"supply-sag"}, {fail, marginal},
       [](Dice& dice) {
         const auto bits = sound_bits(dice);
         const auto signal = waveforms::bit_train(bits, matched(dice));
         const double sag = dice.between(0.3, 0.4), frame_s = 72 * 1.25e-6, repeat_s = frame_s + bits.latch_gap_s;
         const auto volts = [&](double t) {
           const double into_s = std::fmod(std::max(0.0, t - bits.idle_s), repeat_s);
           return signal.at(t) * (1 - sag * std::min(1.0, into_s / frame_s));
         };
         return Taken{waveforms::sample_function(volts, signal.end_s, usual_scope(dice)).capture()};
       }},
      {"ringing line", {"underdamped-source"}, {fail},
       [](Dice& dice) { return Taken{taken(sound_bits(dice), line_of(dice, dice.between(0.12, 0.5), 120e-9), usual_scope(dice))}; }},
      {"violently ringing line", {"underdamped-source"}, {fail},
       [](Dice& dice) {
         const auto stated = dice.one_of<std::string>({"", "WS2812B"});
         auto scope = usual_scope(dice);
         scope.range_low_v = -12, scope.range_high_v = 18;
         return Taken{taken(sound_bits(dice), line_of(dice, dice.between(0.02, 0.12), 150e-9), scope),
                      {.protocol = stated.empty() ? std::nullopt : std::optional(stated)}};
       }},
      {"slow line", {"overdamped-source"}, {fail, marginal},
       [](Dice& dice) {
         const auto step = waveforms::lattice({.source_ratio = dice.between(2.8, 5), .td_s = dice.between(60e-9, 130e-9), .edge_s = 8e-9, .gaussian_s = 3e-9});
         return Taken{taken(sound_bits(dice), step, usual_scope(dice))};
       }},
      {"very slow line", {"overdamped-source"}, {fail, marginal},
       [](Dice& dice) {
         const auto step = waveforms::lattice({.source_ratio = dice.between(5, 10), .td_s = dice.between(60e-9, 150e-9), .edge_s = 8e-9, .gaussian_s = 3e-9});
         const auto stated = dice.one_of<std::string>({"", "WS2812B"});
         return Taken{taken(sound_bits(dice), step, usual_scope(dice)), {.protocol = stated.empty() ? std::nullopt : std::optional(stated)}};
       }},
      {"other bit times", {"source-timing"}, {fail},
       [](Dice& dice) {
         auto bits = sound_bits(dice);
         bits.t0h_s = dice.between(580e-9, 640e-9), bits.t0l_s = 1250e-9 - bits.t0h_s;
         bits.t1h_s = dice.between(850e-9, 950e-9), bits.t1l_s = 1250e-9 - bits.t1h_s;
         return Taken{taken(bits, matched(dice), usual_scope(dice)), {.protocol = "WS2812B"}};
       }},
      {"other protocol", {"wrong-protocol"}, {fail},
       [](Dice& dice) {
         auto bits = sound_bits(dice);
         bits.t0h_s = 500e-9, bits.t0l_s = 2000e-9, bits.t1h_s = 1200e-9, bits.t1l_s = 1300e-9;
         return Taken{taken(bits, matched(dice), usual_scope(dice)), {.protocol = "WS2812B"}};
       }},
      {"pulses at random", {"wrong-protocol"}, {cannot_tell},
       [](Dice& dice) {
         waveforms::Signal signal{.step = matched(dice), .edges_s = {}, .low_v = 0, .high_v = 5, .end_s = 0};
         double t = 50e-6;
         for (int i = 0; i < 300; ++i, t += dice.between(150e-9, 6e-6)) signal.edges_s.push_back(t);
         signal.end_s = t + 50e-6;
         return Taken{waveforms::sample(signal, usual_scope(dice)).capture()};
       }},
      {"logic probe on a garbled line", {"none"}, {cannot_tell},
       [](Dice& dice) {
         const double ratio = dice.between(0, 1) < 0.5 ? dice.between(0.03, 0.2) : dice.between(4, 10);
         const auto signal = waveforms::bit_train(sound_bits(dice), line_of(dice, ratio, 150e-9));
         return Taken{logic_of(signal, dice.between(1.2, 2), dice.one_of<double>({10e-9, 41.7e-9})), {.protocol = "WS2812B"}};
       }},
      {"logic probe behind a resistor", {"none"}, {cannot_tell},
       [](Dice& dice) {
         const double series_ohm = dice.between(15, 330), z0_ohm = dice.between(75, 110), td_s = dice.between(30e-9, 130e-9);
         const auto signal = waveforms::bit_train(sound_bits(dice), near_end((series_ohm + dice.between(15, 35)) / z0_ohm, td_s));
         Settings settings{.protocol = "WS2812B"};
         if (dice.between(0, 1) < 0.5) settings.series_ohm = series_ohm;
         if (dice.between(0, 1) < 0.5) settings.at = ProbePosition::near;
         return Taken{logic_of(signal, dice.between(1.2, 2), dice.one_of<double>({10e-9, 41.7e-9})), settings};
       }},
      {"logic probe at the far end", {"none"}, {cannot_tell},
       [](Dice& dice) {
         const auto step = waveforms::lattice({.source_ratio = dice.between(0.8, 4), .td_s = dice.between(30e-9, 130e-9), .edge_s = 8e-9, .gaussian_s = 3e-9});
         const auto signal = waveforms::bit_train(sound_bits(dice), step);
         Settings settings{.protocol = "WS2812B"};
         if (dice.between(0, 1) < 0.5) settings.at = ProbePosition::far;
         return Taken{logic_of(signal, dice.between(1.2, 2), dice.one_of<double>({10e-9, 41.7e-9})), settings};
       }},
  };
  return all;
}

enum class Answer { right, cannot_tell, unsure, wrong };

Answer answer_of(const Kind& kind, const Diagnosis& d) {
  const auto& top = d.verdict.causes.front();
  const auto any = [](const auto& all, const auto& one) { return std::find(all.begin(), all.end(), one) != all.end(); };
  const auto named = [&](const std::string& id) { return std::any_of(d.verdict.causes.begin(), d.verdict.causes.end(), [&](const Cause& cause) { return cause.id == id; }); };
  const bool complete = !kind.all_named || std::all_of(kind.causes.begin(), kind.causes.end(), named);
  if (any(kind.causes, top.id) && any(kind.outcomes, d.verdict.result)) return complete ? Answer::right : Answer::unsure;
  const bool confident = top.id != "none" && top.confidence >= kConfident;
  if (d.verdict.result == Outcome::cannot_tell && !confident) return Answer::cannot_tell;
  return confident || d.verdict.result == Outcome::pass || top.id == "none" ? Answer::wrong : Answer::unsure;
}

unsigned from_environment(const char* name, unsigned otherwise) {
  const char* text = std::getenv(name);
  return text ? static_cast<unsigned>(std::strtoul(text, nullptr, 10)) : otherwise;
}

}  // namespace

BOOST_AUTO_TEST_SUITE(trap_sweep)

BOOST_AUTO_TEST_CASE(no_trap_gets_a_confident_wrong_answer) {
  const unsigned captures = from_environment("PULSEWRIGHT_TRAP_CAPTURES", 2), first = from_environment("PULSEWRIGHT_TRAP_SEED", 1);
  const char* alone = std::getenv("PULSEWRIGHT_TRAP_KIND");
  std::ostringstream table;
  table << std::left << std::setw(32) << "kind" << std::right << std::setw(7) << "right" << std::setw(14) << "cannot tell" << std::setw(9)
        << "unsure" << std::setw(8) << "wrong" << "\n";
  for (const auto& kind : kinds()) {
    if (alone && kind.name != std::string(alone)) continue;
    std::array<unsigned, 4> tally{};
    for (unsigned i = 0; i < captures; ++i) {
      Dice dice(first + i);
      const auto [capture, settings] = kind.make(dice);
      const auto diagnosis = diagnose(capture, settings);
      const auto answer = answer_of(kind, diagnosis);
      ++tally[static_cast<std::size_t>(answer)];
      BOOST_TEST((answer != Answer::wrong), kind.name << ", seed " << first + i << ": " << told(diagnosis));
      if (alone && answer != Answer::right) std::cout << kind.name << ", seed " << first + i << ": " << told(diagnosis) << "\n";
    }
    table << std::left << std::setw(32) << kind.name << std::right << std::setw(7) << tally[0] << std::setw(14) << tally[1] << std::setw(9)
          << tally[2] << std::setw(8) << tally[3] << "\n";
    const bool nothing_to_find = kind.causes.front() == "none";
    BOOST_TEST(2 * (tally[0] + (nothing_to_find ? tally[1] : 0)) >= captures, kind.name << ": more than half are not told");
  }
  std::cout << table.str();
}

// Seeds of wider sweeps that once got a confident wrong answer.
BOOST_AUTO_TEST_CASE(what_was_once_told_wrong) {
  const std::vector<std::pair<std::string, unsigned>> once = {{"clipped", 771007}, {"mains hum", 771000}, {"noise", 993033},
                                                              {"logic probe behind a resistor", 771006}, {"logic probe behind a resistor", 771016},
                                                              {"power rail", 880012}};
  for (const auto& [name, seed] : once) {
    const auto kind = std::find_if(kinds().begin(), kinds().end(), [&](const Kind& k) { return k.name == name; });
    BOOST_TEST_REQUIRE((kind != kinds().end()));
    Dice dice(seed);
    const auto [capture, settings] = kind->make(dice);
    const auto diagnosis = diagnose(capture, settings);
    BOOST_TEST((answer_of(*kind, diagnosis) != Answer::wrong), name << ", seed " << seed << ": " << told(diagnosis));
  }
}

BOOST_AUTO_TEST_SUITE_END()
