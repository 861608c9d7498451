#include "reports/cli/options.hpp"

#include <algorithm>
#include <cassert>
#include <vector>

#include "analyzer/line/tables.hpp"

namespace pulsewright::cli {

namespace {

using reports::Tone;

constexpr std::string_view kSetup = "What you know of the line", kInstrument = "Probe and instrument",
                           kFile = "The capture", kReports = "Reports";

constexpr std::array kOptions{
    Option{"protocol", "ID", kSetup, "Chip or timing windows; \"pulsewright protocols\" lists them."},
    Option{"windows", "FILE", kSetup, "Own timing windows from a text file."},
    Option{"supply", "VOLTS", kSetup, "Supply of the receiving pixel; 5 V unless stated."},
    Option{"series-ohms", "OHMS", kSetup, "Series resistor fitted now, such as 100 or 4k7; to compare, one a capture (220,68) or the last one's."},
    Option{"driver", "FAMILY|OHMS", kSetup, "Family of the driver (listed below), or its output resistance."},
    Option{"cable", "KIND", kSetup, "Kind of cable (listed below)."},
    Option{"length", "LENGTH", kSetup, "Length of the cable, such as 12m or 40ft."},
    Option{"at", "far|near", kSetup, "Where the probe sat: at the pixel's input (far, the default) or at the controller (near)."},
    Option{"near", "CAPTURE", kSetup, "The same run captured at the controller's end."},
    Option{"probe", "FACTOR", kInstrument, "Attenuation of the probe, such as 10; sets the load it puts on the line."},
    Option{"multiply", "FACTOR", kInstrument, "Multiply every voltage of the file by this."},
    Option{"bandwidth", "FREQUENCY", kInstrument, "-3 dB bandwidth of scope and probe together, such as 100MHz."},
    Option{"gain-accuracy", "PART", kInstrument, "Limit of the scope's gain error; 3% unless stated."},
    Option{"timebase-accuracy", "PART", kInstrument, "Limit of the sample clock's error; 50ppm unless stated."},
    Option{"channel", "NAME|N", kFile, "Channel to judge, by name or counted from 1; else the one that looks like pixel data."},
    Option{"segment", "N", kFile, "Record to take where the file holds several, counted from 1; else the longest."},
    Option{"sample-rate", "RATE", kFile, "Sample rate, where the file's own is wrong or missing, such as 100MS/s."},
    Option{"full-scale", "VOLTS", kFile, "Volts at full scale of a WAV file."},
    Option{"volts-per-count", "VOLTS", kFile, "Volts a count, where a text file holds counts of the converter."},
    Option{"watch", "FOLDER", kFile, "Judge each new capture as it is saved into this folder, until Ctrl-C."},
    Option{"invert", "", kFile, "The capture is upside down."},
    Option{"label", "TEXT", kReports, "Name of a capture in the comparison; once a capture, in their order."},
    Option{"title", "TEXT", kReports, "Title of the reports."},
    Option{"html", "FILE", kReports, "Write the verdict as one HTML page; for several captures a folder (OUT/) for their pages and a summary."},
    Option{"json", "FILE", kReports, "Write every figure as JSON; for several captures a summary, or in a folder (OUT/) each."},
    Option{"forum", "FILE", kReports, "Write a forum post: Markdown (.md) or BBCode (.txt); for several captures a folder (OUT/)."},
    Option{"png", "FILE", kReports, "Write one picture of 1200 x 900 pixels; for several captures a folder (OUT/)."},
    Option{"quiet", "", kReports, "Print no summary; the exit status tells the verdict."},
};

constexpr std::array<std::string_view, 27> kDiagnoseOptions{
    "protocol", "windows",   "supply",        "series-ohms",       "driver",  "cable",   "length",      "at",         "near",
    "probe",    "multiply",  "bandwidth",     "gain-accuracy",     "timebase-accuracy",  "channel",     "segment",    "sample-rate",
    "full-scale", "volts-per-count", "invert", "watch", "title", "html", "json", "forum", "png", "quiet"};
constexpr std::array<std::string_view, 22> kCompareOptions{
    "protocol", "windows",   "supply",        "series-ohms",       "driver",  "cable",   "length",      "at",
    "probe",    "multiply",  "bandwidth",     "gain-accuracy",     "timebase-accuracy",  "channel",     "sample-rate",
    "full-scale", "volts-per-count", "label", "title", "html", "json", "quiet"};
constexpr std::array<std::string_view, 5> kInspectOptions{"channel", "segment", "sample-rate", "full-scale", "volts-per-count"};
constexpr std::array<std::string_view, 1> kProtocolsOptions{"windows"};

const std::array<Command, 4> kCommands{
    Command{"diagnose", "CAPTURE...", "Verdict for a capture of a data line, or for many and whole folders at once.", true, kDiagnoseOptions, true},
    Command{"compare", "BEFORE AFTER", "What a change did; each difference against its uncertainty.", true, kCompareOptions, true},
    Command{"inspect", "CAPTURE", "What was understood of a file; judges nothing.", true, kInspectOptions},
    Command{"protocols", "ID", "Timing windows known, with their source.", false, kProtocolsOptions}};

constexpr std::string_view kStatus =
    "Exit status: 0 pass, 1 fail, 2 marginal, 3 cannot tell; 64 wrong usage, 65 unusable data, 66 no such input, 73 output "
    "cannot be written.";

std::string heading(std::string_view text, const reports::TextStyle& style) {
  return "\n" + reports::toned(text, Tone::strong, style) + "\n";
}

template <class Kinds>
std::string known_kinds(std::string_view title, const Kinds& kinds, const reports::TextStyle& style) {
  std::vector<std::vector<reports::Cell>> rows;
  for (const auto& kind : kinds) rows.push_back({{std::string(kind.id), {}}, {std::string(kind.name), {}}});
  return heading(title, style) + reports::table(rows, style);
}

}  // namespace

std::span<const Option> options() { return kOptions; }
std::span<const Command> commands() { return kCommands; }

const Option& option(std::string_view name) {
  const auto found = std::find_if(kOptions.begin(), kOptions.end(), [&](const Option& o) { return o.name == name; });
  assert(found != kOptions.end());
  return *found;
}

std::string version() { return "pulsewright " PULSEWRIGHT_VERSION "\n"; }

std::string help(const reports::TextStyle& style) {
  std::string made = reports::paragraph(
      "", "pulsewright reads a capture of a pixel-LED data line and says whether the signal is sound, what is wrong, and which "
          "series resistor to fit.", 0, style);
  made += heading("Commands", style);
  std::vector<std::vector<reports::Cell>> rows;
  for (const auto& command : kCommands) {
    const std::string argument = command.argument_required ? std::string(command.argument) : "[" + std::string(command.argument) + "]";
    rows.push_back({{"pulsewright " + std::string(command.name) + " " + argument, {}}, {std::string(command.text), {}}});
  }
  made += reports::table(rows, style);
  made += "\n" + reports::paragraph("", "\"pulsewright COMMAND --help\" lists the options of a command; --version names the "
                                        "version. \"-\" as a file is standard input or standard output.", 0, style);
  made += "\n" + reports::paragraph("", kStatus, 0, style);
  made += heading("Example", style);
  return made + "  pulsewright diagnose far-end.csv --series-ohms 220 --length 18m --html verdict.html\n";
}

std::string help(const Command& command, const reports::TextStyle& style) {
  const std::string argument = command.argument_required ? std::string(command.argument) : "[" + std::string(command.argument) + "]";
  std::string made = reports::paragraph("", command.text, 0, style);
  made += "\nUsage: pulsewright " + std::string(command.name) + " " + argument + " [options]\n";
  std::string_view group;
  std::vector<std::vector<reports::Cell>> rows;
  const auto flush = [&] {
    if (rows.empty()) return;
    made += heading(group, style) + reports::table(rows, style);
    rows.clear();
  };
  for (const auto name : command.options) {
    const Option& entry = option(name);
    if (entry.group != group) flush();
    group = entry.group;
    rows.push_back({{"--" + std::string(name) + (entry.value.empty() ? "" : " ") + std::string(entry.value), {}},
                    {std::string(entry.text), {}}});
  }
  flush();
  if (command.name != "diagnose") return made;
  made += known_kinds("Cables", analyzer::cable_kinds(), style);
  made += known_kinds("Drivers", analyzer::driver_kinds(), style);
  made += "\n" + reports::paragraph("", "Everything is optional; what is not stated is assumed, and the report says so. Quantities "
                                        "take units: 40ft, 33ohm, 4k7, 100MS/s, 100MHz, 3.3V.", 0, style);
  return made + "\n" + reports::paragraph("", kStatus, 0, style);
}

}  // namespace pulsewright::cli
