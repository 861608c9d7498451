#include "reports/text/inspection_text.hpp"

#include "reports/quantity.hpp"
#include "reports/text/printable.hpp"

namespace pulsewright::reports {

namespace {

using importers::ChannelKind;

std::string kind_in_words(ChannelKind kind) {
  switch (kind) {
    case ChannelKind::analog: return "analog";
    case ChannelKind::counts: return "counts, levels are relative";
    case ChannelKind::logic: break;
  }
  return "logic";
}

std::string range_in_words(const importers::Channel& channel, const analyzer::ChannelRange& range) {
  if (channel.kind == ChannelKind::logic) return std::to_string(range.changes) + " changes";
  if (!range.lowest || !range.highest) return range.lowest.missing;
  if (channel.unit == "V" || channel.unit == "A") return quantity(*range.lowest, channel.unit) + " to " + quantity(*range.highest, channel.unit);
  return number(*range.lowest, 4) + " to " + number(*range.highest, 4);
}

std::string interval_in_words(const importers::Capture& capture) {
  if (!(capture.sample_interval_s > 0)) return "not known";
  std::string made = quantity(capture.sample_interval_s, "s", 6);
  if (capture.sample_interval_u_s > 0) made += ", standard uncertainty " + quantity(capture.sample_interval_u_s, "s", 2);
  made += " (" + quantity(1 / capture.sample_interval_s, "Hz", 6) + ")";
  return capture.sample_interval_rule.empty() ? made : made + "; rule: " + one_line(capture.sample_interval_rule, 200);
}

std::string samples_in_words(const importers::Capture& capture) {
  std::string made = std::to_string(capture.samples) + " found";
  if (!capture.samples_announced) return made + ", the file announces no number";
  made += ", " + std::to_string(*capture.samples_announced) + " announced";
  return made + (*capture.samples_announced == capture.samples ? "" : " - not the same");
}

std::string percent(double ratio) { return number(100 * ratio, 3) + " %"; }

/// What speaks for or against a channel as the data line.
std::string look_in_words(const analyzer::ChannelLook& look) {
  if (!look.two_states) return "no two states with edges between them";
  if (look.pulses < 2) return std::to_string(look.transitions) + (look.transitions == 1 ? " edge" : " edges") + ", too few to tell";
  std::string made = std::to_string(look.pulses) + " pulses, " + percent(look.steady_ratio) + " of their distances near " + quantity(look.period_s, "s", 3);
  if (!look.pixel_data) return made + ": rate or widths of no pixel chip known";
  return made + ", " + percent(look.in_windows_ratio) + " of their widths in a window of " + look.windows;
}

std::string diagnose_line(std::string_view command_line, const importers::Capture& capture, const analyzer::Inspection& inspection) {
  constexpr std::string_view before = "pulsewright inspect";
  std::string made = "pulsewright diagnose";
  if (command_line.starts_with(before)) made += command_line.substr(before.size());
  const bool stated = command_line.find(" --channel") != std::string_view::npos;
  if (!stated && capture.channels.size() > 1) made += " --channel " + std::to_string(inspection.channel + 1);
  return made;
}

}  // namespace

std::string inspection_text(const importers::Capture& capture, const analyzer::Inspection& inspection,
                            std::string_view command_line, const TextStyle& style) {
  std::string made = toned(one_line(capture.file_name, 200), Tone::strong, style) + "\n";
  std::vector<std::vector<Cell>> rows{{{"format", {}}, {one_line(capture.format) + ": " + one_line(capture.dialect, 300), {}}},
                                      {{"interval", {}}, {interval_in_words(capture), {}}},
                                      {{"samples", {}}, {samples_in_words(capture), {}}},
                                      {{"begins at", {}}, {quantity(capture.start_s, "s", 6), {}}},
                                      {{"lasts", {}}, {quantity(capture.span_s, "s", 6), {}}}};
  if (capture.records > 1)
    rows.push_back({{"record", {}}, {std::to_string(capture.record) + " of " + std::to_string(capture.records) +
                                         " (--segment takes another)", {}}});
  made += table(rows, style);

  made += "\n" + toned("Channels", Tone::strong, style) + "\n";
  rows.clear();
  for (std::size_t i = 0; i < capture.channels.size(); ++i) {
    const auto& channel = capture.channels[i];
    rows.push_back({{std::to_string(i + 1), {}},
                    {one_line(channel.name, 40), {}},
                    {channel.kind == ChannelKind::logic ? "-" : channel.unit.empty() ? "no unit" : one_line(channel.unit, 20), {}},
                    {range_in_words(channel, inspection.ranges[i]), {}},
                    {kind_in_words(channel.kind), {}}});
  }
  made += table(rows, style);

  if (!capture.notes.empty()) {
    made += "\n" + toned("Assumed, dropped or cut", Tone::strong, style) + "\n";
    for (const auto& note : capture.notes) made += paragraph("  - ", one_line(note, 400), 4, style);
  }
  made += "\n" + paragraph("", "diagnose would take channel " + std::to_string(inspection.channel + 1) + ", " +
                                   one_line(capture.channels[inspection.channel].name, 40) + ": " + inspection.channel_why + ".", 2, style);
  for (std::size_t i = 0; i < capture.channels.size() && i < inspection.looks.size(); ++i) {
    const bool taken = i == inspection.channel;
    made += paragraph(taken ? "  taken: " : "  not taken: ",
                      std::to_string(i + 1) + ", " + one_line(capture.channels[i].name, 40) + ": " + look_in_words(inspection.looks[i]) + ".", 4, style);
  }
  return made + "  " + diagnose_line(command_line, capture, inspection) + "\n";
}

}  // namespace pulsewright::reports
