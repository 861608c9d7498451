#include "reports/cli/run.hpp"

#include <cstdio>
#include <exception>
#include <new>

#include "analyzer/diagnose.hpp"
#include "importers/import_error.hpp"
#include "reports/cli/commands.hpp"
#include "reports/cli/exit_status.hpp"
#include "reports/cli/memory_ceiling.hpp"
#include "reports/cli/output.hpp"
#include "reports/cli/terminal.hpp"
#include "reports/json/diagnosis_json.hpp"
#include "reports/text/printable.hpp"

namespace pulsewright::cli {

namespace {

int dispatch(Arguments arguments) {
  auto& limit_bytes = arguments.import.memory_limit_bytes;
  if (limit_bytes == 0) limit_bytes = usual_memory_ceiling_bytes();
  set_memory_ceiling(limit_bytes);
  if (arguments.version || arguments.help) {
    const auto style = style_of_standard_output();
    write_standard_output(arguments.version          ? version()
                          : arguments.command != nullptr ? help(*arguments.command, style)
                                                         : help(style));
    return exit_pass;
  }
  if (arguments.command->name == "diagnose") return diagnose(arguments);
  if (arguments.command->name == "compare") return compare(arguments);
  if (arguments.command->name == "inspect") return inspect(arguments);
  return protocols(arguments);
}

int complain(std::string_view what, int status) {
  std::fprintf(stderr, "pulsewright: %s\n", reports::one_line(what).c_str());
  return status;
}

}  // namespace

int run(const std::vector<std::string>& words) {
  try {
    return dispatch(parse_arguments(words));
  } catch (const UsageError& error) {
    return complain(error.what(), exit_usage);
  } catch (const analyzer::SettingsError& error) {
    return complain(error.what(), exit_usage);
  } catch (const importers::ImportError& error) {
    const bool missing = error.kind == importers::ImportError::Kind::no_such_input;
    return complain(error.what(), missing ? exit_no_input : exit_unusable_data);
  } catch (const reports::DiagnosisReadError& error) {
    return complain(error.what(), exit_unusable_data);
  } catch (const OutputError& error) {
    return complain(error.what(), exit_no_output);
  } catch (const std::bad_alloc&) {
    return complain("the capture needs more memory than there is, or than --memory-limit allows", exit_unusable_data);
  } catch (const std::exception& error) {  // our mistake, or a library that failed: still one line
    return complain(std::string("internal error: ") + error.what(), exit_internal);
  }
}

}  // namespace pulsewright::cli
