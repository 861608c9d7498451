// Includes point one way: reports -> analyzer -> importers. Read from the sources themselves.

#include <boost/test/unit_test.hpp>
#include <filesystem>
#include <fstream>
#include <regex>
#include <string>
#include <vector>

namespace {

const std::filesystem::path root = PULSEWRIGHT_SOURCE_DIR;

/// Layer of a path relative to the root; higher layers may include lower ones.
int rank(const std::string& path) {
  if (path.starts_with("importers/")) return 0;
  if (path.starts_with("analyzer/")) return 1;
  if (path.starts_with("reports/")) return 2;
  return -1;
}

struct Include {
  std::string from, to;
};

std::vector<Include> project_includes() {
  std::vector<Include> found;
  const std::regex pattern(R"(^\s*#\s*include\s+[<"]((?:importers|analyzer|reports|tests)/[^">]+)[">])");
  for (const char* layer : {"importers", "analyzer", "reports"}) {
    for (const auto& entry : std::filesystem::recursive_directory_iterator(root / layer)) {
      if (entry.path().extension() != ".cpp" && entry.path().extension() != ".hpp") continue;
      std::ifstream file(entry.path());
      for (std::string line; std::getline(file, line);) {
        std::smatch match;
        if (std::regex_search(line, match, pattern))
          found.push_back({std::filesystem::relative(entry.path(), root).generic_string(), match[1]});
      }
    }
  }
  return found;
}

}  // namespace

BOOST_AUTO_TEST_SUITE(layers)

BOOST_AUTO_TEST_CASE(includes_point_from_reports_to_analyzer_to_importers) {
  const auto includes = project_includes();
  BOOST_TEST_REQUIRE(includes.size() > 10u);
  for (const auto& include : includes) {
    BOOST_TEST(rank(include.to) >= 0, include.from << " includes " << include.to);
    BOOST_TEST(rank(include.to) <= rank(include.from), include.from << " includes " << include.to);
  }
}

BOOST_AUTO_TEST_CASE(analyzer_neither_opens_files_nor_prints) {
  const std::regex forbidden(R"(#\s*include\s+<(fstream|iostream|cstdio|print|filesystem|fmt/ostream\.h)>)");
  for (const auto& entry : std::filesystem::recursive_directory_iterator(root / "analyzer")) {
    if (entry.path().extension() != ".cpp" && entry.path().extension() != ".hpp") continue;
    std::ifstream file(entry.path());
    for (std::string line; std::getline(file, line);)
      BOOST_TEST(!std::regex_search(line, forbidden), entry.path() << ": " << line);
  }
}

BOOST_AUTO_TEST_SUITE_END()
