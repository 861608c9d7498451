#include "reports/cli/manual.hpp"

#include <vector>

#include "analyzer/line/tables.hpp"

namespace pulsewright::cli {

namespace {

constexpr std::size_t line_columns = 76;

/// Text as man(7) reads it: hyphens that can be copied, no escapes, characters outside ASCII by their number.
std::string roff(std::string_view text) {
  std::string made;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const auto c = static_cast<unsigned char>(text[i]);
    if (c == '\\') made += "\\e";
    else if (c == '-') made += "\\-";
    else made += text[i];
  }
  return made;
}

/// Input lines of at most `line_columns`, a new one after each sentence; none begins with a control character.
std::string filled(std::string_view text) {
  std::string made, line;
  const auto flush = [&] {
    if (line.empty()) return;
    made += (line.front() == '.' || line.front() == '\'' ? "\\&" : "") + line + "\n";
    line.clear();
  };
  std::size_t at = 0;
  while (at < text.size()) {
    const auto end = std::min(text.find(' ', at), text.size());
    const std::string word = roff(text.substr(at, end - at));
    if (!line.empty() && line.size() + 1 + word.size() > line_columns) flush();
    line += (line.empty() ? "" : " ") + word;
    if (word.ends_with('.') || word.ends_with(':')) flush();
    at = end + 1;
  }
  flush();
  return made;
}

std::string bold(std::string_view text) { return "\\fB" + roff(text) + "\\fR"; }
std::string slanted(std::string_view text) { return "\\fI" + roff(text) + "\\fR"; }

std::string item(const std::string& tag, std::string_view text) { return ".TP\n" + tag + "\n" + filled(text); }

std::string heading(const std::string& title, std::string_view date) {
  std::string upper = title;
  for (char& c : upper)
    if (c >= 'a' && c <= 'z') c = static_cast<char>(c - 32);
  return ".TH " + roff(upper) + " 1 " + std::string(date) + " \"pulsewright " PULSEWRIGHT_VERSION "\" \"User commands\"\n.SH NAME\n";
}

std::string page_of(const Command& command) { return "pulsewright-" + std::string(command.name); }

/// A command line in pieces that fit, joined again by a shell.
std::string shell_lines(std::string_view text) {
  std::string made, line;
  std::size_t at = 0;
  while (at < text.size()) {
    const auto end = std::min(text.find(" --", at + 1), text.size());
    const std::string piece(text.substr(at, end - at));
    if (line.size() + piece.size() > 66) made += roff(line) + " \\e\n", line = "   ";
    line += piece;
    at = end;
  }
  return made + roff(line) + "\n";
}

std::string examples(const Command& command) {
  std::string made = ".SH EXAMPLES\n" + filled("They run in the folder of the demo captures, whose place is invented: copy it from "
                                               "share/doc/pulsewright/captures-demo.");
  for (const auto& example : command.examples)
    made += ".PP\n" + filled(example.text) + ".PP\n.RS 4\n.EX\n" + shell_lines(example.command_line) + ".EE\n.RE\n";
  return made;
}

std::string statuses(std::span<const Meaning> own) {
  std::string made = ".SH EXIT STATUS\n";
  for (const auto& list : {own, failures()})
    for (const auto& meaning : list) made += item(bold(std::to_string(meaning.status)), meaning.text);
  return made;
}

std::string option_list(const Command& command) {
  std::string made = ".SH OPTIONS\n", group;
  for (const auto name : command.options) {
    const Option& entry = option(name);
    if (entry.group != group) made += ".SS " + roff(group = entry.group) + "\n";
    made += item(bold("--" + std::string(name)) + (entry.value.empty() ? "" : " " + slanted(entry.value)), entry.text);
  }
  return made + ".SS Other\n" + item(bold("--help"), "Show the options.");
}

template <class Kinds>
std::string kinds(const std::string& title, const Kinds& all) {
  std::string made = ".SH " + title + "\n";
  for (const auto& kind : all) made += item(bold(kind.id), std::string(kind.name) + ".");
  return made;
}

std::string cautions() {
  return ".SH CAUTIONS\n" +
         filled("Switch off and unplug before you change a resistor or touch wiring. The earth clip of a scope is at mains earth: never "
                "clip it to anything that is not at earth potential. The program looks at a data signal; it does not certify wiring: "
                "local electrical code and a licensed electrician decide.");
}

std::string see_also(std::string_view own) {
  std::string made = ".SH SEE ALSO\n", last;
  std::vector<std::string> pages{"pulsewright"};
  for (const auto& command : commands()) pages.push_back(page_of(command));
  for (const auto& page : pages) {
    if (page == own) continue;
    if (!last.empty()) made += ".BR " + roff(last) + " (1),\n";
    last = page;
  }
  return made + ".BR " + roff(last) + " (1)\n";
}

}  // namespace

std::string manual_page(std::string_view date) {
  std::string made = heading("pulsewright", date) + "pulsewright \\- verdict on the data signal of a pixel string\n.SH SYNOPSIS\n";
  for (const auto& command : commands())
    made += bold("pulsewright " + std::string(command.name)) + " " + slanted(argument_shown(command)) + " [options]\n.br\n";
  made += bold("pulsewright --help") + " | " + bold("--version") + "\n.SH DESCRIPTION\n" + filled(kPurpose);
  made += ".PP\n" + filled("\"-\" as a file is standard input or standard output.");
  made += ".SH COMMANDS\n";
  for (const auto& command : commands()) made += item(".BR " + roff(page_of(command)) + " (1)", command.text);
  return made + statuses(commands().front().statuses) + cautions() + see_also("pulsewright");
}

std::string manual_page(const Command& command, std::string_view date) {
  std::string lower(command.text.substr(0, command.text.size() - 1));
  lower.front() = static_cast<char>(lower.front() + 32);
  std::string made = heading(page_of(command), date) + filled(page_of(command) + " - " + lower) + ".SH SYNOPSIS\n" +
                     bold("pulsewright " + std::string(command.name)) + " " + slanted(argument_shown(command)) +
                     " [options]\n.SH DESCRIPTION\n";
  const char* between = "";
  for (const auto paragraph : command.description) made += between + filled(paragraph), between = ".PP\n";
  made += option_list(command);
  if (command.name == "diagnose" || command.name == "compare")
    made += kinds("CABLES", analyzer::cable_kinds()) + kinds("DRIVERS", analyzer::driver_kinds());
  return made + statuses(command.statuses) + examples(command) + cautions() + see_also(page_of(command));
}

}  // namespace pulsewright::cli
