#include "reports/text/diagnosis_text.hpp"

#include <algorithm>

#include "reports/quantity.hpp"
#include "reports/text/check_words.hpp"
#include "reports/text/comparison_words.hpp"
#include "reports/text/printable.hpp"

namespace pulsewright::reports {

namespace {

using analyzer::Check;
using analyzer::Diagnosis;
using analyzer::Outcome;

constexpr std::size_t kMostFindings = 6, kMostPasses = 3, kMostCauses = 3, kMostNotes = 8;

constexpr double kWorthActing = 0.3;  ///< confidence below which a further cause gives no advice of its own

class Summary {
 public:
  Summary(const Diagnosis& diagnosis, const TextStyle& style) : d_(diagnosis), style_(style) {}

  std::string all() {
    verdict();
    findings();
    why();
    both_ends();
    advice();
    subject();
    notes();
    return std::move(out_);
  }

 private:
  void heading(std::string_view text) { out_ += "\n" + toned(text, Tone::strong, style_) + "\n"; }

  void item(std::string_view text) { out_ += paragraph("  - ", one_line(text), 4, style_); }

  void verdict() {
    if (!d_.settings.title.empty()) out_ += paragraph("", one_line(d_.settings.title, 200), 0, style_);
    const std::string word = toned(shouted(d_.verdict.result), tone_of(d_.verdict.result), style_);
    out_ += paragraph(word + ": ", one_line(d_.verdict.headline), 2, style_);
  }

  void finding(const Check& check) {
    const std::string word = spoken(check.result);
    const std::size_t hanging = 15;
    const std::string value = check.value ? quantity(check.value, check.unit) : check.value.missing;
    out_ += paragraph("  " + toned(word, tone_of(check.result), style_) + std::string(hanging - 2 - word.size(), ' '),
                      one_line(check.name + ": " + value), hanging, style_);
    const std::string limits = limits_in_words(check), margin = margin_in_words(check);
    std::string second = limits.empty() ? "" : "limit " + limits + (margin.empty() ? "" : ": " + margin) + ". ";
    if (check.result != Outcome::pass) second += one_line(check.text);
    if (!second.empty()) out_ += paragraph(std::string(hanging, ' '), second, hanging, style_);
  }

  void findings() {
    std::vector<const Check*> worst;
    for (const Outcome outcome : {Outcome::fail, Outcome::marginal, Outcome::cannot_tell})
      for (const Check* check : checks_with(d_, outcome, false)) worst.push_back(check);
    auto passed = checks_with(d_, Outcome::pass, false);
    if (worst.empty() && passed.empty()) return;
    heading(worst.empty() ? "Closest to a limit" : "Findings, worst first");
    const bool all_pass = worst.empty();
    if (all_pass) worst.swap(passed);
    const std::size_t shown = std::min(all_pass ? kMostPasses : kMostFindings, worst.size());
    for (std::size_t i = 0; i < shown; ++i) finding(*worst[i]);
    const auto checks = [](std::size_t n, const char* one, const char* many) {
      return std::to_string(n) + (n == 1 ? one : many);
    };
    if (worst.size() > shown)
      out_ += paragraph("  ", all_pass ? checks(worst.size() - shown, " more check passes.", " more checks pass.")
                                       : checks(worst.size() - shown, " more did not pass.", " more did not pass."), 2, style_);
    if (!passed.empty()) out_ += paragraph("  ", checks(passed.size(), " check passes.", " checks pass."), 2, style_);
  }

  void why() {
    if (d_.verdict.causes.empty() || d_.verdict.causes.front().id == "none") return;
    heading("Why");
    for (std::size_t i = 0; i < std::min(kMostCauses, d_.verdict.causes.size()); ++i) {
      const auto& cause = d_.verdict.causes[i];
      out_ += paragraph("  " + std::to_string(i + 1) + ". ",
                        one_line(cause.text) + " (confidence " + percent(cause.confidence) + ")", 5, style_);
      if (const auto evidence = evidence_in_words(cause); !evidence.empty())
        out_ += paragraph("     Seen: ", evidence + ".", 5, style_);
      if (!cause.refuted_by.empty()) out_ += paragraph("     Would refute it: ", one_line(cause.refuted_by), 5, style_);
    }
  }

  void both_ends() {
    const auto& n = d_.near_far;
    if (!n.present) return;
    heading("Both ends of the cable");
    out_ += paragraph("  ", one_line(n.text), 2, style_);
    std::string figures;
    const auto add = [&](const char* name, const analyzer::Measured& value, const char* unit) {
      if (value) figures += (figures.empty() ? "Far against near: " : ", ") + std::string(name) + " " + quantity(value, unit);
    };
    add("delay", n.delay_s, "s");
    add("loss", n.loss_db, "dB");
    add("edge longer by", n.edge_growth_s, "s");
    add("high time of a 0", n.width_change_zero_s, "s");
    add("high time of a 1", n.width_change_one_s, "s");
    if (!figures.empty()) out_ += paragraph("  ", figures + ".", 2, style_);
    if (n.compared_bits == 0) return;
    out_ += paragraph("  ", std::to_string(n.differing_bits) + " of " + std::to_string(n.compared_bits) + " bits differ" +
                                (n.differences.empty() ? "." : "; the first: " + place_in_words(n.differences.front()) + "."), 2, style_);
  }

  void advice() {
    const auto& suggestion = d_.suggestion;
    std::vector<std::string> steps;
    if (!suggestion.text.empty()) steps.push_back(suggestion.text);
    const bool told_by_suggestion = suggestion.action == analyzer::Action::change_series_resistor && !steps.empty();
    for (std::size_t i = told_by_suggestion ? 1 : 0; i < std::min(kMostCauses, d_.verdict.causes.size()); ++i)
      if (!d_.verdict.causes[i].action.empty() && (i == 0 || d_.verdict.causes[i].confidence >= kWorthActing)) steps.push_back(d_.verdict.causes[i].action);
    heading("What to do");
    std::vector<std::string> told;
    for (const auto& step : steps) {
      if (std::find(told.begin(), told.end(), step) != told.end()) continue;
      told.push_back(step);
      item(step);
    }
    if (suggestion.action == analyzer::Action::change_series_resistor) part();
    for (const auto& line : d_.verdict.recapture_advice)
      if (std::find(told.begin(), told.end(), line) == told.end()) item("For the next capture: " + line);
    if (suggestion.action != analyzer::Action::keep && suggestion.action != analyzer::Action::recapture)
      item("Switch off and unplug before you change a resistor or touch wiring.");
  }

  void part() {
    const auto& suggestion = d_.suggestion;
    if (!suggestion.series_ohm) return;
    std::string line = "Part: " + part_in_words(suggestion);
    if (suggestion.acceptable_low_ohm && suggestion.acceptable_high_ohm)
      line += "; acceptable " + resistance(*suggestion.acceptable_low_ohm) + " to " +
              resistance(*suggestion.acceptable_high_ohm);
    item(line + "; confidence " + percent(suggestion.confidence) +
         (suggestion.method.empty() ? "" : ", by the " + suggestion.method) + ".");
    if (!suggestion.predicted) return;
    const auto& p = *suggestion.predicted;
    item("Expected with it: 10-90 % edge " + never_negative(p.duration_10_90_s, "s") + ", overshoot " +
         never_negative(p.overshoot_ratio, "ratio") + ", high level margin " + quantity(p.high_margin_v, "V") + ".");
  }

  void subject() {
    const auto& c = d_.capture;
    heading("Judged");
    std::string line = one_line(c.file, 120) + ", " + channel_in_words(c.channel, 60) + ", " + std::to_string(c.samples) +
                       (c.logic ? " rows" : " samples");
    if (c.sample_interval_s > 0) line += ", one every " + quantity(c.sample_interval_s, "s");
    out_ += paragraph("  ", line, 4, style_);
    const auto& s = d_.settings;
    out_ += paragraph("  ", "Windows of " + one_line(s.windows.chip, 60) + " (" + one_line(s.windows.id, 60) +
                                (s.protocol_stated ? "" : ", not stated") + "); supply " + quantity(s.supply_v, "V") +
                                (s.supply_stated ? "" : " assumed") + ": low below " + quantity(s.vil_v, "V") +
                                ", high above " + quantity(s.vih_v, "V") + "; probe at the " +
                                (s.at == analyzer::ProbePosition::far ? "far" : "near") + " end.", 4, style_);
    std::string bits = std::to_string(d_.frames.count) + (d_.frames.count == 1 ? " frame" : " frames");
    if (!d_.frames.frames.empty()) {
      const auto& longest = *std::max_element(d_.frames.frames.begin(), d_.frames.frames.end(),
                                              [](const auto& a, const auto& b) { return a.bits < b.bits; });
      bits += ", the longest of " + std::to_string(longest.bits) + " bits (" + std::to_string(longest.pixels) + " pixels)";
    }
    if (d_.frames.count > 0) out_ += paragraph("  ", bits + ".", 4, style_);
  }

  void notes() {
    std::vector<std::string> lines;
    for (const auto* list : {&d_.suggestion.assumptions, &d_.line.assumed, &d_.line.doubts, &d_.capture.notes})
      for (const auto& line : *list)
        if (std::find(lines.begin(), lines.end(), line) == lines.end()) lines.push_back(line);
    if (lines.empty()) return;
    heading("Assumed and noted");
    for (std::size_t i = 0; i < std::min(kMostNotes, lines.size()); ++i) item(one_line(lines[i], 300));
    if (lines.size() > kMostNotes)
      out_ += paragraph("  ", "and " + std::to_string(lines.size() - kMostNotes) + " more; --html and --json give all.", 2,
                        style_);
  }

  const Diagnosis& d_;
  TextStyle style_;
  std::string out_;
};

}  // namespace

Tone tone_of(Outcome outcome) {
  switch (outcome) {
    case Outcome::pass: return Tone::good;
    case Outcome::marginal: return Tone::warning;
    case Outcome::fail: return Tone::bad;
    case Outcome::cannot_tell: break;
  }
  return Tone::unknown;
}

std::string diagnosis_text(const Diagnosis& diagnosis, const TextStyle& style) { return Summary(diagnosis, style).all(); }

}  // namespace pulsewright::reports
