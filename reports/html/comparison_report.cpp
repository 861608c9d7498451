#include "reports/html/comparison_report.hpp"

#include "reports/figures/overlay.hpp"
#include "reports/html/html.hpp"
#include "reports/html/page_shell.hpp"
#include "reports/html/sections.hpp"
#include "reports/text/comparison_words.hpp"

namespace pulsewright::reports {

namespace {

using namespace html;
using analyzer::Comparison;

constexpr figures::Size wide{1000, 360};

std::string_view word_of(analyzer::Change change) {
  switch (change) {
    case analyzer::Change::better: return "Better";
    case analyzer::Change::worse: return "Worse";
    case analyzer::Change::no_clear_change: return "No clear change";
    case analyzer::Change::not_comparable: break;
  }
  return "Not comparable";
}

/// Sign of the result; an equals sign where nothing moved.
std::string sign_of(analyzer::Change change) {
  switch (change) {
    case analyzer::Change::better: return outcome_sign(analyzer::Outcome::pass);
    case analyzer::Change::worse: return outcome_sign(analyzer::Outcome::fail);
    case analyzer::Change::not_comparable: return outcome_sign(analyzer::Outcome::cannot_tell);
    case analyzer::Change::no_clear_change: break;
  }
  return R"(<svg class="sign" viewBox="0 0 24 24" width="24" height="24" aria-hidden="true"><circle cx="12" cy="12" r="10.5"/><path d="M7 9.6h10M7 14.4h10"/></svg>)";
}

std::string ohms_of(const analyzer::Diagnosis& d) {
  return d.settings.series_ohm ? escape(resistance(*d.settings.series_ohm) + " in series") : words("span", "missing", "resistor not stated");
}

std::string capture_line(const Comparison& c, std::size_t index, std::string_view when) {
  const auto& d = c.captures[index];
  return element("div", "side", words("p", "when", when) + element("p", "label", words("strong", "", c.labels[index]) + " " + badge(d.verdict.result)) +
                                    element("p", "", ohms_of(d)) + words("p", "in-words", d.verdict.headline));
}

std::string what_changed(const Comparison& c) {
  std::string card = words("h2", "small-heading", "The two captures");
  card += capture_line(c, 0, "Before") + capture_line(c, c.captures.size() - 1, "After");
  if (c.prediction.present) card += words("p", "kept", c.prediction.text);
  if (!c.bits.text.empty()) card += words("p", "in-words", c.bits.text);
  return element("div", "card", card);
}

std::string counted(const Comparison& c) {
  std::string card = words("h2", "small-heading", "Best of them");
  const auto& best = c.ranking.front();
  card += words("p", "do-this", c.labels[best.index]) + element("p", "", badge(best.result) + " " + ohms_of(c.captures[best.index]));
  card += words("p", "in-words", c.captures[best.index].verdict.headline);
  card += element("p", "in-words", "Last against first: " + escape(c.headline));
  return element("div", "card", card);
}

std::string went(const analyzer::Difference& d) {
  const std::string_view name = d.better ? (*d.better ? "went better" : "went worse") : "went";
  return words("span", name, said(d));
}

/// Before, after and what that is for the receiver, of the six figures that matter.
std::string six_figures(const Comparison& c) {
  std::vector<Row> rows;
  for (const auto& key : key_figures(c)) {
    const auto unit = shown_unit_of(*key.difference);
    rows.push_back({std::string(key.name), element("span", "was", figure_of(key.difference->before, unit)) + " \xE2\x86\x92 " +
                                               figure_of(key.difference->after, unit) + " " + went(*key.difference)});
  }
  return element("div", "key-figures", facts(rows));
}

std::string top(const Comparison& c, const ReportContext& context) {
  const bool series = c.captures.size() > 2;
  const auto& title = context.title.empty() ? c.captures.front().settings.title : context.title;
  std::string head = words("p", "what", title.empty() ? series ? "Series of captures" : "Two captures of one line" : title);
  head += element("p", "verdict-word", series ? words("span", "", std::to_string(c.captures.size()) + " captures, ranked")
                                              : sign_of(c.result) + words("span", "", word_of(c.result)));
  head += words("h1", "", series ? c.series : headline_alone(c));
  const std::string right = series ? element("div", "card", figure_block(figures::ranking(c, {620, 330})))
                                   : element("div", "card", figure_block(figures::edges_overlaid(c, figures::Edge::rising, {620, 330})));
  std::string body = element("header", "", head) + element("div", "panes", (series ? counted(c) : what_changed(c)) + right);
  if (!series) body += six_figures(c);
  return "<section id=\"verdict\" class=\"" + std::string(series ? "series" : analyzer::to_string(c.result)) + "\" aria-label=\"Result\">\n" + body + "</section>\n";
}

std::string jumps(bool series) {
  std::string items;
  const auto add = [&](std::string_view id, std::string_view name) { items += "<li><a href=\"#" + std::string(id) + "\">" + std::string(name) + "</a></li>"; };
  if (series) add("ranking", "Ranking");
  add("edges", "Edges");
  add("figures", "Every figure");
  add("bits", "Bits");
  add("prediction", "Predicted and measured");
  add("cautions", "Cautions");
  add("repeat", "Repeat");
  return "<nav aria-label=\"Sections\"><ul>" + items + "</ul></nav>\n";
}

std::string change_cell(const analyzer::Difference& d) {
  return (d.better ? (*d.better ? "\xE2\x96\xB2 " : "\xE2\x96\xBC ") : "") + escape(said(d));
}

std::string difference_table(const Comparison& c) {
  std::vector<std::vector<std::string>> rows;
  for (const bool significant : {true, false})
    for (const auto& d : c.differences) {
      if (d.significant != significant) continue;
      const auto unit = shown_unit_of(d);
      rows.push_back({escape(d.name), figure_of(d.before, unit), figure_of(d.after, unit), figure_of(d.change, unit), change_cell(d)});
    }
  return table("Before is the first capture, after the last", {"Figure", "Before", "After", "Change", "For the receiver"}, rows) +
         words("p", "", "A change counts where it exceeds " + number(c.coverage_factor) +
                            " standard uncertainties: then all figures together stay quiet with 95 % probability when nothing changed.");
}

std::string prediction_part(const Comparison& c) {
  const auto& kept = c.prediction;
  if (!kept.present) return words("p", "missing", "No prediction to hold against the later capture: " + kept.absent_because + ".");
  return words("p", "", kept.text) + figure_block(figures::prediction_kept(c, wide)) +
         facts({{"Error, root mean square", figure_of(kept.rms_error_v, "V")},
                {"of the swing", figure_of(kept.rms_error_ratio, "ratio")},
                {"Overshoot, measured minus predicted", figure_of(kept.overshoot_error, "ratio")},
                {"Inside the predicted band", figure_of(kept.within_band_ratio, "ratio")}});
}

std::string ranking_part(const Comparison& c) {
  std::vector<std::vector<std::string>> rows;
  const auto shown = [](const analyzer::Measured& m, std::string_view unit) { return m ? escape(quantity(*m, unit)) : words("span", "missing", "not known"); };
  for (const auto& r : c.ranking) {
    const auto& d = c.captures[r.index];
    rows.push_back({escape(c.labels[r.index]), badge(r.result), d.settings.series_ohm ? escape(resistance(*d.settings.series_ohm)) : words("span", "missing", "not stated"),
                    r.margin ? escape(number(*r.margin, 2)) : escape(r.margin.missing), escape(r.margin_check), shown(d.levels.high_plateau_min_v, "V"),
                    shown(d.rising.duration_10_90_s, "s"), shown(d.rising.overshoot_ratio, "ratio"), shown(d.pulses.zero.high_width.mean_s, "s"),
                    shown(d.pulses.one.high_width.mean_s, "s")});
  }
  return table("Best first", {"Capture", "Verdict", "Resistor", "Margin", "Limited by", "Lowest high", "Edge", "Overshoot", "0 high", "1 high"}, rows) +
         words("p", "note", "Ranked by verdict, then by the smallest margin: the distance of a deciding figure from its limit, in half-widths of its window or in "
                            "parts of a single limit. Uncertainties and all other figures are in the JSON.");
}

std::string places_of(const analyzer::BitErrors& errors, std::string_view when) {
  if (errors.places.empty()) return {};
  std::vector<std::string> lines;
  for (const auto& place : errors.places) lines.push_back(place_in_words(place));
  const std::string shown = errors.wrong > lines.size() ? ", the first " + std::to_string(lines.size()) + " of " + std::to_string(errors.wrong) : std::string();
  return disclosure("Wrong bits " + std::string(when) + shown, list(lines), true);
}

std::string bits_part(const Comparison& c) { return words("p", "", c.bits.text) + places_of(c.bits.before, "before") + places_of(c.bits.after, "after"); }

std::string repeat_part(const Comparison& c, const ReportContext& context) {
  std::vector<Row> rows{{"Command", words("code", "", context.command_line)}, {"Program", escape("pulsewright " + context.program_version)}};
  for (std::size_t i = 0; i < c.captures.size(); ++i)
    rows.push_back({"SHA-256 of capture " + std::to_string(i + 1), words("code", "", c.captures[i].capture.sha256)});
  return facts(rows);
}

}  // namespace

std::string comparison_report(const Comparison& c, const ReportContext& context) {
  const bool series = c.captures.size() > 2;
  std::string main = top(c, context) + jumps(series);
  if (series) main += section("ranking", "Ranking", ranking_part(c));
  const auto rising = figures::edges_overlaid(c, figures::Edge::rising, wide), falling = figures::edges_overlaid(c, figures::Edge::falling, wide);
  main += section("edges", "Edges laid over each other", series ? figure_block(rising) + figure_block(falling) : figure_block(falling));
  main += section("figures", series ? "Every figure, last capture against the first" : "Every figure",
                  c.result == analyzer::Change::not_comparable ? list(c.reasons) + difference_table(c) : difference_table(c));
  main += section("bits", "Bits", bits_part(c));
  main += section("prediction", "Predicted and measured", prediction_part(c));
  main += cautions_section();
  main += forum_section(context);
  main += section("repeat", "Repeat it", repeat_part(c, context));
  return page({.title = (series ? std::string("Series: ") : "Comparison: " + said(c.result) + " \xC2\xB7 ") + c.labels.front() + " to " + c.labels.back(),
               .body = element("main", "", main),
               .data_json = {}});
}

}  // namespace pulsewright::reports
