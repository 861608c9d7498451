// Good files of every binary and compressed form, cut everywhere. Those of text are cut where their facts stand, in text_shapes_test.cpp.

#include "tests/importers/truncations.hpp"

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <functional>
#include <iterator>
#include <span>

#include "importers/import.hpp"
#include "tests/importers/text_support.hpp"

namespace {

using namespace pulsewright::importers;
using namespace pulsewright::tests;
namespace fs = std::filesystem;

Capture from_memory(const std::string& bytes) {
  ImportOptions options;
  options.want_sha256 = false;
  return import_bytes("cut", std::as_bytes(std::span(bytes)), options);
}

std::string content_of(const fs::path& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
}

/// The good files among the seeds of a fuzz target: those with an extension.
std::vector<fs::path> good_files(const std::string& folder, const std::string& extension) {
  std::vector<fs::path> files;
  for (const auto& entry : fs::directory_iterator(fs::path(PULSEWRIGHT_SOURCE_DIR) / folder))
    if (entry.path().extension() == extension) files.push_back(entry.path());
  std::sort(files.begin(), files.end());
  return files;
}

/// Two values are logic; of the first alone nobody can tell.
bool is_logic_with_one_level_so_far(const Capture& cut, const Capture& whole) {
  bool one_level = cut.dialect == whole.dialect && cut.channels.size() == whole.channels.size();
  for (std::size_t c = 0; one_level && c < cut.channels.size(); ++c) {
    const auto& values = cut.channels[c].values;
    const bool constant = std::adjacent_find(values.begin(), values.end(), std::not_equal_to<>()) == values.end();
    one_level = cut.channels[c].kind == whole.channels[c].kind || (whole.channels[c].kind == ChannelKind::logic && constant);
  }
  return one_level;
}

}  // namespace

BOOST_AUTO_TEST_SUITE(truncations)

BOOST_AUTO_TEST_CASE(every_wav_form_is_refused_or_told_to_be_short) {
  std::size_t forms = 0, partly_read = 0;
  for (const auto& file : good_files("tests/broken/wav", ".wav"))
    BOOST_TEST_CONTEXT(file) {
      const std::string good = content_of(file);
      const auto whole = read_cut(good, "cut", from_memory);
      if (!whole) continue;  // a seed with a list that the WAV library refuses
      ++forms;
      for (const auto length : cuts_of(good.size()))
        BOOST_TEST_CONTEXT("cut to " << length) {
          const auto cut = read_cut(good.substr(0, length), "cut", from_memory);
          if (!cut) continue;
          if (read_as_another_shape(*cut, *whole)) {
            BOOST_TEST(is_logic_with_one_level_so_far(*cut, *whole));
            continue;
          }
          check_beginning(*cut, *whole);
          ++partly_read;
          if (cut->samples < whole->samples) BOOST_TEST(has_note(*cut, "the file holds " + std::to_string(cut->samples)));
        }
    }
  BOOST_TEST(forms >= 8u);
  BOOST_TEST(partly_read > 10 * forms);
}

BOOST_AUTO_TEST_CASE(every_change_dump_is_refused_or_read_up_to_the_cut) {
  std::size_t dumps = 0, partly_read = 0;
  for (const auto& file : good_files("tests/broken/vcd", ".vcd"))
    BOOST_TEST_CONTEXT(file) {
      const std::string good = content_of(file);
      const Capture whole = from_memory(good);
      ++dumps;
      for (const auto length : cuts_of(good.size()))
        BOOST_TEST_CONTEXT("cut to " << length) {
          const auto cut = read_cut(good.substr(0, length), "cut", from_memory);
          if (!cut) continue;
          check_beginning(*cut, whole);
          ++partly_read;
          const bool between_words = good[length - 1] == ' ' || good[length - 1] == '\n' || good.substr(0, length).ends_with("$end");
          BOOST_TEST(has_note(*cut, "may be cut and was not used") != between_words);
        }
    }
  BOOST_TEST(dumps >= 3u);
  BOOST_TEST(partly_read > 10 * dumps);
}

BOOST_AUTO_TEST_CASE(compressed_files_are_refused_wherever_they_are_cut) {
  std::size_t files = 0;
  for (const auto& file : good_files("tests/broken/gzip", ".gz"))
    BOOST_TEST_CONTEXT(file) {
      const std::string good = content_of(file);
      if (!read_cut(good, "cut", from_memory)) continue;  // compressed twice
      ++files;
      std::size_t accepted = 0;
      for (const auto length : cuts_of(good.size())) accepted += read_cut(good.substr(0, length), "cut", from_memory).has_value();
      // Behind the first of two members, and in the four bytes that follow the second, the data stand whole.
      BOOST_TEST(accepted == (file.stem() == "two-members" ? 6u : 0u));
    }
  BOOST_TEST(files >= 4u);
}

BOOST_AUTO_TEST_CASE(demo_captures_are_refused_or_read_up_to_the_cut) {
  const auto files = good_files("captures-demo", ".csv");
  BOOST_TEST(files.size() >= 10u);
  for (const auto& file : files)
    BOOST_TEST_CONTEXT(file) {
      const std::string good = content_of(file);
      const Capture whole = from_memory(good);
      for (std::size_t part = 1; part < 20; ++part) {
        const std::size_t length = good.size() * part / 20;
        BOOST_TEST_CONTEXT("cut to " << length) check_cut_text(good, length, whole, "cut", from_memory);
      }
    }
}

BOOST_AUTO_TEST_SUITE_END()
