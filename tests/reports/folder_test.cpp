// When a file that is being saved counts as complete. The clock is the test's own.

#include "reports/cli/folder.hpp"

#include <boost/test/unit_test.hpp>

#include "importers/import_error.hpp"
#include "tests/support/run_program.hpp"

namespace {

using namespace pulsewright;
using namespace std::chrono_literals;
using cli::SavedFiles;
using program::Folder;
using Names = std::vector<std::string>;

/// A folder, the files seen in it, and a clock that only `after` moves.
struct Bench {
  Folder folder;
  SavedFiles::Clock::time_point now{};
  SavedFiles files{folder.path().string(), 2s, now};

  Names after(SavedFiles::Clock::duration passed) {
    Names names;
    for (const auto& file : files.complete(now += passed)) names.push_back(std::filesystem::path(file).filename().string());
    return names;
  }
};

/// Times of last write differ even where the file system's clock is coarse.
void touch_later(const std::filesystem::path& file) {
  std::filesystem::last_write_time(file, std::filesystem::last_write_time(file) + 1s);
}

}  // namespace

BOOST_AUTO_TEST_SUITE(folder)

BOOST_AUTO_TEST_CASE(files_that_may_be_captures) {
  const Folder folder;
  for (const char* name : {"b.csv", "a.WAV", "no-ending", "c.txt", ".hidden", "index.html", "index.json", "post.md", "p.PNG"}) folder.write(name, "x");
  std::filesystem::create_directory(folder.path() / "inside.csv");
  Names names;
  for (const auto& file : cli::files_in(folder.path().string())) names.push_back(std::filesystem::path(file).filename().string());
  const Names expected{"a.WAV", "b.csv", "c.txt", "no-ending"};
  BOOST_TEST(names == expected, boost::test_tools::per_element());
  BOOST_CHECK_THROW(cli::files_in((folder.path() / "missing").string()), importers::ImportError);
}

BOOST_AUTO_TEST_CASE(complete_once_nothing_changes_for_the_settling_time) {
  Bench bench;
  bench.folder.write("far.csv", "half");
  BOOST_TEST(bench.after(0s).empty());
  BOOST_TEST(bench.files.unfinished() == 1u);
  BOOST_TEST(bench.after(1900ms).empty());
  bench.folder.write("far.csv", "half and half");
  BOOST_TEST(bench.after(200ms).empty());
  BOOST_TEST(bench.after(1900ms).empty());
  BOOST_TEST((bench.after(100ms) == Names{"far.csv"}));
  BOOST_TEST(bench.files.unfinished() == 0u);
  BOOST_TEST(bench.after(60s).empty());
}

BOOST_AUTO_TEST_CASE(the_same_size_written_again_restarts_the_settling_time) {
  Bench bench;
  const auto file = bench.folder.write("far.csv", "1234");
  BOOST_TEST(bench.after(0s).empty());
  touch_later(file);
  BOOST_TEST(bench.after(1900ms).empty());
  BOOST_TEST(bench.after(1900ms).empty());
  BOOST_TEST((bench.after(100ms) == Names{"far.csv"}));
}

BOOST_AUTO_TEST_CASE(a_file_saved_again_is_told_of_again) {
  Bench bench;
  const auto file = bench.folder.write("far.csv", "first");
  BOOST_TEST(bench.after(0s).empty());
  BOOST_TEST((bench.after(2s) == Names{"far.csv"}));
  bench.folder.write("far.csv", "other");
  touch_later(file);
  BOOST_TEST(bench.after(5s).empty());
  BOOST_TEST((bench.after(2s) == Names{"far.csv"}));
}

BOOST_AUTO_TEST_CASE(an_empty_file_waits_and_a_removed_one_is_forgotten) {
  Bench bench;
  bench.folder.write("empty.csv", "");
  bench.folder.write("gone.csv", "x");
  BOOST_TEST(bench.after(0s).empty());
  BOOST_TEST(bench.files.unfinished() == 2u);
  std::filesystem::remove(bench.folder.path() / "gone.csv");
  BOOST_TEST(bench.after(60s).empty());
  BOOST_TEST(bench.files.unfinished() == 1u);
}

BOOST_AUTO_TEST_CASE(what_stood_there_before_is_told_of_only_once_it_changes) {
  const Folder folder;
  folder.write("old.csv", "x");
  SavedFiles::Clock::time_point now{};
  SavedFiles files(folder.path().string(), 2s, now);
  BOOST_TEST(files.complete(now += 10s).empty());
  folder.write("old.csv", "changed");
  BOOST_TEST(files.complete(now += 10s).empty());
  BOOST_TEST(files.complete(now += 10s).size() == 1u);
}

BOOST_AUTO_TEST_CASE(a_folder_that_goes_away_is_an_error) {
  auto folder = std::make_unique<Folder>();
  SavedFiles files(folder->path().string(), 2s, {});
  folder.reset();
  BOOST_CHECK_THROW(files.complete({}), importers::ImportError);
}

BOOST_AUTO_TEST_SUITE_END()
