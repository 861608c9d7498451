#include <filesystem>

#include "reports/cli/commands.hpp"
#include "reports/cli/exit_status.hpp"
#include "reports/cli/judge.hpp"
#include "reports/cli/terminal.hpp"
#include "reports/text/diagnosis_text.hpp"

namespace pulsewright::cli {

namespace {

int diagnose_one(const Arguments& arguments) {
  Outputs outputs({arguments.argument, arguments.near_file, arguments.windows_file});
  outputs.announce("html", arguments.html_file);
  outputs.announce("json", arguments.json_file);
  outputs.announce("forum", arguments.forum_file);
  outputs.announce("png", arguments.png_file);
  if (arguments.png_file == "-" && standard_output_is_terminal())
    throw UsageError("--png -: a picture does not go to a terminal; name a file or a pipe");
  const auto diagnosis = [&] {
    Progress progress;
    return judge(arguments.argument, arguments, settings_of(arguments), arguments.import, &progress);
  }();
  stage_reports(diagnosis, {.html = arguments.html_file, .json = arguments.json_file, .forum = arguments.forum_file,
                            .png = arguments.png_file, .question = arguments.question,
                            .title = diagnosis.settings.title}, outputs);
  outputs.commit();
  if (!arguments.quiet && !outputs.use_standard_output())
    write_standard_output(reports::diagnosis_text(diagnosis, style_of_standard_output()));
  return status_of(diagnosis.verdict.result);
}

/// Several captures, a folder of them, or one whose reports are to go into a folder: "*.csv" may find a single file.
bool many(const Arguments& arguments) {
  std::error_code none;
  if (arguments.captures.size() > 1 || std::filesystem::is_directory(arguments.argument, none)) return true;
  for (const auto* output : {&arguments.html_file, &arguments.json_file, &arguments.forum_file, &arguments.png_file})
    if (output->ends_with('/')) return true;
  return false;
}

}  // namespace

int diagnose(const Arguments& arguments) {
  if (!arguments.watch_folder.empty()) return watch(arguments);
  if (many(arguments)) return diagnose_many(arguments);
  return diagnose_one(arguments);
}

}  // namespace pulsewright::cli
