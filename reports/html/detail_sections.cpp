#include <fmt/format.h>

#include <algorithm>

#include "reports/html/html.hpp"
#include "reports/html/page_shell.hpp"
#include "reports/html/sections.hpp"
#include "reports/text/check_words.hpp"

namespace pulsewright::reports::html {

namespace {

using analyzer::Check;
using analyzer::Diagnosis;
using analyzer::Frame;
using analyzer::Outcome;

constexpr std::size_t kMostSwatches = 64;

int hex_digit(char c) {
  if (c >= '0' && c <= '9') return c - '0';
  if (c >= 'A' && c <= 'F') return c - 'A' + 10;
  if (c >= 'a' && c <= 'f') return c - 'a' + 10;
  return -1;
}

/// Squares in the colours of the pixels; the first three bytes of each are taken as green, red, blue.
std::string swatches(const Frame& frame, unsigned bits_per_pixel) {
  const std::size_t digits = bits_per_pixel / 4;
  if (digits < 6 || frame.hex.size() < digits) return {};
  const std::size_t count = std::min(frame.hex.size() / digits, kMostSwatches);
  std::string squares;
  for (std::size_t i = 0; i < count; ++i) {
    const std::string pixel = frame.hex.substr(i * digits, 6);
    if (std::any_of(pixel.begin(), pixel.end(), [](char c) { return hex_digit(c) < 0; })) return {};
    squares += fmt::format("<rect x=\"{}\" y=\"{}\" width=\"14\" height=\"14\" fill=\"#{}{}{}\"/>", 1 + i % 32 * 16, 1 + i / 32 * 16,
                           pixel.substr(2, 2), pixel.substr(0, 2), pixel.substr(4, 2));
  }
  const std::size_t wide = std::min<std::size_t>(count, 32) * 16, tall = (count + 31) / 32 * 16;
  return fmt::format("<svg class=\"swatches\" viewBox=\"0 0 {0} {1}\" width=\"{0}\" height=\"{1}\" role=\"img\" aria-label=\"colours of "
                     "the first {2} pixels, taken as green, red, blue\">{3}</svg>", wide, tall, count, squares);
}

/// Hex digits in groups of one pixel.
std::string grouped(const std::string& hex, unsigned bits_per_pixel) {
  const std::size_t digits = std::max<std::size_t>(bits_per_pixel / 4, 2);
  std::string text;
  for (std::size_t i = 0; i < hex.size(); i += digits) text += (i ? " " : "") + hex.substr(i, digits);
  return text;
}

std::vector<std::string> frame_row(const Frame& f, std::size_t index, double first_s) {
  return {std::to_string(index + 1),
          figure_of(f.start_s - first_s, "s"),
          std::to_string(f.bits),
          std::to_string(f.pixels),
          std::to_string(f.leftover_bits),
          f.cut ? "cut by the record's end" : "yes",
          f.first_difference ? fmt::format("{} bits, first at bit {}", f.differing_bits, *f.first_difference + 1) : std::string("none")};
}

std::string limit_text(const Check& c) {
  if (c.limit_low && c.limit_high) return figure_of(*c.limit_low, c.unit) + " to " + figure_of(*c.limit_high, c.unit);
  if (c.limit_low) return "at least " + figure_of(*c.limit_low, c.unit);
  if (c.limit_high) return "at most " + figure_of(*c.limit_high, c.unit);
  return "none";
}

std::string one_check(const Check& c) {
  const std::string summary = fmt::format("{} <span class=\"check-name\">{}</span>{} <span class=\"check-value\">{}</span>", badge(c.result),
                                          escape(c.name), c.advisory ? " <span class=\"note\">advice only</span>" : "",
                                          figure_of(c.value, c.unit));
  std::string inside = words("p", "", c.text);
  inside += facts({{"Value", figure_of(c.value, c.unit)},
                   {"Limit", limit_text(c)},
                   {"Distance", c.value ? escape(margin_in_words(c)) : std::string("not known")},
                   {"Limit from", escape(c.source), true}});
  std::string markup = disclosure(summary, inside, c.result != Outcome::pass, "check");
  markup.insert(markup.find("<details") + 8, fmt::format(" data-result=\"{}\"", analyzer::to_string(c.result)));
  return markup;
}

std::string stated(bool is_stated) { return is_stated ? " (stated)" : " (assumed)"; }

std::string capture_facts(const Diagnosis& d) {
  const auto& c = d.capture;
  std::string channels;
  for (const auto& name : c.channels) channels += (channels.empty() ? "" : ", ") + name;
  return facts({{"File", escape(c.file)},
                {"Format", escape(c.format)},
                {"Written as", escape(c.dialect)},
                {"Channel judged", escape(c.channel)},
                {"Channels in the file", escape(channels)},
                {"Samples", std::to_string(c.samples)},
                {"Sample interval", figure_of(c.sample_interval_s, "s") + " from the " + escape(c.sample_interval_rule)},
                {"Length of the record", figure_of(c.span_s, "s")},
                {"Samples on an edge", figure_of(c.samples_on_edge, "1")},
                {"Step of the converter", figure_of(c.adc_step_v, "V")},
                {"Noise, rms", figure_of(c.noise_rms_v, "V")},
                {"Samples on a rail of the converter", fmt::format("{} low, {} high", c.clipped_low, c.clipped_high)}});
}

std::string setting_facts(const Diagnosis& d) {
  const auto& s = d.settings;
  return facts({{"Timing windows", escape(s.windows.id) + stated(s.protocol_stated)},
                {"Supply of the pixel", figure_of(s.supply_v, "V") + stated(s.supply_stated)},
                {"VIH, VIL", figure_of(s.vih_v, "V") + ", " + figure_of(s.vil_v, "V")},
                {"Series resistor fitted", figure_of(s.series_ohm, "ohm")},
                {"Driver resistance", figure_of(s.driver_ohm, "ohm")},
                {"Cable", escape(s.cable.empty() ? "not stated" : s.cable)},
                {"Length", figure_of(s.length_m, "m")},
                {"Probe at the", s.at == analyzer::ProbePosition::far ? "far end, at the pixel" : "near end, at the controller"},
                {"Probe factor", escape(number(s.probe_factor))},
                {"Bandwidth", figure_of(s.bandwidth_hz, "Hz")},
                {"Turned upside down", s.inverted ? "yes" : "no"}});
}

std::string copyable(std::string_view id, std::string_view name, std::string_view text) {
  const auto lines = std::clamp<std::ptrdiff_t>(std::count(text.begin(), text.end(), '\n') + 2, 2, 24);
  return fmt::format(
      "<div class=\"copyable\"><label for=\"{0}\">{1}</label>\n<textarea id=\"{0}\" readonly rows=\"{2}\" spellcheck=\"false\">\n{3}</textarea>\n"
      "<div class=\"tools script-only\"><button type=\"button\" data-copies=\"{0}\">Copy</button><output></output></div></div>\n",
      id, escape(name), lines, escape(text));
}

}  // namespace

std::string frames_section(const Diagnosis& d) {
  const auto& f = d.frames;
  std::string body = facts({{"Frames", std::to_string(f.count)},
                            {"Rate", figure_of(f.rate_hz, "Hz")},
                            {"Alike", f.frames.empty() ? "no frame to compare" : f.all_alike ? "yes, bit by bit" : "no"},
                            {"Bits that differ", std::to_string(f.differing_bits)}});
  std::vector<std::vector<std::string>> rows;
  for (std::size_t i = 0; i < f.frames.size(); ++i) rows.push_back(frame_row(f.frames[i], i, d.capture.start_s));
  if (!rows.empty())
    body += table("Frames", {"frame", "starts at", "bits", "pixels", "bits left over", "complete", "differs from the usual frame in"}, rows);
  const unsigned bits = d.settings.windows.bits_per_pixel;
  if (!f.frames.empty()) {
    body += words("p", "", "Decoded bytes, first received first. The squares take each pixel as green, red, blue: the order is assumed, "
                           "a capture cannot show it.");
    for (std::size_t i = 0; i < f.frames.size(); ++i) {
      const auto& frame = f.frames[i];
      const bool notable = i == 0 || frame.first_difference;
      body += disclosure(fmt::format("Frame {}{}", i + 1, frame.first_difference ? ", differs" : ""),
                         swatches(frame, bits) + words("p", "hex", grouped(frame.hex, bits)), notable && i < 8, "frame");
    }
  }
  return section("frames", "Frames and pixels", body);
}

std::string checks_section(const Diagnosis& d) {
  std::string body = R"(<div class="tools script-only" role="group" aria-label="Which checks to show"><button type="button" data-filter="all" aria-pressed="true">All</button><button type="button" data-filter="open" aria-pressed="false">Not passed</button><label for="check-search">Containing <input id="check-search" type="search" autocomplete="off"></label><output id="check-count"></output></div>)";
  std::vector<Check> ordered = d.checks;
  const auto weight = [](const Check& c) {
    return c.result == Outcome::fail ? 0 : c.result == Outcome::marginal ? 1 : c.result == Outcome::cannot_tell ? 2 : 3;
  };
  std::stable_sort(ordered.begin(), ordered.end(), [&](const Check& a, const Check& b) { return weight(a) < weight(b); });
  for (const auto& c : ordered) body += one_check(c);
  body += words("p", "note", "A check passes or fails only when the limit lies outside the expanded uncertainty (k = 2); else it is marginal "
                             "(guard bands after JCGM 106 and ILAC-G8). Cannot tell: the uncertainty fills the window, or the figure is missing.");
  return section("checks", "Every check", body);
}

std::string capture_section(const Diagnosis& d) {
  std::string body = element("div", "two", element("div", "", words("h3", "", "The file") + capture_facts(d)) +
                                               element("div", "", words("h3", "", "The set-up as used") + setting_facts(d)));
  if (!d.capture.notes.empty()) body += words("h3", "", "Notes of the reader") + list(d.capture.notes);
  if (!d.verdict.recapture_advice.empty())
    body += words("h3", "", "For a better capture") + list(d.verdict.recapture_advice);
  return section("capture", "The capture", body);
}

const std::vector<std::string>& cautions() {
  static const std::vector<std::string> texts{
      "Switch the power off and unplug it before you change a resistor or touch the wiring.",
      "The earth clip of a scope is at mains earth: never clip it to anything that is not at earth potential.",
      "Fuse each run.",
      "Outdoor supplies belong behind a residual-current device.",
      "This page looks at a data signal. It does not certify wiring: local electrical code and a licensed electrician decide."};
  return texts;
}

std::string cautions_section() { return section("cautions", "Cautions", list(cautions(), "cautions")); }

std::string forum_section(const ReportContext& context) {
  std::string body;
  if (!context.forum_markdown.empty()) body += copyable("forum-markdown", "As Markdown", context.forum_markdown);
  if (!context.forum_bbcode.empty()) body += copyable("forum-bbcode", "As BBCode", context.forum_bbcode);
  return body.empty() ? body : section("forum", "To ask in a forum", element("div", "two", body));
}

std::string repeat_section(const Diagnosis& d, const ReportContext& context) {
  std::string body = copyable("command-line", "Command line, for the folder that holds the capture", context.command_line);
  body += facts({{"Program", "pulsewright " + escape(context.program_version)},
                 {"SHA-256 of the capture", "<code>" + escape(d.capture.sha256) + "</code>"}});
  body += disclosure("Licence of the embedded plotting library",
                     words("p", "", "The zoomable view of the record is drawn by uPlot 1.6.") +
                         words("pre", "", plot_licence()), false);
  return section("repeat", "To repeat this", body);
}

}  // namespace pulsewright::reports::html
