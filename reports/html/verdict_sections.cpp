#include <fmt/format.h>

#include <algorithm>
#include <iterator>

#include "reports/figures/figures.hpp"
#include "reports/html/html.hpp"
#include "reports/html/sections.hpp"

namespace pulsewright::reports::html {

namespace {

using analyzer::Action;
using analyzer::Cause;
using analyzer::Diagnosis;
using analyzer::Outcome;
using analyzer::Suggestion;
using figures::Figure;

/// No line break between a number and its unit.
std::string units_kept(std::string text) {
  for (std::size_t i = text.find(' '); i != std::string::npos; i = text.find(' ', i + 1)) {
    if (i == 0 || text[i - 1] < '0' || text[i - 1] > '9') continue;
    const std::string_view next = std::string_view(text).substr(i + 1);
    const std::size_t end = std::min(next.find_first_of(" ,.:;"), next.size());
    if (end > 0 && end <= 3) text.replace(i, 1, "\xC2\xA0");
  }
  return text;
}

std::string_view verdict_word(Outcome outcome) {
  switch (outcome) {
    case Outcome::pass: return "Pass";
    case Outcome::marginal: return "Marginal";
    case Outcome::fail: return "Fail";
    case Outcome::cannot_tell: break;
  }
  return "Cannot tell";
}

struct CauseName {
  std::string_view id, name;
};

constexpr CauseName kCauseNames[] = {
    {"underdamped-source", "Source resistance too low: the line rings"},
    {"overdamped-source", "Source resistance too high: slow edges"},
    {"low-drive-level", "High level too low for this receiver"},
    {"ground-offset", "Ground shifted between controller and pixel"},
    {"supply-sag", "Supply sags along the frame"},
    {"source-timing", "Timing wrong at the controller"},
    {"latch-gap-short", "Pause between frames too short"},
    {"bits-lost", "Bits lost or added"},
    {"crosstalk-or-noise", "Crosstalk or noise"},
    {"ac-coupled", "Input coupled through a capacitor"},
    {"probe-artefact", "Artefact of the probe"},
    {"probe-factor", "Probe factor set wrongly"},
    {"undersampled", "Too few samples"},
    {"bandwidth-limited", "Bandwidth of scope or probe too small"},
    {"clipped-capture", "Capture clipped"},
    {"inverted-capture", "Capture upside down"},
    {"flat-line", "No signal"},
    {"power-rail", "A supply rail, not data"},
    {"wrong-protocol", "Another protocol"},
    {"none", "Nothing wrong"},
};

std::string name_of(const Cause& cause) {
  const auto* found = std::find_if(std::begin(kCauseNames), std::end(kCauseNames), [&](const CauseName& c) { return c.id == cause.id; });
  return found == std::end(kCauseNames) ? cause.id : std::string(found->name);
}

/// The figure in which this cause can be seen.
Figure evidence_figure(const Diagnosis& d, const std::string& id) {
  const figures::Size size{520, 280};
  if (id == "underdamped-source" || id == "probe-artefact") return figures::arrivals(d, size);
  if (id == "overdamped-source" || id == "bandwidth-limited" || id == "undersampled")
    return figures::edge(d, figures::Edge::rising, size);
  if (id == "low-drive-level" || id == "ground-offset" || id == "crosstalk-or-noise" || id == "bits-lost")
    return figures::folded_bits(d, size);
  if (id == "source-timing" || id == "wrong-protocol") return figures::width_histogram(d, figures::Bit::zero, size);
  if (id == "none") return {};
  return figures::record(d, size);
}

std::string resistor_lines(const Suggestion& s) {
  std::string text;
  if (s.acceptable_low_ohm && s.acceptable_high_ohm) {
    const bool one = *s.acceptable_low_ohm == *s.acceptable_high_ohm;
    text += element("p", "range", one ? "No other preferred value is as good." :
        fmt::format("Anything from <b>{}</b> to <b>{}</b> will do.", escape(resistance(*s.acceptable_low_ohm)),
                    escape(resistance(*s.acceptable_high_ohm))));
  }
  return text;
}

std::string suggestion_card(const Diagnosis& d) {
  const Suggestion& s = d.suggestion;
  std::string card = words("p", "do-this", action_in_short(s));
  const bool resistor = s.action == Action::change_series_resistor || s.action == Action::keep;
  if (s.action == Action::change_series_resistor && s.series_ohm_now)
    card += words("p", "instead", "in place of " + resistance(*s.series_ohm_now));
  if (resistor && s.series_ohm && *s.series_ohm > 0 && !s.colour_bands.empty())
    card += element("div", "resistor", figures::resistor(s.colour_bands, resistance(*s.series_ohm)).svg);
  if (resistor) card += resistor_lines(s);
  if (s.confidence > 0) card += element("p", "", confidence_bar(s.confidence, "Confidence"));
  if (s.action != Action::change_series_resistor || !s.series_ohm) card += words("p", "in-words", s.text);
  if (s.action != Action::keep && s.action != Action::recapture && s.action != Action::fix_source_timing)
    card += words("p", "power-off", cautions().front());
  return element("div", "card suggestion", card);
}

std::string beside(const Diagnosis& d) {
  if (d.verdict.result == Outcome::cannot_tell && !d.verdict.recapture_advice.empty())
    return element("div", "card", element("h2", "small-heading", "What to capture instead") + list(d.verdict.recapture_advice));
  if (d.suggestion.predicted) {
    const auto figure = figures::prediction(d, {560, 330});
    if (!figure.svg.empty()) return element("div", "card", figure_block(figure));
  }
  return element("div", "card", figure_block(figures::folded_bits(d, {560, 330})));
}

std::string in_plain_numbers(const Diagnosis& d) {
  const auto& predicted = d.suggestion.predicted;
  const auto then = [&](const analyzer::Measured analyzer::Candidate::* member, std::string_view unit) {
    return predicted && d.suggestion.action == Action::change_series_resistor && (*predicted).*member
               ? " <span class=\"then\">then " + escape(never_negative((*predicted).*member, unit)) + "</span>"
               : std::string();
  };
  std::string reason;
  const auto once = [&](const analyzer::Measured& measured, std::string_view unit) {
    if (!measured && measured.missing == reason) return words("span", "missing", "same reason");
    if (!measured) reason = measured.missing;
    return figure_of(measured, unit);
  };
  using C = analyzer::Candidate;
  const auto counts = [](const analyzer::Check& c) { return !c.advisory; };
  const auto deciding = std::count_if(d.checks.begin(), d.checks.end(), counts);
  const auto failed = std::count_if(d.checks.begin(), d.checks.end(),
                                    [&](const analyzer::Check& c) { return counts(c) && c.result == Outcome::fail; });
  return facts({{"Rising edge", once(d.rising.duration_10_90_s, "s") + then(&C::duration_10_90_s, "s")},
                {"Overshoot", once(d.rising.overshoot_ratio, "ratio") + then(&C::overshoot_ratio, "ratio")},
                {"High level", once(d.levels.high_v, "V")},
                {"High time of a 0", once(d.pulses.zero.high_width.mean_s, "s")},
                {"High time of a 1", once(d.pulses.one.high_width.mean_s, "s")},
                {"Checks that fail", fmt::format("{} of {}", failed, deciding)}});
}

std::string one_cause(const Diagnosis& d, const Cause& cause, bool first) {
  std::string text = words("p", "", cause.text);
  std::vector<Row> rows;
  for (const auto& [key, measured] : cause.evidence) {
    const auto meaning = meaning_of(key);
    rows.push_back({meaning.words, figure_of(measured, meaning.unit)});
  }
  text += facts(rows);
  if (!cause.action.empty()) text += element("p", "", "<b>Do:</b> " + escape(cause.action));
  if (!cause.refuted_by.empty()) text += element("p", "refute", "<b>It would be something else if:</b> " + escape(cause.refuted_by));
  std::string body = element("div", "", text);
  const Figure figure = evidence_figure(d, cause.id);
  if (!figure.svg.empty()) body += figure_block(figure);
  return disclosure(fmt::format("<span class=\"cause-name\">{}</span> {}", escape(name_of(cause)),
                                confidence_bar(cause.confidence, "confidence")),
                    element("div", "two", body), first, "cause");
}

}  // namespace

std::string action_in_short(const Suggestion& s) {
  const std::string value = s.series_ohm ? resistance(*s.series_ohm) : std::string();
  switch (s.action) {
    case Action::keep:
      return s.series_ohm_now ? "Keep the " + resistance(*s.series_ohm_now) : "Keep it as it is";
    case Action::change_series_resistor: return value.empty() ? "Change the series resistor" : "Fit " + value;
    case Action::add_buffer: return "Add a buffer at the pixels";
    case Action::shift_level: return "Shift the data level";
    case Action::fix_ground: return "Repair the ground connection";
    case Action::fix_source_timing: return "Correct the timing in the controller";
    case Action::change_cable: return "Use another cable";
    case Action::recapture: break;
  }
  return "Capture again";
}

std::string verdict_section(const Diagnosis& d, const ReportContext& context) {
  const std::string name = context.title.empty() ? d.settings.title.empty() ? d.capture.file : d.settings.title : context.title;
  std::string head = words("p", "what", name);
  head += fmt::format("<p class=\"verdict-word\">{}<span>{}</span></p>\n", outcome_sign(d.verdict.result), verdict_word(d.verdict.result));
  head += words("h1", "", d.verdict.headline.empty() ? "No verdict was reached" : units_kept(d.verdict.headline));
  const std::string panes = element("div", "panes", suggestion_card(d) + beside(d));
  return fmt::format("<section id=\"verdict\" class=\"{}\" aria-label=\"Verdict\">\n{}{}{}</section>\n",
                     analyzer::to_string(d.verdict.result), element("header", "", head), panes,
                     element("div", "key-figures", in_plain_numbers(d)));
}

std::string why_section(const Diagnosis& d) {
  std::string body;
  for (const auto& cause : d.verdict.causes) body += one_cause(d, cause, body.empty());
  if (body.empty()) body = words("p", "", "No cause was found.");
  return section("why", "Why", body);
}

}  // namespace pulsewright::reports::html
