// A file has its name when it is whole: with and without a hidden name before.

#include <sys/resource.h>

#include <boost/test/unit_test.hpp>
#include <csignal>
#include <string>
#include <system_error>
#include <vector>

#include "reports/cli/new_file.hpp"
#include "tests/support/run_program.hpp"

namespace {

using pulsewright::cli::NewFile;
using pulsewright::program::Folder;
using Names = std::vector<std::string>;
namespace fs = std::filesystem;

constexpr auto both = {NewFile::Until::nameless_if_possible, NewFile::Until::hidden};

}  // namespace

BOOST_AUTO_TEST_SUITE(new_file)

BOOST_AUTO_TEST_CASE(it_takes_its_name_whole) {
  for (const auto until : both) {
    const Folder folder;
    NewFile file(folder.path(), until);
    file.write("all of it");
    BOOST_TEST(!fs::exists(folder.path() / "o.json"));
    file.take_name(folder.path() / "o.json", {});
    BOOST_TEST((folder.names() == Names{"o.json"}));
    BOOST_TEST(folder.read("o.json") == "all of it");
  }
}

BOOST_AUTO_TEST_CASE(what_stood_there_is_replaced_with_its_permissions_kept) {
  for (const auto until : both) {
    const Folder folder;
    folder.write("o.json", "yesterday");
    const auto permissions = fs::perms::owner_read | fs::perms::owner_write | fs::perms::group_read;
    NewFile file(folder.path(), until);
    file.write("today");
    file.take_name(folder.path() / "o.json", permissions);
    BOOST_TEST((folder.names() == Names{"o.json"}));
    BOOST_TEST(folder.read("o.json") == "today");
    BOOST_TEST((fs::status(folder.path() / "o.json").permissions() == permissions));
  }
}

BOOST_AUTO_TEST_CASE(a_name_that_somebody_took_meanwhile_is_replaced) {
  for (const auto until : both) {
    const Folder folder;
    NewFile file(folder.path(), until);
    file.write("ours");
    folder.write("o.json", "theirs");
    file.take_name(folder.path() / "o.json", {});
    BOOST_TEST((folder.names() == Names{"o.json"}));
    BOOST_TEST(folder.read("o.json") == "ours");
  }
}

BOOST_AUTO_TEST_CASE(given_up_it_leaves_nothing) {
  for (const auto until : both) {
    const Folder folder;
    { NewFile(folder.path(), until).write("half of"); }
    BOOST_TEST(folder.names().empty());
  }
}

BOOST_AUTO_TEST_CASE(before_it_has_its_name_it_is_hidden_or_not_there) {
  const Folder folder;
  const NewFile file(folder.path(), NewFile::Until::hidden);
  BOOST_TEST_REQUIRE(folder.names().size() == 1u);
  BOOST_TEST(folder.names().front().starts_with(".pulsewright-"));
#ifdef __linux__
  const Folder other;
  const NewFile nameless(other.path());
  BOOST_TEST(other.names().empty());
#endif
}

BOOST_AUTO_TEST_CASE(a_folder_or_disk_that_takes_nothing_is_an_error) {
  const auto refused = [](const std::errc expected) {
    return [expected](const std::system_error& error) { return error.code() == expected; };
  };
  for (const auto until : both) {
    const Folder folder;
    BOOST_CHECK_EXCEPTION(NewFile(folder.path() / "missing", until), std::system_error, refused(std::errc::no_such_file_or_directory));
    folder.write("file", "no folder");
    BOOST_CHECK_EXCEPTION(NewFile(folder.path() / "file", until), std::system_error, refused(std::errc::not_a_directory));
    std::signal(SIGXFSZ, SIG_IGN);
    rlimit before{};
    getrlimit(RLIMIT_FSIZE, &before);
    const rlimit small{4096, before.rlim_max};
    setrlimit(RLIMIT_FSIZE, &small);
    {
      NewFile file(folder.path(), until);
      BOOST_CHECK_EXCEPTION(file.write(std::string(100'000, 'x')), std::system_error, refused(std::errc::file_too_large));
    }
    setrlimit(RLIMIT_FSIZE, &before);
    BOOST_TEST((folder.names() == Names{"file"}));
  }
}

BOOST_AUTO_TEST_SUITE_END()
