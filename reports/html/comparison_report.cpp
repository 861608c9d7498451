#include "reports/html/comparison_report.hpp"

#include "reports/figures/overlay.hpp"
#include "reports/html/html.hpp"
#include "reports/html/page_shell.hpp"
#include "reports/html/sections.hpp"
#include "reports/text/comparison_text.hpp"

namespace pulsewright::reports {

namespace {

using namespace html;
using analyzer::Comparison;

constexpr figures::Size wide{760, 340};

std::string top(const Comparison& c, const ReportContext& context) {
  std::string inside = words("h1", "", context.title.empty() ? "Comparison of captures" : context.title);
  inside += words("p", "headline", c.headline);
  std::vector<std::vector<std::string>> rows;
  for (std::size_t i = 0; i < c.captures.size(); ++i)
    rows.push_back({escape(c.labels[i]), badge(c.captures[i].verdict.result),
                    c.captures[i].settings.series_ohm ? escape(resistance(*c.captures[i].settings.series_ohm)) : "not stated",
                    escape(c.captures[i].verdict.headline)});
  inside += table("Captures", {"Capture", "Verdict", "Series resistor", "In short"}, rows);
  return inside;
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
  return table("Every figure, first and last capture", {"Figure", "Before", "After", "Change", "For the receiver"}, rows) +
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
  for (const auto& r : c.ranking)
    rows.push_back({escape(c.labels[r.index]), badge(r.result), r.margin ? escape(number(*r.margin)) : escape(r.margin.missing), escape(r.margin_check)});
  return figure_block(figures::ranking(c, wide)) + table("Best first", {"Capture", "Verdict", "Smallest margin", "Limited by"}, rows);
}

std::string repeat_part(const Comparison& c, const ReportContext& context) {
  std::vector<Row> rows{{"Command", words("code", "", context.command_line)}, {"Program", escape("pulsewright " + context.program_version)}};
  for (std::size_t i = 0; i < c.captures.size(); ++i)
    rows.push_back({"SHA-256 of capture " + std::to_string(i + 1), words("code", "", c.captures[i].capture.sha256)});
  return facts(rows);
}

}  // namespace

std::string comparison_report(const Comparison& c, const ReportContext& context) {
  std::string main = top(c, context);
  main += section("edges", "Edges laid over each other",
                  figure_block(figures::edges_overlaid(c, figures::Edge::rising, wide)) + figure_block(figures::edges_overlaid(c, figures::Edge::falling, wide)));
  main += section("figures", "What moved", c.result == analyzer::Change::not_comparable ? list(c.reasons) + difference_table(c) : difference_table(c));
  main += section("prediction", "Predicted and measured", prediction_part(c));
  if (c.captures.size() > 2) main += section("ranking", "Ranking", ranking_part(c));
  main += cautions_section();
  main += section("repeat", "Repeat it", repeat_part(c, context));
  return page({.title = "Comparison: " + said(c.result), .body = element("main", "", main), .data_json = {}});
}

}  // namespace pulsewright::reports
