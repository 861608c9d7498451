#include "reports/text/comparison_text.hpp"

#include <algorithm>

#include "reports/quantity.hpp"
#include "reports/text/comparison_words.hpp"
#include "reports/text/diagnosis_text.hpp"
#include "reports/text/printable.hpp"

namespace pulsewright::reports {

namespace {

using analyzer::Change;
using analyzer::Comparison;

Tone tone_of(Change change) {
  switch (change) {
    case Change::better: return Tone::good;
    case Change::worse: return Tone::bad;
    case Change::no_clear_change: return Tone::warning;
    case Change::not_comparable: break;
  }
  return Tone::unknown;
}

std::string in_capitals(std::string text) {
  std::ranges::transform(text, text.begin(), [](char c) { return c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c; });
  return text;
}

class Summary {
 public:
  Summary(const Comparison& comparison, const TextStyle& style) : c_(comparison), style_(style) {}

  std::string all() {
    const std::string name = in_capitals(said(c_.result)) + ": ";
    const bool series = c_.captures.size() > 2;
    if (series) out_ = paragraph("", one_line(c_.series, 300), 2, style_);
    if (series) ranking();
    if (series) heading("Last capture against the first");
    out_ += paragraph((series ? "  " : "") + toned(name, tone_of(c_.result), style_), one_line(headline_alone(c_), 400), series ? 4 : 2, style_);
    if (!series) captures();
    if (c_.result != Change::not_comparable) figures();
    else reasons();
    bits();
    prediction();
    return out_;
  }

 private:
  void heading(std::string_view text) { out_ += "\n" + toned(text, Tone::strong, style_) + "\n"; }

  void captures() {
    heading("Captures");
    std::vector<std::vector<Cell>> rows;
    for (std::size_t i = 0; i < c_.captures.size(); ++i)
      rows.push_back({{std::to_string(i + 1), {}},
                      {one_line(c_.labels[i], 40), Tone::strong},
                      {std::string(analyzer::to_string(c_.captures[i].verdict.result)), reports::tone_of(c_.captures[i].verdict.result)},
                      {one_line(c_.captures[i].verdict.headline, 200), {}}});
    out_ += table(rows, style_);
  }

  void reasons() {
    heading("Why they cannot be held against each other");
    for (const auto& reason : c_.reasons) out_ += paragraph("  - ", one_line(reason, 200), 4, style_);
  }

  void figures() {
    heading("What moved");
    std::size_t same = 0;
    std::vector<std::vector<Cell>> rows;
    for (const auto& d : c_.differences) {
      if (!d.significant) {
        ++same;
        continue;
      }
      const auto unit = shown_unit_of(d);
      rows.push_back({{said(d), d.better ? (*d.better ? Tone::good : Tone::bad) : Tone::plain},
                      {d.name + ": " + quantity(d.before, unit) + " before, " + quantity(d.after, unit) + " after", {}}});
    }
    out_ += rows.empty() ? paragraph("  ", "Nothing moved by more than its uncertainty.", 2, style_) : table(rows, style_);
    if (same > 0 && !rows.empty())
      out_ += paragraph("  ", std::to_string(same) + " more figures did not move by more than their uncertainty, judged all together at 95 %.", 2, style_);
  }

  void bits() {
    if (c_.bits.text.empty()) return;
    heading("Bits");
    out_ += paragraph("  ", c_.bits.text, 2, style_);
    places("before", c_.bits.before);
    places("after", c_.bits.after);
  }

  void places(const std::string& when, const analyzer::BitErrors& errors) {
    constexpr std::size_t most = 4;
    for (std::size_t i = 0; i < std::min(most, errors.places.size()); ++i)
      out_ += paragraph("  - ", when + ", " + place_in_words(errors.places[i]), 4, style_);
    if (errors.wrong > most) out_ += paragraph("  ", "and " + std::to_string(errors.wrong - most) + " more " + when + "; --json gives the places.", 2, style_);
  }

  void prediction() {
    const auto& p = c_.prediction;
    if (!p.present) return;
    heading("Predicted and measured");
    out_ += paragraph("  ", p.text, 2, style_);
    out_ += paragraph("  ", "Edge with " + resistance(p.ohm) + ": " + quantity(p.rms_error_v, "V") + " rms off (" + quantity(p.rms_error_ratio, "ratio") +
                                " of the swing), " + quantity(p.within_band_ratio, "ratio") + " of it inside the predicted band.", 2, style_);
  }

  void ranking() {
    heading("Best first");
    std::vector<std::vector<Cell>> rows;
    std::size_t place = 0;
    for (const auto& r : c_.ranking) {
      const auto& d = c_.captures[r.index];
      std::string margin = r.margin ? "margin " + number(*r.margin, 2) + " at: " + r.margin_check : r.margin.missing;
      if (d.rising.duration_10_90_s) margin += "; edge " + quantity(*d.rising.duration_10_90_s, "s");
      if (d.rising.overshoot_ratio) margin += ", overshoot " + quantity(*d.rising.overshoot_ratio, "ratio", 2);
      rows.push_back({{std::to_string(++place), {}},
                      {one_line(c_.labels[r.index], 40), Tone::strong},
                      {std::string(analyzer::to_string(r.result)), reports::tone_of(r.result)},
                      {std::move(margin), {}}});
    }
    out_ += table(rows, style_);
  }

  const Comparison& c_;
  TextStyle style_;
  std::string out_;
};

}  // namespace

std::string comparison_text(const Comparison& comparison, const TextStyle& style) { return Summary(comparison, style).all(); }

}  // namespace pulsewright::reports
