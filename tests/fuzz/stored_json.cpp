// The stored diagnosis that `compare` reads, and what is made of it. Almost any changed byte ends the syntax, so the
// engine changes values of the parsed tree instead.

#include <cstring>
#include <nlohmann/json.hpp>
#include <random>
#include <string>
#include <vector>

#include "analyzer/compare.hpp"
#include "reports/html/comparison_report.hpp"
#include "reports/json/comparison_json.hpp"
#include "reports/json/diagnosis_json.hpp"
#include "reports/text/comparison_text.hpp"
#include "tests/fuzz/checks.hpp"

namespace {

using namespace pulsewright;
using nlohmann::json;

void compare(const analyzer::Diagnosis& before, const analyzer::Diagnosis& after) {
  const auto comparison = analyzer::compare({before, after}, {"before", "after"});
  fuzz::require(json::accept(reports::comparison_json(comparison)), "a comparison is valid JSON");
  fuzz::require(!reports::comparison_text(comparison, {}).empty(), "a comparison has a text");
  fuzz::require(reports::comparison_report(comparison, {}).size() < std::size_t{8} << 20, "a page stays small");
}

#ifdef PULSEWRIGHT_FUZZ_ENGINE
/// Every value below `node`, itself included.
void collect(json& node, std::vector<json*>& all) {
  all.push_back(&node);
  if (node.is_structured())
    for (auto& item : node) collect(item, all);
}

json odd_value(std::minstd_rand& random) {
  static const std::vector<json> values{nullptr, true, false, 0, 1, -1, 1e-300, 1e300, -1e300, 5e-324, 0.5, 2.0, 1e-9, 1e9,
                                        18446744073709551615u, -9223372036854775807, 4294967296, "", "pass", "fail", "0",
                                        "\xC3\xA9\xE2\x80\xAE<b>", json::array(), json::object(), json::array({1, 2}),
                                        json::array({nullptr, nullptr})};
  return values[random() % values.size()];
}

void change(json& node, std::minstd_rand& random, const std::vector<json*>& all) {
  switch (random() % 6) {
    case 0: node = odd_value(random); break;
    case 1: node = json(*all[random() % all.size()]); break;
    case 2:
      if (node.is_array() && !node.empty() && node.size() < 1000) node.push_back(json(node[random() % node.size()]));
      break;
    case 3:
      if (node.is_array() && !node.empty()) node.erase(random() % node.size());
      if (node.is_object() && !node.empty()) node.erase(std::next(node.begin(), static_cast<std::ptrdiff_t>(random() % node.size())));
      break;
    case 4:
      if (node.is_number()) node = node.get<double>() * (random() % 2 == 0 ? -1 : 1000);
      break;
    default:
      if (node.is_number()) node = node.get<double>() + 1;
      break;
  }
}
#endif

}  // namespace

extern "C" {
int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);
std::size_t LLVMFuzzerMutate(std::uint8_t* data, std::size_t size, std::size_t max_size);
std::size_t LLVMFuzzerCustomMutator(std::uint8_t* data, std::size_t size, std::size_t max_size, unsigned seed);
}

int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  try {
    const auto read = reports::read_diagnosis_json(fuzz::text_of(data, size), "stored.json");
    const auto written = reports::diagnosis_json(read);
    const auto again = reports::read_diagnosis_json(written, "written.json");
    fuzz::require(reports::diagnosis_json(again) == written, "what was read and written reads as the same");
    compare(read, read);
    auto swapped = read;
    swapped.settings.series_ohm = analyzer::Measured::of(68);
    compare(read, swapped);
  } catch (const reports::DiagnosisReadError& error) {
    fuzz::require_one_line(error.what());
  }
  return 0;
}

#ifdef PULSEWRIGHT_FUZZ_ENGINE
std::size_t LLVMFuzzerCustomMutator(std::uint8_t* data, std::size_t size, std::size_t max_size, unsigned seed) {
  std::minstd_rand random(seed);
  json tree = json::parse(data, data + size, nullptr, false);
  if (tree.is_discarded() || random() % 50 == 0) return LLVMFuzzerMutate(data, size, max_size);
  for (unsigned rounds = 1 + random() % 3; rounds > 0; --rounds) {
    std::vector<json*> all;
    collect(tree, all);
    json& node = *all[random() % all.size()];
    change(node, random, all);
  }
  const std::string made = tree.dump(-1, ' ', false, json::error_handler_t::replace);
  if (made.size() > max_size) return size;
  std::memcpy(data, made.data(), made.size());
  return made.size();
}
#endif
