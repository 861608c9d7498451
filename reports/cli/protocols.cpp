#include <algorithm>

#include "analyzer/diagnose.hpp"
#include "reports/cli/commands.hpp"
#include "reports/cli/exit_status.hpp"
#include "reports/cli/output.hpp"
#include "reports/cli/terminal.hpp"
#include "reports/text/printable.hpp"
#include "reports/text/protocols_text.hpp"

namespace pulsewright::cli {

int protocols(const Arguments& arguments) {
  const auto own = own_windows(arguments.windows_file);
  const auto style = style_of_standard_output();
  if (!arguments.argument.empty()) {
    const auto* found = analyzer::find_windows(arguments.argument, own);
    if (found == nullptr)
      throw UsageError("no timing windows are called \"" + reports::one_line(arguments.argument, 60) +
                       "\"; \"pulsewright protocols\" lists them");
    write_standard_output(reports::protocol_text(*found, style));
    return exit_pass;
  }
  std::vector<analyzer::TimingWindows> all = own;
  const auto built_in = analyzer::built_in_windows();
  all.insert(all.end(), built_in.begin(), built_in.end());
  write_standard_output(reports::protocols_text(all, style));
  return exit_pass;
}

}  // namespace pulsewright::cli
