#include "reports/cli/arguments.hpp"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <array>
#include <map>

#include "analyzer/line/tables.hpp"
#include "reports/cli/exit_status.hpp"
#include "reports/cli/units.hpp"
#include "reports/text/printable.hpp"

namespace pulsewright::cli {

namespace {

std::string in_quotes(std::string_view text) { return "\"" + reports::one_line(text, 60) + "\""; }

/// What was typed for each option, before it means anything.
class Typed {
 public:
  std::map<std::string, std::string, std::less<>> values;
  std::vector<std::string> labels;
  std::map<std::string, bool, std::less<>> switches;
  std::map<std::string, const CLI::Option*, std::less<>> seen;

  bool has(std::string_view name) const {
    const auto found = seen.find(name);
    return found != seen.end() && found->second->count() > 0;
  }
  const std::string& text(std::string_view name) const { return values.find(name)->second; }

  /// The value of an option through one of the parsers of units.hpp.
  template <class T, class Parser>
  void into(std::optional<T>& place, std::string_view name, Parser parser) const {
    if (!has(name)) return;
    try {
      place = parser(text(name));
    } catch (const UnitError& error) {
      throw UsageError("--" + std::string(name) + ": expected " + error.what() + ", found " + in_quotes(text(name)));
    }
  }
  void into(std::string& place, std::string_view name) const {
    if (!has(name)) return;
    if (text(name).empty()) throw UsageError("--" + std::string(name) + ": expected a value, found an empty one");
    place = text(name);
  }
  void into(std::optional<std::string>& place, std::string_view name) const {
    if (has(name)) into(place.emplace(), name);
  }
};

void add_options(CLI::App& app, const Command& command, Typed& typed) {
  for (const auto name : command.options) {
    const std::string flag = "--" + std::string(name);
    if (name == "label") {  // the one option that may come several times
      typed.seen[std::string(name)] = app.add_option(flag, typed.labels)->allow_extra_args(false);
      continue;
    }
    CLI::Option* made = nullptr;
    if (option(name).value.empty())
      made = app.add_flag(flag, typed.switches[std::string(name)]);
    else
      made = app.add_option(flag, typed.values[std::string(name)])->allow_extra_args(false);
    typed.seen[std::string(name)] = made->multi_option_policy(CLI::MultiOptionPolicy::Throw);
  }
}

/// "CAPTURE" of "CAPTURE..."
std::string first_argument(const Command& command) { return std::string(command.argument.substr(0, command.argument.find_first_of(" ."))); }

/// The library's message for one mistake, in our words and on one line.
std::string mistake(const CLI::ParseError& error, const Command& command) {
  std::string text = reports::one_line(error.what(), 200);
  if (dynamic_cast<const CLI::RequiredError*>(&error) != nullptr) text = "no " + first_argument(command) + " given";
  return text + "; see \"pulsewright " + std::string(command.name) + " --help\"";
}

void take_settings(const Typed& typed, analyzer::Settings& settings) {
  typed.into(settings.protocol, "protocol");
  typed.into(settings.supply_v, "supply", parse_voltage_v);
  typed.into(settings.cable, "cable");
  if (settings.cable && analyzer::find_cable(*settings.cable) == nullptr)
    throw UsageError("--cable: expected a kind that \"pulsewright diagnose --help\" lists, found " +
                     in_quotes(*settings.cable));
  typed.into(settings.length_m, "length", parse_length_m);
  typed.into(settings.probe_factor, "probe", parse_probe_factor);
  typed.into(settings.multiply, "multiply", parse_factor);
  typed.into(settings.bandwidth_hz, "bandwidth", parse_frequency_hz);
  typed.into(settings.gain_accuracy_ratio, "gain-accuracy", parse_ratio);
  typed.into(settings.timebase_accuracy_ratio, "timebase-accuracy", parse_ratio);
  typed.into(settings.channel, "channel");
  typed.into(settings.near_channel, "near-channel");
  typed.into(settings.title, "title");
  if (typed.has("invert")) settings.invert = true;
  if (typed.has("at")) {
    const auto& end = typed.text("at");
    if (end != "far" && end != "near") throw UsageError("--at: expected far or near, found " + in_quotes(end));
    settings.at = end == "far" ? analyzer::ProbePosition::far : analyzer::ProbePosition::near;
  }
  if (typed.has("driver")) {
    try {
      settings.driver_ohm = parse_resistance_ohm(typed.text("driver"));
    } catch (const UnitError&) {  // then it is a family: 74hct245 begins with digits too
      typed.into(settings.driver, "driver");
      if (analyzer::find_driver(*settings.driver) == nullptr)
        throw UsageError("--driver: expected a resistance or a family that \"pulsewright diagnose --help\" lists, found " +
                         in_quotes(*settings.driver));
    }
  }
}

/// "220,68": resistors in the order of the captures.
std::vector<double> series_of(const Typed& typed) {
  std::vector<double> values;
  if (!typed.has("series-ohms")) return values;
  std::string_view rest = typed.text("series-ohms");
  while (true) {
    const auto comma = rest.find(',');
    try {
      values.push_back(parse_resistance_ohm(rest.substr(0, comma)));
    } catch (const UnitError& error) {
      throw UsageError(std::string("--series-ohms: expected ") + error.what() + ", found " + in_quotes(typed.text("series-ohms")));
    }
    if (comma == std::string_view::npos) return values;
    rest.remove_prefix(comma + 1);
  }
}

void take_series(const Typed& typed, const Command& command, Arguments& arguments) {
  arguments.series_ohms = series_of(typed);
  if (command.name == "compare" || arguments.series_ohms.empty()) return;
  if (arguments.series_ohms.size() > 1)
    throw UsageError("--series-ohms: expected a resistance such as 33ohm or 4k7, found " + in_quotes(typed.text("series-ohms")));
  arguments.settings.series_ohm = arguments.series_ohms.front();
}

void take_files(const Typed& typed, Arguments& arguments) {
  typed.into(arguments.import.sample_rate_hz, "sample-rate", parse_rate_hz);
  typed.into(arguments.import.full_scale_v, "full-scale", parse_voltage_v);
  typed.into(arguments.import.volts_per_count, "volts-per-count", parse_voltage_v);
  typed.into(arguments.import.record, "segment", parse_ordinal);
  if (std::optional<std::size_t> limit; typed.has("memory-limit")) {
    typed.into(limit, "memory-limit", parse_size_bytes);
    arguments.import.memory_limit_bytes = *limit;
  }
  typed.into(arguments.windows_file, "windows");
  typed.into(arguments.near_file, "near");
  typed.into(arguments.watch_folder, "watch");
  typed.into(arguments.html_file, "html");
  typed.into(arguments.json_file, "json");
  typed.into(arguments.forum_file, "forum");
  typed.into(arguments.png_file, "png");
  arguments.quiet = typed.has("quiet");
  arguments.import.want_sha256 = arguments.writes_report();
  const auto& forum = arguments.forum_file;
  const bool many = arguments.captures.size() > 1 || !arguments.watch_folder.empty() || forum.ends_with('/');
  if (!many && !forum.empty() && forum != "-" && !forum.ends_with(".md") && !forum.ends_with(".txt"))
    throw UsageError("--forum: expected a file that ends in .md (Markdown) or .txt (BBCode), found " + in_quotes(forum));
  const int inputs = (arguments.argument == "-") + (arguments.windows_file == "-") + (arguments.near_file == "-");
  if (inputs > 1) throw UsageError("only one input can be standard input");
}

const Command* command_named(std::string_view name) {
  const auto all = commands();
  const auto found = std::find_if(all.begin(), all.end(), [&](const Command& c) { return c.name == name; });
  return found == all.end() ? nullptr : &*found;
}

/// What was asked, without where the answers went and where the files lie.
std::string question_of(const std::vector<std::string>& words) {
  constexpr std::array<std::string_view, 4> outputs{"--html", "--json", "--forum", "--png"};
  constexpr std::array<std::string_view, 2> inputs{"--near", "--windows"};
  const auto among = [](const auto& names, std::string_view word) {
    return std::find(names.begin(), names.end(), word.substr(0, word.find('='))) != names.end();
  };
  std::string made = "pulsewright";
  for (std::size_t i = 0; i < words.size(); ++i) {
    const std::string_view word = words[i];
    const bool joined = word.find('=') != std::string_view::npos;
    if (word == "--quiet") continue;
    if (among(outputs, word)) {
      i += joined ? 0 : 1;
      continue;
    }
    const bool option = word.starts_with("--"), path = !option && word.find('/') != std::string_view::npos;
    if (option && joined && among(inputs, word))
      made += " " + std::string(word.substr(0, word.find('=') + 1)) + reports::shell_word(reports::file_alone(word.substr(word.find('=') + 1)));
    else
      made += " " + reports::shell_word(path ? reports::file_alone(word) : word);
  }
  return made;
}

/// Options and their values, without captures, outputs and what concerns many captures.
std::vector<std::string> asked_words(const std::vector<std::string>& words) {
  constexpr std::array<std::string_view, 7> dropped{"html", "json", "forum", "png", "watch", "title", "quiet"};
  std::vector<std::string> kept;
  for (std::size_t i = 1; i < words.size() && words[i] != "--"; ++i) {
    const std::string_view word = words[i];
    if (!word.starts_with("--")) continue;
    const std::string_view name = word.substr(2, word.find('=') == std::string_view::npos ? std::string_view::npos : word.find('=') - 2);
    const Option* known = find_option(name);
    if (known == nullptr) continue;  // a file, called "--" and something that no option is
    const bool value_follows = word.find('=') == std::string_view::npos && !known->value.empty() && i + 1 < words.size();
    if (std::find(dropped.begin(), dropped.end(), name) == dropped.end())
      kept.insert(kept.end(), words.begin() + static_cast<std::ptrdiff_t>(i), words.begin() + static_cast<std::ptrdiff_t>(i + 1 + value_follows));
    i += value_follows;
  }
  return kept;
}

std::vector<std::string> words_for(const Arguments& arguments, const std::string& capture) {
  std::vector<std::string> words{std::string(arguments.command->name), capture};
  words.insert(words.end(), arguments.asked_words.begin(), arguments.asked_words.end());
  return words;
}

std::string command_line_of(const std::vector<std::string>& words) {
  std::string made = "pulsewright";
  for (const auto& word : words) made += " " + reports::shell_word(word);
  return made;
}

}  // namespace

std::string question_for(const Arguments& arguments, const std::string& capture) {
  return question_of(words_for(arguments, capture));
}

Arguments parse_arguments(const std::vector<std::string>& words) {
  Arguments arguments;
  const auto asks = [&](const char* what) { return !words.empty() && words.front() == what; };
  if (words.empty()) throw UsageError("no command given; see \"pulsewright --help\"");
  arguments.help = asks("--help") || asks("-h");
  arguments.version = asks("--version");
  if (arguments.help || arguments.version) return arguments;
  arguments.command = command_named(words.front());
  if (arguments.command == nullptr)
    throw UsageError("no command is called " + in_quotes(words.front()) + "; see \"pulsewright --help\"");
  const Command& command = *arguments.command;

  CLI::App app;
  app.set_help_flag("");
  app.add_flag("-h,--help", arguments.help);
  Typed typed;
  std::vector<std::string> given;
  app.add_option(std::string(command.argument), given)->expected(0, command.several ? 1 << 20 : 1)->required(false);
  add_options(app, command, typed);
  try {
    std::vector<std::string> rest(words.rbegin(), words.rend() - 1);
    app.parse(rest);
  } catch (const CLI::ParseError& error) {
    throw UsageError(mistake(error, command));
  }
  if (arguments.help) return arguments;
  if (!given.empty()) arguments.argument = given.front();
  arguments.captures = given;
  arguments.labels = typed.labels;
  if (arguments.argument.empty() && !typed.has("watch") && (command.argument_required || !given.empty()))
    throw UsageError("no " + first_argument(command) + " given; see \"pulsewright " + std::string(command.name) + " --help\"");
  take_settings(typed, arguments.settings);
  take_series(typed, command, arguments);
  take_files(typed, arguments);
  arguments.command_line = command_line_of(words);
  arguments.question = question_of(words);
  arguments.asked_words = asked_words(words);
  return arguments;
}

}  // namespace pulsewright::cli
