#include "reports/forum/comparison_post.hpp"

#include <algorithm>
#include <vector>

#include "reports/quantity.hpp"
#include "reports/text/check_words.hpp"
#include "reports/text/comparison_words.hpp"
#include "reports/text/printable.hpp"

namespace pulsewright::reports {

namespace {

using analyzer::Change;
using analyzer::Comparison;

class Post {
 public:
  Post(const Comparison& comparison, Markup markup, std::string_view command_line) : c_(comparison), markup_(markup), command_line_(command_line) {}

  /// `most`: entries of each list.
  std::string made(std::size_t most) {
    out_.clear();
    const bool series = c_.captures.size() > 2;
    const std::string& title = c_.captures.front().settings.title;
    line(bold((title.empty() ? "Pixel data line, compared" : words(title, 120)) + ": " + said(c_.result)));
    line(words(series ? c_.series : headline_alone(c_)));
    if (series) list("Best first", ranking(), most);
    list(series ? "First and last capture" : "Captures", captures(), 2);
    if (c_.result == Change::not_comparable) list("Why they cannot be compared", spoken_all(c_.reasons), most);
    else list("Six figures, before and after", figures(), 6);
    list("Also moved", moved(), most);
    bits(most);
    if (c_.prediction.present) line(words(c_.prediction.text) + " " + off());
    asked();
    line(small("Made by pulsewright from captures of the data signal. \"±\" is the expanded uncertainty, k = 2; a figure counts as moved where "
               "all figures together stay quiet with 95 % probability when nothing changed. It does not certify wiring."));
    return out_;
  }

 private:
  std::string words(std::string_view text, std::size_t longest = 400) const { return forum_words(text, markup_, longest); }
  std::string bold(const std::string& text) const { return markup_ == Markup::markdown ? "**" + text + "**" : "[b]" + text + "[/b]"; }
  std::string small(const std::string& text) const { return markup_ == Markup::markdown ? "*" + text + "*" : "[i]" + text + "[/i]"; }
  void line(const std::string& text) { out_ += text + "\n\n"; }

  void list(const std::string& heading, std::vector<std::string> items, std::size_t most) {
    if (items.empty() || most == 0) return;
    const std::size_t all = items.size();
    items.resize(std::min(all, most));
    if (all > most) items.push_back("and " + std::to_string(all - most) + " more");
    out_ += bold(heading) + (markup_ == Markup::markdown ? "\n\n" : "\n[list]\n");
    for (const auto& item : items) out_ += (markup_ == Markup::markdown ? "- " : "[*]") + item + "\n";
    out_ += markup_ == Markup::markdown ? "\n" : "[/list]\n\n";
  }

  std::vector<std::string> spoken_all(const std::vector<std::string>& texts) const {
    std::vector<std::string> items;
    for (const auto& text : texts) items.push_back(words(text));
    return items;
  }

  std::string capture(std::size_t index) const {
    const auto& d = c_.captures[index];
    const auto& ohm = d.settings.series_ohm;
    return words(c_.labels[index], 60) + ": " + spoken(d.verdict.result) + (ohm ? ", " + resistance(*ohm) + " in series" : "") + ". " +
           words(d.verdict.headline, 200);
  }
  std::vector<std::string> captures() const { return {capture(0), capture(c_.captures.size() - 1)}; }

  std::vector<std::string> ranking() const {
    std::vector<std::string> items;
    for (const auto& r : c_.ranking)
      items.push_back(words(c_.labels[r.index], 60) + ": " + spoken(r.result) +
                      (r.margin ? ", margin " + number(*r.margin, 2) + " (" + words(r.margin_check, 80) + ")" : ", " + words(r.margin.missing, 80)));
    return items;
  }

  std::string moved_line(std::string_view name, const analyzer::Difference& d) const {
    const auto unit = shown_unit_of(d);
    return words(name, 120) + ": " + words(quantity(d.before, unit), 120) + " before, " + words(quantity(d.after, unit), 120) + " after (" + said(d) + ")";
  }
  std::vector<std::string> figures() const {
    std::vector<std::string> items;
    for (const auto& key : key_figures(c_)) items.push_back(moved_line(key.name, *key.difference));
    return items;
  }
  std::vector<std::string> moved() const {
    std::vector<std::string> items;
    if (c_.result == Change::not_comparable) return items;
    const auto shown = key_figures(c_);
    for (const auto& d : c_.differences) {
      const bool told = std::ranges::any_of(shown, [&](const KeyFigure& key) { return key.difference == &d; });
      if (d.significant && d.better && !told) items.push_back(moved_line(d.name, d));
    }
    return items;
  }

  void bits(std::size_t most) {
    if (c_.bits.text.empty()) return;
    line(words(c_.bits.text));
    std::vector<std::string> places;
    for (const auto& place : c_.bits.after.places) places.push_back(words(place_in_words(place)));
    list("Wrong bits after", places, most);
  }

  std::string off() const {
    return "Off by " + quantity(c_.prediction.rms_error_v, "V") + " rms, " + quantity(c_.prediction.within_band_ratio, "ratio") + " of the edge inside the band.";
  }

  void asked() {
    std::string question = one_line(command_line_, 600);
    if (question.empty()) return;
    std::ranges::replace(question, '`', '\'');
    line("Asked: " + (markup_ == Markup::markdown ? "`" + question + "`" : words(question, 600)));
  }

  const Comparison& c_;
  Markup markup_;
  std::string_view command_line_;
  std::string out_;
};

std::size_t characters(std::string_view text) {
  return static_cast<std::size_t>(std::ranges::count_if(text, [](char c) { return (static_cast<unsigned char>(c) & 0xC0u) != 0x80u; }));
}

}  // namespace

std::string comparison_post(const Comparison& comparison, Markup markup, std::string_view command_line) {
  Post post(comparison, markup, command_line);
  for (const std::size_t most : {std::size_t{12}, std::size_t{6}, std::size_t{2}}) {
    std::string made = post.made(most);
    if (characters(made) <= longest_forum_post) return made;
  }
  return post.made(0);
}

}  // namespace pulsewright::reports
