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
    Option{"near-channel", "NAME|N", kSetup, "Channel of the controller's end, in the --near capture or else in CAPTURE itself."},
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
    Option{"memory-limit", "SIZE", kFile, "Refuse what needs more memory than this, such as 512MB; unless stated, three quarters of the machine's."},
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

constexpr std::array<std::string_view, 29> kDiagnoseOptions{
    "protocol", "windows",   "supply",        "series-ohms",       "driver",  "cable",   "length",      "at",         "near",
    "near-channel", "probe",    "multiply",  "bandwidth",     "gain-accuracy",     "timebase-accuracy",  "channel",     "segment",    "sample-rate",
    "full-scale", "volts-per-count", "memory-limit", "invert", "watch", "title", "html", "json", "forum", "png", "quiet"};
constexpr std::array<std::string_view, 25> kCompareOptions{
    "protocol", "windows",   "supply",        "series-ohms",       "driver",  "cable",   "length",      "at",
    "probe",    "multiply",  "bandwidth",     "gain-accuracy",     "timebase-accuracy",  "channel",     "sample-rate",
    "full-scale", "volts-per-count", "memory-limit", "label", "title", "html", "json", "forum", "png", "quiet"};
constexpr std::array<std::string_view, 6> kInspectOptions{"channel", "segment", "sample-rate", "full-scale", "volts-per-count", "memory-limit"};
constexpr std::array<std::string_view, 1> kProtocolsOptions{"windows"};

constexpr std::array<std::string_view, 4> kDiagnoseDescription{
    "Reads the capture that an oscilloscope or logic analyzer exported, and prints the verdict on the data signal, the figures that "
    "decide it with their uncertainty, the likely cause, and what to change to which value. \"-\" is standard input.",
    "Several captures, or the files of a folder, are judged side by side. The terminal shows one line for each, worst first; a file that is "
    "no capture gets a line that says why and does not stop the others. --html, --forum and --png then name a folder, which is made "
    "when it is missing and gets one report a capture; with --html also index.html, the summary. --json FILE writes the summary, "
    "--json FOLDER/ every figure of each capture too. The exit status is that of the worst: fail, then a file that could not be "
    "judged, then marginal, cannot tell, pass. In a folder, hidden files and files that end in .html, .json, .md or .png are passed "
    "over, and folders inside are not entered.",
    "With --watch each capture is judged once it is complete: it holds something, and for two seconds neither its size nor its time "
    "of last write has changed. A file saved again under its name is judged again and takes the place of its former verdict; files that "
    "stood there before are left alone until they change. Ctrl-C (SIGINT) or SIGTERM finishes the capture in work, writes the summary "
    "and ends with the status of the worst, or 3 when none was judged; a second one ends at once.",
    kUnitsNote};
constexpr std::array<std::string_view, 4> kCompareDescription{
    "Judges two captures of the same line, before and after a change, and tells for each figure how far it moved against its "
    "uncertainty; a difference counts only where all of them together would stay quiet if nothing had changed. Where the earlier "
    "diagnosis predicted the waveform with the resistor that is fitted now, the prediction is held against the later capture.",
    "The bits are held against each other where both captures carry the same frame: each wrong bit is told with its frame, pixel, "
    "channel and bit. Other content is told as such.",
    "More than two captures are compared first with last, and ranked. A diagnosis stored with --json may stand for a capture; its file "
    "ends in .json.",
    "Quantities take units: 40ft, 33ohm, 4k7, 100MS/s, 100MHz, 3.3V."};
constexpr std::array<std::string_view, 1> kInspectDescription{
    "Tells what was understood of a file: format, time base and the rule by which it was found, channels with their range and unit, "
    "notes on what was assumed or dropped, and the command line that would judge it. Send its output along with a report of a file "
    "that is read wrongly."};
constexpr std::array<std::string_view, 2> kProtocolsDescription{
    "Lists the chips and editions of datasheets whose bit times are known. With an ID, or the name of a chip, everything known of it: "
    "widths, latch pause, input thresholds, source, and what such chips were measured to accept.",
    "Windows of your own go into a text file, given with --windows: a line [ID], then key = value. t0h_ns and t1h_ns are required "
    "(shortest - longest, or shortest typical longest); t0l_ns, t1l_ns, period_ns, period_tolerance_ns, latch_us, "
    "bits_per_pixel, idle (low or high), vih, vil (\"0.7 supply\" or \"3.5 V\"), chip and source are optional. \"#\" begins a comment."};

constexpr std::array kDiagnoseExamples{
    Example{"pulsewright diagnose far-220ohm.csv --protocol ws2815 --series-ohms 220 --cable pixel-18 --length 18m --html verdict.html",
            "The far end of 18 m of cable with 220 ohm fitted, as text and as a page."},
    Example{"pulsewright diagnose far-68ohm.wav --sample-rate 250MS/s --full-scale 8 --protocol ws2815",
            "A WAV file whose header holds a placeholder for the sample rate."},
    Example{"pulsewright diagnose far-220ohm.csv --near near-220ohm.csv --protocol ws2815 --series-ohms 220 --json -",
            "Both ends of the same run; every figure as JSON on standard output."},
    Example{"pulsewright diagnose . --protocol ws2815 --cable pixel-18 --length 18m --html reports/",
            "Every capture of this folder, with a page each and reports/index.html."},
    Example{"pulsewright diagnose --watch . --protocol ws2815 --html reports/",
            "Each capture as the scope saves it here, until Ctrl-C."}};
constexpr std::array kCompareExamples{
    Example{"pulsewright compare far-220ohm.csv far-68ohm.csv --protocol ws2815 --series-ohms 220,68 --cable pixel-18 --length 18m",
            "Did the smaller resistor help?"},
    Example{"pulsewright compare unchanged-before.csv unchanged-after.csv --label monday --label friday --html week.html",
            "The same line on two days, as a page with names of your own."}};
constexpr std::array kInspectExamples{Example{"pulsewright inspect far-220ohm.csv", "What is in this file?"}};
constexpr std::array kProtocolsExamples{
    Example{"pulsewright protocols", "Every chip known."},
    Example{"pulsewright protocols ws2815", "One of them, with its source."}};

constexpr std::array kVerdicts{
    Meaning{0, "Pass: every deciding figure lies within its limits, by more than its uncertainty."},
    Meaning{1, "Fail: one lies outside by more than its uncertainty."},
    Meaning{2, "Marginal: a limit lies inside the uncertainty."},
    Meaning{3, "Cannot tell: this capture does not show it. The report says how to capture again."}};
constexpr std::array kChanges{
    Meaning{0, "Better."}, Meaning{1, "Worse."}, Meaning{2, "No clear change."}, Meaning{3, "Not comparable; the report says why."}};
constexpr std::array kDone{Meaning{0, "Done."}};
constexpr std::array kFailures{
    Meaning{64, "Wrong usage."}, Meaning{65, "Unusable data: the file holds no capture that can be read."}, Meaning{66, "No such input."},
    Meaning{70, "Internal error: please report it, with the capture."}, Meaning{73, "Output cannot be written."}};

const std::array<Command, 4> kCommands{
    Command{"diagnose", "CAPTURE...", "Verdict for a capture of a data line, or for many and whole folders at once.", true,
            kDiagnoseOptions, true, kDiagnoseDescription, kDiagnoseExamples, kVerdicts},
    Command{"compare", "BEFORE AFTER", "What a change did; each difference against its uncertainty.", true, kCompareOptions, true,
            kCompareDescription, kCompareExamples, kChanges},
    Command{"inspect", "CAPTURE", "What was understood of a file; judges nothing.", true, kInspectOptions, false, kInspectDescription,
            kInspectExamples, kDone},
    Command{"protocols", "ID", "Timing windows known, with their source.", false, kProtocolsOptions, false, kProtocolsDescription,
            kProtocolsExamples, kDone}};

/// "0 pass, 1 fail": each meaning up to its first stop.
std::string statuses_in_short(std::span<const Meaning> meanings) {
  std::string made;
  for (const auto& meaning : meanings) {
    std::string word(meaning.text.substr(0, meaning.text.find_first_of(".:;")));
    word.front() = static_cast<char>(word.front() + ('a' - 'A'));
    made += (made.empty() ? "" : ", ") + std::to_string(meaning.status) + " " + word;
  }
  return made;
}

std::string status_line(const Command& command, const reports::TextStyle& style) {
  return "\n" + reports::paragraph("", "Exit status: " + statuses_in_short(command.statuses) + "; " + statuses_in_short(kFailures) + ".", 0, style);
}

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
std::span<const Meaning> failures() { return kFailures; }

std::string argument_shown(const Command& command) {
  return command.argument_required ? std::string(command.argument) : "[" + std::string(command.argument) + "]";
}

const Option* find_option(std::string_view name) {
  const auto found = std::find_if(kOptions.begin(), kOptions.end(), [&](const Option& o) { return o.name == name; });
  return found == kOptions.end() ? nullptr : &*found;
}

const Option& option(std::string_view name) {
  const Option* found = find_option(name);
  assert(found != nullptr);
  return *found;
}

std::string version() { return "pulsewright " PULSEWRIGHT_VERSION "\n"; }

std::string help(const reports::TextStyle& style) {
  std::string made = reports::paragraph("", kPurpose, 0, style);
  made += heading("Commands", style);
  std::vector<std::vector<reports::Cell>> rows;
  for (const auto& command : kCommands) {
    rows.push_back({{"pulsewright " + std::string(command.name) + " " + argument_shown(command), {}}, {std::string(command.text), {}}});
  }
  made += reports::table(rows, style);
  made += "\n" + reports::paragraph("", "\"pulsewright COMMAND --help\" lists the options of a command; --version names the "
                                        "version. \"-\" as a file is standard input or standard output.", 0, style);
  made += status_line(kCommands.front(), style);
  made += heading("Example", style);
  return made + "  pulsewright diagnose far-end.csv --series-ohms 220 --length 18m --html verdict.html\n";
}

std::string help(const Command& command, const reports::TextStyle& style) {
  std::string made = reports::paragraph("", command.text, 0, style);
  made += "\nUsage: pulsewright " + std::string(command.name) + " " + argument_shown(command) + " [options]\n";
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
  if (command.name == "diagnose" || command.name == "compare") {
    made += known_kinds("Cables", analyzer::cable_kinds(), style);
    made += known_kinds("Drivers", analyzer::driver_kinds(), style);
    made += "\n" + reports::paragraph("", kUnitsNote, 0, style);
  }
  return made + status_line(command, style);
}

}  // namespace pulsewright::cli
