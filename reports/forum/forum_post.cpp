#include "reports/forum/forum_post.hpp"

#include <algorithm>
#include <array>
#include <string>
#include <utility>
#include <vector>

#include "reports/quantity.hpp"
#include "reports/text/check_words.hpp"
#include "reports/text/printable.hpp"

namespace pulsewright::reports {

namespace {

using analyzer::Diagnosis;
using analyzer::Measured;

void replace_all(std::string& text, std::string_view what, std::string_view by) {
  for (std::size_t at = 0; (at = text.find(what, at)) != std::string::npos; at += by.size()) text.replace(at, what.size(), by);
}

/// Addresses stay readable but are no links.
void unlink(std::string& text) {
  replace_all(text, "://", ": //");
  for (const auto& [found, made] : std::array<std::pair<const char*, const char*>, 3>{
           {{"www.", "www ."}, {"WWW.", "WWW ."}, {"Www.", "Www ."}}})
    replace_all(text, found, made);
  replace_all(text, "@", "(at)");
}

std::string escaped_markdown(const std::string& text) {
  std::string made;
  for (const char c : text) {
    if (std::string_view("\\`*_{}[]<>#|~!&").find(c) != std::string_view::npos) made += '\\';
    made += c;
  }
  return made;
}

class Post {
 public:
  Post(const Diagnosis& diagnosis, Markup markup, std::string_view command_line)
      : d_(diagnosis), markup_(markup), command_line_(command_line) {}

  /// `lists` is how many entries of causes and notes are shown.
  std::string made(std::size_t lists) {
    out_.clear();
    const std::string title = d_.settings.title.empty() ? "Pixel data line" : words(d_.settings.title, 120);
    line(bold(title + ": " + shouted(d_.verdict.result)));
    line(words(d_.verdict.headline));
    setup();
    figures();
    failures(lists);
    reasons(lists);
    suggestion();
    asked();
    notes(lists);
    line(small("Made by pulsewright from one capture of the data signal. \"±\" is the expanded uncertainty, k = 2. It looks at the "
               "signal, it does not certify wiring."));
    return out_;
  }

 private:
  std::string words(std::string_view text, std::size_t longest = 400) const { return forum_words(text, markup_, longest); }
  std::string bold(const std::string& text) const {
    return markup_ == Markup::markdown ? "**" + text + "**" : "[b]" + text + "[/b]";
  }
  std::string small(const std::string& text) const {
    return markup_ == Markup::markdown ? "*" + text + "*" : "[i]" + text + "[/i]";
  }
  void line(const std::string& text) { out_ += text + "\n\n"; }

  void list(const std::string& heading, const std::vector<std::string>& items) {
    if (items.empty()) return;
    out_ += bold(heading) + (markup_ == Markup::markdown ? "\n\n" : "\n[list]\n");
    for (const auto& item : items) out_ += (markup_ == Markup::markdown ? "- " : "[*]") + item + "\n";
    out_ += markup_ == Markup::markdown ? "\n" : "[/list]\n\n";
  }

  void setup() {
    const auto& s = d_.settings;
    const auto& c = d_.capture;
    const auto stated = [](const Measured& value, const char* unit) { return value ? quantity(*value, unit) : "not stated"; };
    list("Set-up",
         {"Chip: " + words(s.windows.chip, 60) + " (windows " + words(s.windows.id, 60) +
              (s.protocol_stated ? ")" : ", not stated)") + ", supply " + quantity(s.supply_v, "V") +
              (s.supply_stated ? "" : " (assumed)"),
          "Series resistor: " + stated(s.series_ohm, "ohm") + "; cable: " + (s.cable.empty() ? "not stated" : words(s.cable, 60)) +
              ", length " + stated(s.length_m, "m"),
          std::string("Probe at the ") + (s.at == analyzer::ProbePosition::far ? "far end (pixel input)" : "near end (controller)") +
              ", factor " + number(s.probe_factor) + ", bandwidth " + stated(s.bandwidth_hz, "Hz"),
          "Capture: " + words(file_alone(c.file), 80) + ", " + words(channel_in_words(c.channel, 40), 60) + ", " + std::to_string(c.samples) +
              (c.logic ? " rows" : " samples") +
              (c.sample_interval_s > 0 ? " of " + quantity(c.sample_interval_s, "s") : std::string())});
  }

  struct Shown {
    std::string name;
    const Measured& value;
    const char* unit;
    std::string against = {};
  };

  static std::string window(const analyzer::Window& w) {
    if (w.min_s && w.max_s) return "datasheet " + quantity(*w.min_s, "s") + " to " + quantity(*w.max_s, "s");
    if (w.min_s) return "datasheet at least " + quantity(*w.min_s, "s");
    if (w.max_s) return "datasheet at most " + quantity(*w.max_s, "s");
    return w.nominal_s ? "datasheet nominal " + quantity(*w.nominal_s, "s") : "";
  }

  /// Those without a value are named together before their reason.
  void figures() {
    const auto& s = d_.settings;
    const std::array<Shown, 6> six{{{"Lowest settled high", d_.levels.high_plateau_min_v, "V", "needs " + quantity(s.vih_v, "V")},
                                    {"Highest settled low", d_.levels.low_plateau_max_v, "V", "needs below " + quantity(s.vil_v, "V")},
                                    {"Rising edge 10-90 %", d_.rising.duration_10_90_s, "s"},
                                    {"Overshoot", d_.rising.overshoot_ratio, "ratio"},
                                    {"High time of a 0", d_.pulses.zero.high_width.mean_s, "s", window(s.windows.t0h)},
                                    {"High time of a 1", d_.pulses.one.high_width.mean_s, "s", window(s.windows.t1h)}}};
    std::vector<std::string> items;
    FiguresWithout missing;
    for (const auto& [name, value, unit, against] : six) {
      if (value) items.push_back(name + ": " + quantity(value, unit) + (against.empty() ? "" : " (" + against + ")"));
      else missing.add(name, quantity(value, unit));
    }
    for (const auto& line : missing.lines()) items.push_back(words(line, 300));
    list("Six figures", items);
  }

  void failures(std::size_t most) {
    std::vector<std::string> items;
    for (const auto outcome : {analyzer::Outcome::fail, analyzer::Outcome::marginal})
      for (const auto* check : checks_with(d_, outcome, false)) {
        const auto limits = limits_in_words(*check), margin = margin_in_words(*check);
        items.push_back(spoken(outcome) + ": " + words(check->name, 120) + ", " + words(quantity(check->value, check->unit), 200) +
                        (limits.empty() ? "" : ", limit " + limits) + (margin.empty() ? "" : ", " + margin));
      }
    items.resize(std::min(items.size(), most));
    list("Not met", items);
  }

  void reasons(std::size_t most) {
    std::vector<std::string> items;
    for (const auto& cause : d_.verdict.causes) {
      if (cause.id == "none" || items.size() == most) break;
      const auto evidence = evidence_in_words(cause);
      items.push_back(words(cause.text) + " (confidence " + percent(cause.confidence) +
                      (evidence.empty() ? ")" : "; " + words(evidence) + ")"));
    }
    list("Why", items);
  }

  void suggestion() {
    const auto& s = d_.suggestion;
    std::vector<std::string> items;
    if (!s.text.empty()) items.push_back(words(s.text));
    if (s.action == analyzer::Action::change_series_resistor && s.series_ohm) {
      std::string part = "Part: " + words(part_in_words(s));
      if (s.acceptable_low_ohm && s.acceptable_high_ohm)
        part += "; acceptable " + resistance(*s.acceptable_low_ohm) + " to " + resistance(*s.acceptable_high_ohm);
      items.push_back(part + "; confidence " + percent(s.confidence));
    }
    if (items.empty() && !d_.verdict.causes.empty()) items.push_back(words(d_.verdict.causes.front().action));
    list("Suggestion", items);
  }

  void asked() {
    std::string asked = one_line(command_line_, 600);
    if (asked.empty()) return;
    replace_all(asked, "`", "'");
    if (markup_ == Markup::markdown)
      line("Asked: `" + asked + "`");
    else
      line("Asked: " + words(asked, 600));
  }

  void notes(std::size_t most) {
    std::vector<std::string> items;
    for (const auto* texts : {&d_.suggestion.assumptions, &d_.line.assumed, &d_.capture.notes})
      for (const auto& text : *texts) items.push_back(words(text, 250));
    items.resize(std::min(items.size(), most));
    list("Assumed and noted", items);
  }

  const Diagnosis& d_;
  Markup markup_;
  std::string_view command_line_;
  std::string out_;
};

/// Code points, as forums count.
std::size_t characters(std::string_view text) {
  return static_cast<std::size_t>(
      std::count_if(text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0u) != 0x80u; }));
}

}  // namespace

std::string forum_words(std::string_view text, Markup markup, std::size_t longest) {
  std::string made = one_line(text, longest);
  unlink(made);
  if (markup == Markup::markdown) return escaped_markdown(made);
  replace_all(made, "[", "(");
  replace_all(made, "]", ")");
  replace_all(made, "<", "‹");
  replace_all(made, ">", "›");
  return made;
}

std::string forum_post(const Diagnosis& diagnosis, Markup markup, std::string_view command_line) {
  Post post(diagnosis, markup, command_line);
  for (const std::size_t lists : {6u, 3u, 1u}) {
    std::string made = post.made(lists);
    if (characters(made) <= longest_forum_post) return made;
  }
  return post.made(0);
}

}  // namespace pulsewright::reports
