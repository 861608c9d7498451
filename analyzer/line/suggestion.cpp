#include "analyzer/line/suggestion.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "analyzer/line/preferred_values.hpp"

namespace pulsewright::analyzer {

namespace {

constexpr double e12_discount = 0.06;

std::string ohms(double ohm) { return fmt::format("{:.4g} ohm", ohm); }

const SweptValue& best_of(const std::vector<SweptValue>& swept, bool e12_only) {
  const SweptValue* best = nullptr;
  for (const auto& s : swept) {
    if (e12_only && !is_preferred(PreferredSeries::e12, s.candidate.ohm)) continue;
    if (!e12_only && !is_preferred(PreferredSeries::e24, s.candidate.ohm)) continue;
    if (best == nullptr || s.score > best->score) best = &s;
  }
  return *best;
}

const SweptValue& preferred_best(const std::vector<SweptValue>& swept) {
  const auto &any = best_of(swept, false), &kit = best_of(swept, true);
  return any.score - kit.score < e12_discount ? kit : any;
}

const SweptValue* at_ohm(const std::vector<SweptValue>& swept, double ohm) {
  const auto found = std::find_if(swept.begin(), swept.end(), [ohm](const auto& s) { return std::abs(s.candidate.ohm - ohm) < 1e-9; });
  return found == swept.end() ? nullptr : &*found;
}

struct Range {
  double low, high;
};

// Neighbours of the best value that pass as `good` says.
template <class Good>
std::optional<Range> range_about(const std::vector<SweptValue>& swept, const SweptValue& best, Good good) {
  if (!good(best)) return {};
  auto low = static_cast<std::size_t>(&best - swept.data()), high = low;
  while (low > 0 && good(swept[low - 1])) --low;
  while (high + 1 < swept.size() && good(swept[high + 1])) ++high;
  return Range{swept[low].candidate.ohm, swept[high].candidate.ohm};
}

class Adviser {
 public:
  explicit Adviser(AdviceInput input) : in_(std::move(input)), best_(preferred_best(in_.swept)) {}

  Suggestion run() {
    s_.method = "line model";
    s_.series_ohm_now = in_.series_ohm_now ? Measured::of(*in_.series_ohm_now) : Measured::none("not stated");
    for (const auto& each : in_.swept) s_.candidates.push_back(each.candidate);
    set_range();
    s_.series_ohm = Measured::of(best_.candidate.ohm, spread_of_optimum());
    s_.colour_bands = colour_bands_5_percent(best_.candidate.ohm);
    s_.predicted = best_.candidate;
    s_.assumptions = in_.priors->assumed;
    s_.assumptions.push_back("predicted for the line in service, without the probe's capacitance");
    choose_action();
    note_limits();
    s_.confidence = confidence();
    return std::move(s_);
  }

 private:
  static bool passes(const SweptValue& v) { return *v.candidate.margin.value - v.candidate.margin.u > 0; }
  static bool works(const SweptValue& v) { return v.share_works >= 0.85; }

  void set_range() {
    auto range = range_about(in_.swept, best_, passes);
    if (!range) {
      range = range_about(in_.swept, best_, works);
      if (range) stress_ignored_ = true;
    }
    if (!range) return;
    s_.acceptable_low_ohm = range->low, s_.acceptable_high_ohm = range->high;
  }

  // Standard deviation of R(best) from the belief about Z0 - Ro.
  double spread_of_optimum() const {
    double sum = 0, squares = 0;
    const auto& members = in_.belief->members;
    for (const auto& m : members) {
      const double ohm = m.line.z0_ohm - (m.rising_ohm + m.falling_ohm) / 2;
      sum += ohm, squares += ohm * ohm;
    }
    const auto n = static_cast<double>(members.size());
    return std::sqrt(std::max(0.0, squares / n - sum / n * sum / n));
  }

  double now() const { return in_.series_ohm_now.value_or(in_.series_ohm_now_guess); }

  void choose_action() {
    const auto& levels = in_.fit->best;
    const auto& r = in_.receiver;
    if (levels.high_v < r.vih_v) {
      s_.action = Action::shift_level;
      s_.text = fmt::format("The line settles at {:.2f} V, below the {:.2f} V that the pixel asks for; no resistor changes that. Shift the level to the pixel's supply at the controller, then fit about {}.",
                            levels.high_v, r.vih_v, ohms(best_.candidate.ohm));
    } else if (levels.low_v > r.vil_v) {
      s_.action = Action::fix_ground;
      s_.text = fmt::format("The low level of {:.2f} V lies above the {:.2f} V that the pixel asks for: repair the ground connection first.", levels.low_v, r.vil_v);
    } else if (best_.share_works < 0.5) {
      no_resistor_helps();
    } else {
      change_or_keep();
    }
  }

  void no_resistor_helps() {
    const double driver_ohm = in_.belief->members.front().rising_ohm, z0 = in_.fit->best.line.z0_ohm;
    s_.action = Action::add_buffer;
    if (driver_ohm > 1.3 * z0 && best_.candidate.ohm < 5) {
      s_.text = fmt::format("The driver itself has about {}, more than the line's {}: no added resistor helps. Put a stronger buffer at the controller.",
                            ohms(std::round(driver_ohm)), ohms(std::round(z0)));
    } else if (in_.fit->best.line.loop_ohm > 0.3 * z0) {
      s_.action = Action::change_cable;
      s_.text = "The cable loses too much for any resistor to help: use a heavier one, or a buffer close to the pixels.";
    } else {
      s_.text = fmt::format("No series resistor keeps every margin on this line (best {}, limited by {}): put a buffer or repeater close to the pixels.",
                            ohms(best_.candidate.ohm), best_.candidate.limited_by);
    }
    if (const auto edge_s = slower_edge_that_works())
      s_.text += fmt::format(" With edges of about {:.0f} ns at the driver and {} in series the line would work too.", 1e9 * *edge_s, ohms(best_.candidate.ohm));
  }

  // Echoes within an edge lie on its slope, where they cross no threshold twice. End termination is not tried: behind a driver
  // strong enough for it some series resistor works (suggestion_test searches for exceptions).
  std::optional<double> slower_edge_that_works() const {
    for (const double edge_s : {20e-9, 40e-9}) {
      LineBelief slowed = *in_.belief;
      for (auto& member : slowed.members) member.line.edge_s = std::max(member.line.edge_s, edge_s);
      if (works(sweep(slowed, {best_.candidate.ohm}, in_.times, in_.receiver).front())) return edge_s;
    }
    return {};
  }

  bool in_range(double ohm) const {
    return s_.acceptable_low_ohm && ohm >= *s_.acceptable_low_ohm - 1e-9 && ohm <= *s_.acceptable_high_ohm + 1e-9;
  }

  bool good_now() const {
    const auto* present = in_.present ? &*in_.present : at_ohm(in_.swept, now());
    if (present == nullptr) return in_range(now());
    const bool in_its_place = in_.present ? s_.acceptable_low_ohm && (stress_ignored_ ? works(*present) : passes(*present)) : in_range(now());
    return in_its_place || (best_.score - present->score < 0.1 && works(*present));
  }

  void change_or_keep() {
    const bool good_now = this->good_now();
    s_.action = good_now ? Action::keep : Action::change_series_resistor;
    const std::string range = s_.acceptable_low_ohm && *s_.acceptable_high_ohm > *s_.acceptable_low_ohm
                                  ? fmt::format(" Anything from {:.4g} to {} does.", *s_.acceptable_low_ohm, ohms(*s_.acceptable_high_ohm))
                                  : std::string();
    if (good_now && in_.series_ohm_now) {
      s_.text = fmt::format("Keep the {} fitted now: it lies where the line works.", ohms(now())) + range;
    } else if (good_now) {
      s_.text = fmt::format("The source resistance suits the line: keep what is fitted (about {} if the driver has {}).",
                            ohms(std::round(now())), ohms(in_.priors->driver_ohm.mean)) + range;
    } else {
      const std::string from = in_.series_ohm_now ? fmt::format(" instead of {}", ohms(now())) : std::string();
      s_.text = fmt::format("Fit {}{} in series at the controller's output.", ohms(best_.candidate.ohm), from) + range;
    }
    if (stress_ignored_)
      s_.text += " The extremes stay slightly beyond the input's absolute maximum, where its clamps conduct.";
  }

  void note_limits() {
    const auto& m = in_.belief->members.front();
    const double peak_a = (m.high_v - m.low_v) / (m.rising_ohm + best_.candidate.ohm + m.line.z0_ohm);
    note_driver_current(peak_a, m.line.delay_s);
    note_resistor_power(peak_a, m.line.delay_s);
    note_slow_charging(m);
  }

  void note_driver_current(double peak_a, double delay_s) {
    if (in_.driver_current_limit_a > 0 && peak_a > in_.driver_current_limit_a)
      s_.assumptions.push_back(fmt::format("each edge draws {:.0f} mA from the driver for {:.0f} ns; its data sheet allows {:.0f} mA continuously",
                                           peak_a * 1e3, 2e9 * delay_s, in_.driver_current_limit_a * 1e3));
  }

  // The line draws its current for 2 Td after either edge of a bit.
  void note_resistor_power(double peak_a, double delay_s) {
    const double power_w = peak_a * peak_a * best_.candidate.ohm * std::min(1.0, 4 * delay_s / 1.25e-6);
    s_.assumptions.push_back(fmt::format("the resistor dissipates about {:.0f} mW at 800 kbit/s; an eighth of a watt is enough{}", std::max(1.0, power_w * 1e3),
                                         power_w > 0.1 ? " only just: take a quarter" : ""));
  }

  // A source above Z0 charges a long run like a capacitor.
  void note_slow_charging(const LineBelief::Member& m) {
    const auto& c = best_.candidate;
    if (!std::isfinite(best_.best_duration_s) || !c.high_width_zero_s || best_.best_duration_s < 0.5 * *c.high_width_zero_s) return;
    const auto& edge = c.duration_10_90_s;
    const std::string takes = edge ? fmt::format("takes {:.0f} ns", 1e9 * *edge) : edge.missing.starts_with("at most") ? "takes " + edge.missing : "may not reach 90 %";
    s_.assumptions.push_back(fmt::format("driver and resistor charge the {:.2g} nF of cable and pixel slowly: the edge {}, a 0 is high for {:.0f} ns",
                                         1e9 * (m.line.delay_s / m.line.z0_ohm + m.line.far_f), takes, 1e9 * *c.high_width_zero_s));
  }

  double confidence() const {
    const double quality = in_.fit_is_doubtful ? 0.5 : 1;
    if (s_.action == Action::shift_level || s_.action == Action::fix_ground) return 0.9 * quality;
    const double share = s_.action == Action::keep || s_.action == Action::change_series_resistor
                             ? (best_.share_passes + best_.share_works) / 2
                             : 1 - best_.share_works;
    return std::clamp(quality * (0.1 + 0.85 * share), 0.05, 0.95);
  }

  AdviceInput in_;
  const SweptValue& best_;
  Suggestion s_;
  bool stress_ignored_ = false;
};

}  // namespace

Suggestion advise(AdviceInput input) { return Adviser(std::move(input)).run(); }

Suggestion advise_without_fit(const std::optional<ClosedForm>& form, const LinePriors& priors, std::optional<double> series_ohm_now,
                              const std::string& why_not) {
  Suggestion s;
  s.series_ohm_now = series_ohm_now ? Measured::of(*series_ohm_now) : Measured::none("not stated");
  s.series_ohm = Measured::none(why_not);
  s.action = Action::recapture;
  s.assumptions = priors.assumed;
  if (!form) {
    s.method = "none";
    s.text = "No resistor can be named from this capture: " + why_not + ".";
    return s;
  }
  s.method = "closed form of the open-ended line";
  const double z0 = priors.z0_ohm.mean, k = form->source_ratio;
  const double ideal = series_ohm_now ? *series_ohm_now + z0 * (1 - k) : z0 - priors.driver_ohm.mean;
  const double u = std::hypot(priors.z0_ohm.sd * (series_ohm_now ? std::abs(1 - k) : 1),
                              series_ohm_now ? z0 * form->source_ratio_u : priors.driver_ohm.sd);
  const double ohm = ideal < 5 ? 0 : nearest_preferred(PreferredSeries::e12, ideal);
  s.series_ohm = Measured::of(ohm, u);
  s.colour_bands = colour_bands_5_percent(ohm);
  s.action = k > 0.8 && k < 1.4 ? Action::keep : Action::change_series_resistor;
  s.confidence = 0.3;
  s.assumptions.push_back("the far end is taken as open, the edge as fast, the cable as lossless");
  s.text = s.action == Action::keep ? "By a rough estimate the source resistance suits the line: keep it."
                                    : fmt::format("By a rough estimate {} in series at the controller's output suits this line.", ohms(ohm));
  return s;
}

}  // namespace pulsewright::analyzer
