#include "reports/cli/many.hpp"

#include <algorithm>
#include <filesystem>
#include <new>
#include <thread>

#include "analyzer/diagnose.hpp"
#include "importers/import_error.hpp"
#include "reports/cli/exit_status.hpp"
#include "reports/cli/judge.hpp"
#include "reports/html/survey_page.hpp"
#include "reports/json/survey_json.hpp"
#include "reports/text/printable.hpp"

namespace pulsewright::cli {

namespace {

namespace fs = std::filesystem;

constexpr std::uintmax_t most_bytes_in_work = 256u << 20;

bool names_folder(const std::string& path) {
  std::error_code none;
  return !path.empty() && path != "-" && (fs::path(path).filename().empty() || fs::is_directory(path, none));
}

void make_folder(const char* option, const std::string& path) {
  if (path.empty()) return;
  if (!names_folder(path))
    throw UsageError("--" + std::string(option) + " " + reports::one_line(path, 200) +
                     ": with several captures this names a folder; end it with \"/\"");
  std::error_code error;
  fs::create_directory(fs::path(path).parent_path() / fs::path(path).filename(), error);
  if (!fs::is_directory(path))
    throw OutputError("cannot write " + reports::one_line(path, 200) + ": " + (error ? error.message() : "no such folder"));
}

std::string canonical(const std::string& path) {
  std::error_code error;
  const auto found = fs::weakly_canonical(path, error);
  return error ? path : found.string();
}

void refuse_unknown_protocol(const analyzer::Settings& settings) {
  if (settings.protocol && analyzer::find_windows(*settings.protocol, settings.own_windows) == nullptr)
    throw UsageError("no timing windows are called \"" + reports::one_line(*settings.protocol, 60) +
                     "\"; \"pulsewright protocols\" lists them");
}

/// The line of a complaint without the name of the file, which stands beside it.
std::string without_name(const std::string& line, const std::string& file) {
  for (const auto& name : {file, std::string(reports::file_alone(file))})
    if (line.starts_with(name) && line.size() > name.size() + 1) {
      const auto rest = line.substr(name.size());
      return rest.starts_with(": ") ? rest.substr(2) : rest.starts_with(", ") ? rest.substr(2) : "line " + rest.substr(1);
    }
  return line;
}

}  // namespace

/// A place among the captures in work, given back at the end.
class Many::Turn {
 public:
  Turn(Many& many, std::uintmax_t bytes) : many_(many), bytes_(bytes) {
    std::unique_lock lock(many_.mutex_);
    many_.room_.wait(lock, [&] { return many_.in_work_ == 0 || many_.bytes_in_work_ + bytes_ <= most_bytes_in_work; });
    many_.bytes_in_work_ += bytes_;
    ++many_.in_work_;
  }
  ~Turn() {
    {
      const std::scoped_lock lock(many_.mutex_);
      many_.bytes_in_work_ -= bytes_;
      --many_.in_work_;
    }
    many_.room_.notify_all();
  }
  Turn(const Turn&) = delete;
  Turn& operator=(const Turn&) = delete;

 private:
  Many& many_;
  std::uintmax_t bytes_;
};

Many::Many(const Arguments& arguments, const std::vector<std::string>& captures, unsigned side_by_side)
    : arguments_(arguments), import_(arguments.import) {
  if (!arguments.near_file.empty()) throw UsageError("--near goes with one capture");
  if (arguments.settings.near_channel) throw UsageError("--near-channel goes with one capture");
  if (std::find(captures.begin(), captures.end(), "-") != captures.end())
    throw UsageError("standard input is one capture and does not go with others");
  settings_ = settings_of(arguments);
  settings_.title.clear();  // that of the summary; each report keeps the name of its capture
  refuse_unknown_protocol(settings_);
  import_.threads = std::max(1u, std::thread::hardware_concurrency() / std::max(1u, side_by_side));
  for (const auto& file : captures) inputs_.insert(canonical(file));
  if (!arguments.windows_file.empty()) inputs_.insert(canonical(arguments.windows_file));
  json_is_folder_ = names_folder(arguments.json_file);
  make_folder("html", arguments.html_file);
  make_folder("forum", arguments.forum_file);
  make_folder("png", arguments.png_file);
  if (json_is_folder_) {
    make_folder("json", arguments.json_file);
  } else {
    Outputs(captures).announce("json", arguments.json_file);
  }
}

std::string Many::in_folder(const std::string& folder, const std::string& name) const {
  if (folder.empty()) return {};
  const std::string path = (fs::path(folder) / name).string();
  if (inputs_.contains(canonical(path)))
    throw UsageError(reports::one_line(path, 200) + ": that is an input; it is never written over");
  return path;
}

/// Letters, digits and ".-_" of the file's name, so that it can stand in any file system and link; told apart by a number.
std::string Many::stem_for(const std::string& capture) {
  const std::scoped_lock lock(mutex_);
  auto& stem = stems_[capture];
  if (!stem.empty()) return stem;
  std::string plain(reports::file_alone(capture));
  for (char& c : plain) {
    const bool kept = (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '.' || c == '-' || c == '_';
    if (!kept) c = '_';
  }
  if (plain.starts_with('.')) plain.front() = '_';
  plain.resize(std::min<std::size_t>(plain.size(), 100));
  stem = plain;
  for (int i = 2; !stems_taken_.insert(stem).second; ++i) stem = plain + "-" + std::to_string(i);
  return stem;
}

reports::SurveyEntry Many::judged(const std::string& capture) {
  const auto diagnosis = judge(capture, arguments_, settings_, import_, nullptr);
  auto entry = reports::survey_entry(diagnosis);
  entry.status = status_of(diagnosis.verdict.result);
  const std::string stem = stem_for(capture);
  ReportTargets targets{.html = in_folder(arguments_.html_file, stem + ".html"),
                        .json = json_is_folder_ ? in_folder(arguments_.json_file, stem + ".json") : "",
                        .forum = in_folder(arguments_.forum_file, stem + ".md"),
                        .png = in_folder(arguments_.png_file, stem + ".png"),
                        .question = question_for(arguments_, capture),
                        .title = {}};
  Outputs outputs({capture});
  for (const auto& [option, path] : {std::pair{"html", targets.html}, {"json", targets.json}, {"forum", targets.forum}, {"png", targets.png}})
    outputs.announce(option, path);
  stage_reports(diagnosis, targets, outputs);
  outputs.commit();
  if (!targets.html.empty()) entry.page = stem + ".html";
  return entry;
}

reports::SurveyEntry Many::judge_capture(const std::string& capture) {
  std::error_code unknown;
  const auto bytes = fs::file_size(capture, unknown);
  reports::SurveyEntry entry;
  const auto refuse = [&](const std::string& line, int status) {
    entry = {};
    entry.complaint = without_name(line, capture);
    entry.status = status;
  };
  try {
    const Turn turn(*this, unknown ? 0 : bytes);
    entry = judged(capture);
  } catch (const importers::ImportError& error) {
    refuse(error.what(), error.kind == importers::ImportError::Kind::no_such_input ? exit_no_input : exit_unusable_data);
  } catch (const analyzer::SettingsError& error) {
    refuse(error.what(), exit_usage);
  } catch (const std::bad_alloc&) {
    refuse("the capture does not fit into memory", exit_unusable_data);
  }
  entry.file = capture;
  const std::scoped_lock lock(mutex_);
  return entries_[capture] = entry;
}

std::vector<reports::SurveyEntry> Many::entries() const {
  std::vector<reports::SurveyEntry> all;
  {
    const std::scoped_lock lock(mutex_);
    for (const auto& [file, entry] : entries_) all.push_back(entry);
  }
  reports::sort_worst_first(all);
  return all;
}

int Many::status() const {
  const auto all = entries();
  return all.empty() ? static_cast<int>(exit_cannot_tell) : all.front().status;
}

void Many::write_summary() {
  const auto all = entries();
  Outputs outputs({});
  if (!arguments_.html_file.empty())
    outputs.stage(in_folder(arguments_.html_file, "index.html"),
                  reports::survey_page(all, {.program_version = version_alone(),
                                             .command_line = arguments_.command_line,
                                             .title = arguments_.settings.title,
                                             .forum_markdown = {},
                                             .forum_bbcode = {}}));
  if (!arguments_.json_file.empty())
    outputs.stage(json_is_folder_ ? in_folder(arguments_.json_file, "index.json") : arguments_.json_file,
                  reports::survey_json(all, status()));
  outputs.commit();
}

}  // namespace pulsewright::cli
