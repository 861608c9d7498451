#include "reports/html/html.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace pulsewright::reports::html {

using analyzer::Measured;
using analyzer::Outcome;

namespace {

constexpr std::string_view kReason = "<span class=\"missing\">";

bool is_reason(std::string_view markup) { return markup.starts_with(kReason); }

}  // namespace

std::string element(std::string_view tag, std::string_view name, std::string_view markup) {
  if (name.empty()) return fmt::format("<{0}>{1}</{0}>\n", tag, markup);
  return fmt::format("<{0} class=\"{1}\">{2}</{0}>\n", tag, name, markup);
}

std::string words(std::string_view tag, std::string_view name, std::string_view text) { return element(tag, name, escape(text)); }

std::string figure_of(const Measured& measured, std::string_view unit) {
  return fmt::format("{}{}</span>", measured ? "<span class=\"quantity\">" : kReason, escape(quantity(measured, unit)));
}

std::string figure_of(double value, std::string_view unit) {
  return fmt::format("<span class=\"quantity\">{}</span>", escape(quantity(value, unit)));
}

std::string facts(const std::vector<Row>& rows) {
  if (rows.empty()) return {};
  std::string body;
  for (const auto& row : rows)
    body += fmt::format("<div{}><dt>{}</dt><dd>{}</dd></div>\n", row.whole_line ? " class=\"whole-line\"" : "", escape(row.name), row.markup);
  return element("dl", "facts", body);
}

std::string table(std::string_view caption, const std::vector<std::string>& head,
                  const std::vector<std::vector<std::string>>& rows) {
  std::string header, body;
  for (const auto& name : head)
    header += name.empty() ? "<td></td>" : fmt::format("<th scope=\"col\">{}</th>", escape(name));
  for (std::size_t r = 0; r < rows.size(); ++r) {
    std::string cells;
    for (std::size_t i = 0; i < rows[r].size(); ++i) {
      const auto& cell = rows[r][i];
      const bool repeated = i > 0 && r > 0 && i < rows[r - 1].size() && cell == rows[r - 1][i] && is_reason(cell);
      cells += i == 0 ? fmt::format("<th scope=\"row\">{}</th>", cell)
                      : fmt::format("<td>{}</td>", repeated ? std::string(kReason) + "as above</span>" : cell);
    }
    body += "<tr>" + cells + "</tr>\n";
  }
  return fmt::format(
      "<div class=\"sideways\" tabindex=\"0\" role=\"group\" aria-label=\"{0}\"><table><caption>{0}</caption>\n"
      "<thead><tr>{1}</tr></thead>\n<tbody>{2}</tbody></table></div>\n",
      escape(caption), header, body);
}

std::string disclosure(std::string_view summary, std::string_view markup, bool open, std::string_view name) {
  return fmt::format("<details{}{}><summary>{}</summary>\n<div class=\"inside\">{}</div></details>\n",
                     name.empty() ? std::string() : fmt::format(" class=\"{}\"", name), open ? " open" : "", summary, markup);
}

std::string list(const std::vector<std::string>& texts, std::string_view name) {
  if (texts.empty()) return {};
  std::string items;
  for (const auto& text : texts) items += words("li", "", text);
  return element("ul", name, items);
}

std::string figure_block(const figures::Figure& figure, std::string_view name) {
  const std::string caption = figure.caption.empty() ? std::string() : words("figcaption", "", figure.caption);
  // A wide figure scrolls sideways in a narrow window: the keyboard has to reach it.
  if (!figure.svg.empty() && name == "wide") return "<figure class=\"wide\" tabindex=\"0\">" + figure.svg + caption + "</figure>\n";
  if (!figure.svg.empty()) return element("figure", name, figure.svg + caption);
  return element("p", "no-figure", "No figure here: " + escape(figure.missing) + ".");
}

std::string section(std::string_view id, std::string_view heading, std::string_view markup) {
  return fmt::format("<section id=\"{0}\" aria-labelledby=\"{0}-heading\">\n<h2 id=\"{0}-heading\">{1}</h2>\n{2}</section>\n", id,
                     escape(heading), markup);
}

std::string_view said(Outcome outcome) {
  switch (outcome) {
    case Outcome::pass: return "passes";
    case Outcome::marginal: return "marginal";
    case Outcome::fail: return "fails";
    case Outcome::cannot_tell: break;
  }
  return "cannot tell";
}

std::string outcome_sign(Outcome outcome) {
  const auto shape = [&]() -> std::string_view {
    switch (outcome) {
      case Outcome::pass: return R"(<circle cx="12" cy="12" r="10.5"/><path d="M6.8 12.6l3.6 3.6 7-8"/>)";
      case Outcome::marginal: return R"(<path d="M12 2L23 21.5H1Z"/><path d="M12 9v6.4M12 18.2v.6"/>)";
      case Outcome::fail: return R"(<path d="M7.7 1.5h8.6l6.2 6.2v8.6l-6.2 6.2H7.7l-6.2-6.2V7.7Z"/><path d="M8 8l8 8m0-8l-8 8"/>)";
      case Outcome::cannot_tell: break;
    }
    return R"(<rect x="1.5" y="1.5" width="21" height="21" rx="3"/><path d="M8.6 9.2a3.4 3.4 0 1 1 5 3q-1.6.9-1.6 2.6M12 17.8v.6"/>)";
  }();
  return fmt::format("<svg class=\"sign {}\" viewBox=\"0 0 24 24\" width=\"24\" height=\"24\" aria-hidden=\"true\">{}</svg>",
                     analyzer::to_string(outcome), shape);
}

std::string badge(Outcome outcome) {
  return fmt::format("<span class=\"badge {}\">{}<span>{}</span></span>", analyzer::to_string(outcome), outcome_sign(outcome),
                     said(outcome));
}

std::string confidence_bar(double confidence, std::string_view label) {
  const double share = std::clamp(confidence, 0.0, 1.0);
  return fmt::format(
      "<span class=\"confidence\"><svg viewBox=\"0 0 100 8\" width=\"100\" height=\"8\" aria-hidden=\"true\"><rect class=\"trough\" "
      "width=\"100\" height=\"8\" rx=\"4\"/><rect class=\"filled\" width=\"{:.0f}\" height=\"8\" rx=\"4\"/></svg> {} {}</span>",
      share * 100, escape(label), escape(percent(share)));
}

}  // namespace pulsewright::reports::html
