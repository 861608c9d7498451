#pragma once
// Expected output in files. REFRESH_GOLDEN=1 rewrites them; the difference is then reviewed like code.

#include <boost/test/unit_test.hpp>
#include <cstdlib>
#include <fstream>
#include <iterator>
#include <string>

namespace pulsewright::golden {

/// Compares with tests/golden/<name>. A file that is not there fails.
inline void matches(const std::string& name, const std::string& text) {
  const std::string path = std::string(PULSEWRIGHT_SOURCE_DIR) + "/tests/golden/" + name;
  if (std::getenv("REFRESH_GOLDEN") != nullptr) std::ofstream(path, std::ios::binary) << text;
  std::ifstream file(path, std::ios::binary);
  BOOST_TEST_REQUIRE(file.good(), "there is no " << path);
  const std::string expected((std::istreambuf_iterator<char>(file)), std::istreambuf_iterator<char>());
  BOOST_TEST(text == expected, name << " differs");
}

}  // namespace pulsewright::golden
