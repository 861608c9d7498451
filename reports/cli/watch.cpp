#include <chrono>
#include <deque>
#include <thread>

#include "reports/cli/commands.hpp"
#include "reports/cli/exit_status.hpp"
#include "reports/cli/folder.hpp"
#include "reports/cli/interrupt.hpp"
#include "reports/cli/many.hpp"
#include "reports/cli/output.hpp"
#include "reports/cli/terminal.hpp"
#include "reports/text/printable.hpp"
#include "reports/text/survey_text.hpp"

namespace pulsewright::cli {

namespace {

using namespace std::chrono_literals;
constexpr auto between_looks = 200ms;
constexpr auto settle = 2s;  // scopes save in bursts; longer pauses than this are rare (common practice, no source)

}  // namespace

int watch(const Arguments& arguments) {
  const auto& folder = arguments.watch_folder;
  if (!arguments.captures.empty()) throw UsageError("--watch takes the captures of its folder; name no others");
  if (arguments.json_file == "-") throw UsageError("--json -: a watched folder needs a file or a folder for it");
  const Interrupt interrupt;
  SavedFiles files(folder, settle, SavedFiles::Clock::now());
  Many many(arguments, {}, 1);
  const auto say = [&](const std::string& text) {
    if (!arguments.quiet) write_standard_output(text);
  };
  const auto style = style_of_standard_output();
  say("Watching " + reports::one_line(folder, 200) + " for new captures; Ctrl-C ends it.\n");
  std::deque<std::string> waiting;
  while (!interrupt.asked()) {
    const auto saved = files.complete(SavedFiles::Clock::now());
    waiting.insert(waiting.end(), saved.begin(), saved.end());
    if (waiting.empty()) {
      std::this_thread::sleep_for(between_looks);
      continue;
    }
    say(reports::survey_row(many.judge_capture(waiting.front()), style));
    many.write_summary();
    waiting.pop_front();
  }
  many.write_summary();
  say("\n" + reports::survey_text(many.entries(), style));
  if (const auto left = waiting.size() + files.unfinished(); left > 0)
    say("\nNot judged, as they were still being saved: " + std::to_string(left) + ".\n");
  return many.status();
}

}  // namespace pulsewright::cli
