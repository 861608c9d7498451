// What a shell can offer behind each word of the command line.

#include <string>
#include <vector>

#include "analyzer/line/tables.hpp"
#include "analyzer/protocol/windows.hpp"
#include "reports/cli/manual.hpp"

namespace pulsewright::cli {

namespace {

enum class Offer { nothing, files, folders, words };

struct Value {
  Offer offer = Offer::nothing;
  std::string words;  ///< between blanks
};

template <class Kinds>
Value ids(const Kinds& all) {
  Value value{Offer::words, {}};
  for (const auto& kind : all) value.words += (value.words.empty() ? "" : " ") + std::string(kind.id);
  return value;
}

/// What may stand for a placeholder of the help.
Value value_of(std::string_view placeholder) {
  if (placeholder.starts_with("FILE") || placeholder.starts_with("CAPTURE") || placeholder.starts_with("BEFORE")) return {Offer::files, {}};
  if (placeholder == "FOLDER") return {Offer::folders, {}};
  if (placeholder == "far|near") return {Offer::words, "far near"};
  if (placeholder == "KIND") return ids(analyzer::cable_kinds());
  if (placeholder == "FAMILY|OHMS") return ids(analyzer::driver_kinds());
  if (placeholder == "ID") return ids(analyzer::built_in_windows());
  return {};
}

std::string without(std::string text, char unwanted) {
  std::erase(text, unwanted);
  return text;
}

/// A text inside single quotes of any of the three shells.
std::string quoted(std::string_view text) { return "'" + without(std::string(text), '\'') + "'"; }

std::string command_names() {
  std::string names;
  for (const auto& command : commands()) names += std::string(command.name) + " ";
  return names + "--help --version";
}

std::string flags_of(const Command& command) {
  std::string flags = "--help";
  for (const auto name : command.options) flags += " --" + std::string(name);
  return flags;
}

std::string bash_values() {
  std::string cases;
  for (const auto& entry : options()) {
    if (entry.value.empty()) continue;
    const auto value = value_of(entry.value);
    cases += "    --" + std::string(entry.name) + ") ";
    switch (value.offer) {
      case Offer::files: cases += "compopt -o filenames; mapfile -t COMPREPLY < <(compgen -f -- \"$word\")"; break;
      case Offer::folders: cases += "compopt -o filenames; mapfile -t COMPREPLY < <(compgen -d -- \"$word\")"; break;
      case Offer::words: cases += "mapfile -t COMPREPLY < <(compgen -W " + quoted(value.words) + " -- \"$word\")"; break;
      case Offer::nothing: cases += ":"; break;
    }
    cases += "; return ;;\n";
  }
  return cases;
}

std::string zsh_value(std::string_view placeholder) {
  const auto value = value_of(placeholder);
  const std::string message = ":" + std::string(placeholder) + ":";
  switch (value.offer) {
    case Offer::files: return message + "_files";
    case Offer::folders: return message + "_files -/";
    case Offer::words: return message + "(" + value.words + ")";
    case Offer::nothing: break;
  }
  return message;
}

/// Brackets and colons end a part of a specification of _arguments.
std::string zsh_text(std::string_view text) {
  std::string made;
  for (const char c : text) made += c == '[' || c == ']' ? "" : c == ':' ? "\\:" : std::string(1, c);
  return without(made, '\'');
}

std::string fish_value(std::string_view placeholder) {
  const auto value = value_of(placeholder);
  switch (value.offer) {
    case Offer::files: return " -r -F";
    case Offer::folders: return " -x -a '(__fish_complete_directories)'";
    case Offer::words: return " -x -a " + quoted(value.words);
    case Offer::nothing: break;
  }
  return " -x";
}

}  // namespace

std::string bash_completion() {
  std::string made =
      "# bash completion for pulsewright\n\n_pulsewright() {\n  local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD-1]}\n"
      "  COMPREPLY=()\n  if [[ $COMP_CWORD -eq 1 ]]; then\n    mapfile -t COMPREPLY < <(compgen -W " + quoted(command_names()) +
      " -- \"$word\")\n    return\n  fi\n  case $before in\n" + bash_values() + "  esac\n  local flags=\n  case ${COMP_WORDS[1]} in\n";
  for (const auto& command : commands()) made += "    " + std::string(command.name) + ") flags=" + quoted(flags_of(command)) + " ;;\n";
  made += "  esac\n  if [[ $word == -* ]]; then\n    mapfile -t COMPREPLY < <(compgen -W \"$flags\" -- \"$word\")\n"
          "  elif [[ ${COMP_WORDS[1]} == protocols ]]; then\n    mapfile -t COMPREPLY < <(compgen -W " + quoted(value_of("ID").words) +
          " -- \"$word\")\n  else\n    compopt -o filenames\n    mapfile -t COMPREPLY < <(compgen -f -- \"$word\")\n  fi\n}\n\n"
          "complete -F _pulsewright pulsewright\n";
  return made;
}

std::string zsh_completion() {
  std::string made = "#compdef pulsewright\n\n_pulsewright() {\n  local -a commands\n  commands=(\n";
  for (const auto& command : commands()) made += "    '" + std::string(command.name) + ":" + zsh_text(command.text) + "'\n";
  made += "  )\n  if (( CURRENT == 2 )); then\n    _describe command commands\n    compadd -- --help --version\n    return\n  fi\n"
          "  local command=$words[2]\n  shift words\n  (( CURRENT-- ))\n  case $command in\n";
  for (const auto& command : commands()) {
    made += "    " + std::string(command.name) + ")\n      _arguments \\\n        '--help[Show the options.]' \\\n";
    for (const auto name : command.options) {
      const auto& entry = option(name);
      made += std::string("        '") + (name == "label" ? "*" : "") + "--" + std::string(name) + "[" + zsh_text(entry.text) + "]" +
              (entry.value.empty() ? "" : zsh_value(entry.value)) + "' \\\n";
    }
    made += std::string("        '") + (command.several ? "*" : "1") + zsh_value(command.argument) + "' ;;\n";
  }
  return made + "  esac\n}\n\n_pulsewright \"$@\"\n";
}

std::string fish_completion() {
  std::string names;
  for (const auto& command : commands()) names += (names.empty() ? "" : " ") + std::string(command.name);
  const std::string none = "-n 'not __fish_seen_subcommand_from " + names + "'";
  std::string made = "# fish completion for pulsewright\n\ncomplete -c pulsewright " + none + " -f\n";
  for (const auto& command : commands())
    made += "complete -c pulsewright " + none + " -a " + std::string(command.name) + " -d " + quoted(command.text) + "\n";
  made += "complete -c pulsewright " + none + " -l version -d 'Show the version.'\ncomplete -c pulsewright -l help -d 'Show help.'\n";
  for (const auto& command : commands()) {
    const std::string here = "complete -c pulsewright -n '__fish_seen_subcommand_from " + std::string(command.name) + "'";
    for (const auto name : command.options) {
      const auto& entry = option(name);
      made += here + " -l " + std::string(name) + (entry.value.empty() ? "" : fish_value(entry.value)) + " -d " + quoted(entry.text) + "\n";
    }
    if (command.argument == "ID") made += here + " -f -a " + quoted(value_of("ID").words) + "\n";
  }
  return made;
}

}  // namespace pulsewright::cli
