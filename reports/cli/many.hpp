#pragma once
// Captures judged one after the other or side by side, their reports in folders, and the summary of all.

#include <condition_variable>
#include <cstdint>
#include <map>
#include <mutex>
#include <set>
#include <string>
#include <vector>

#include "reports/cli/arguments.hpp"
#include "reports/survey.hpp"

namespace pulsewright::cli {

class Many {
 public:
  /// Checks what the options mean for many captures and makes the folders they name. Throws UsageError, OutputError, and
  /// what a windows file can be wrong in. `side_by_side`: as many as will be judged at a time.
  Many(const Arguments& arguments, const std::vector<std::string>& captures, unsigned side_by_side);

  /// Judges one capture and writes its reports; callable from several threads. What is wrong with the capture stands in the
  /// result; throws OutputError only. A capture judged again takes the place of its former entry.
  ///
  /// Waits while the files being judged hold more than 256 MB together, unless it would be alone.
  reports::SurveyEntry judge_capture(const std::string& capture);

  /// Writes index.html and the JSON of the summary, worst first, where options ask for them. Throws OutputError.
  void write_summary();

  /// Worst first.
  std::vector<reports::SurveyEntry> entries() const;

  /// Of the worst entry: fail, then not judged, marginal, cannot tell, pass. Without any entry: cannot tell.
  int status() const;

  bool uses_standard_output() const { return arguments_.json_file == "-"; }

 private:
  class Turn;
  std::string stem_for(const std::string& capture);
  std::string in_folder(const std::string& folder, const std::string& name) const;
  reports::SurveyEntry judged(const std::string& capture);

  const Arguments& arguments_;
  analyzer::Settings settings_;
  importers::ImportOptions import_;
  std::set<std::string> inputs_;               ///< never written over
  bool json_is_folder_ = false;

  mutable std::mutex mutex_;
  std::condition_variable room_;
  std::uintmax_t bytes_in_work_ = 0;
  std::size_t in_work_ = 0;
  std::map<std::string, std::string> stems_;   ///< capture to the name of its reports without ending
  std::set<std::string> stems_taken_{"index"};
  std::map<std::string, reports::SurveyEntry> entries_;
};

}  // namespace pulsewright::cli
