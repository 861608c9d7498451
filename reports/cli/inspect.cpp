#include "analyzer/inspect.hpp"

#include "reports/cli/commands.hpp"
#include "reports/cli/exit_status.hpp"
#include "reports/cli/output.hpp"
#include "reports/cli/progress.hpp"
#include "reports/cli/terminal.hpp"
#include "reports/text/inspection_text.hpp"

namespace pulsewright::cli {

int inspect(const Arguments& arguments) {
  std::optional<importers::Capture> capture;
  std::optional<analyzer::Inspection> inspection;
  {
    Progress progress;
    importers::ImportOptions options = arguments.import;
    options.progress = progress.fraction();
    progress.begin("reading " + arguments.argument);
    capture = importers::import_file(arguments.argument, options);
    progress.begin("looking at the channels of " + arguments.argument);
    inspection = analyzer::inspect(*capture, arguments.settings);
  }
  write_standard_output(reports::inspection_text(*capture, *inspection, arguments.command_line, style_of_standard_output()));
  return exit_pass;
}

}  // namespace pulsewright::cli
