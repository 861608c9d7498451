#include <algorithm>
#include <atomic>
#include <exception>
#include <filesystem>
#include <thread>

#include "importers/import_error.hpp"
#include "reports/cli/commands.hpp"
#include "reports/cli/folder.hpp"
#include "reports/cli/many.hpp"
#include "reports/cli/output.hpp"
#include "reports/cli/progress.hpp"
#include "reports/cli/terminal.hpp"
#include "reports/text/printable.hpp"
#include "reports/text/survey_text.hpp"

namespace pulsewright::cli {

namespace {

constexpr std::size_t most_side_by_side = 8;  // each may hold a whole capture

std::vector<std::string> captures_of(const Arguments& arguments) {
  std::vector<std::string> all;
  for (const auto& given : arguments.captures) {
    std::error_code none;
    if (!std::filesystem::is_directory(given, none)) {
      all.push_back(given);
      continue;
    }
    const auto inside = files_in(given);
    if (inside.empty())
      throw importers::ImportError(importers::ImportError::Kind::no_such_input, reports::one_line(given, 200), {}, "captures in the folder",
                                   "none");
    all.insert(all.end(), inside.begin(), inside.end());
  }
  return all;
}

/// Takes the next capture until none is left or one thread had to give up.
class Workers {
 public:
  Workers(Many& many, const std::vector<std::string>& captures, Progress& progress)
      : many_(many), captures_(captures), progress_(progress) {}

  void run(std::size_t side_by_side) {
    std::vector<std::thread> threads;
    for (std::size_t i = 1; i < side_by_side; ++i) threads.emplace_back([this] { work(); });
    work();
    for (auto& thread : threads) thread.join();
    if (given_up_) std::rethrow_exception(why_);
  }

 private:
  void work() try {
    for (std::size_t mine = next_++; mine < captures_.size() && !given_up_; mine = next_++) {
      many_.judge_capture(captures_[mine]);
      progress_.begin("judged " + std::to_string(++done_) + " of " + std::to_string(captures_.size()));
    }
  } catch (...) {
    if (!given_up_.exchange(true)) why_ = std::current_exception();
  }

  Many& many_;
  const std::vector<std::string>& captures_;
  Progress& progress_;
  std::atomic<std::size_t> next_{0}, done_{0};
  std::atomic<bool> given_up_{false};
  std::exception_ptr why_;
};

}  // namespace

int diagnose_many(const Arguments& arguments) {
  const auto captures = captures_of(arguments);
  const auto side_by_side = std::min({captures.size(), most_side_by_side,
                                      static_cast<std::size_t>(std::max(1u, std::thread::hardware_concurrency()))});
  Many many(arguments, captures, static_cast<unsigned>(side_by_side));
  {
    Progress progress;
    progress.begin("judging " + std::to_string(captures.size()) + " captures");
    Workers(many, captures, progress).run(side_by_side);
  }
  many.write_summary();
  if (!arguments.quiet && !many.uses_standard_output())
    write_standard_output(reports::survey_text(many.entries(), style_of_standard_output()));
  return many.status();
}

}  // namespace pulsewright::cli
