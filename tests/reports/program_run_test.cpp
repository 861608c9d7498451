// The program as a user runs it.

#include <boost/test/unit_test.hpp>
#include <nlohmann/json.hpp>
#include <sstream>
#include <string>
#include <vector>

#include "tests/support/good_capture.hpp"
#include "tests/support/run_program.hpp"

namespace {

using namespace pulsewright;
using program::Folder;
using program::run;
using Names = std::vector<std::string>;
using program::good_capture;

std::string zero_hertz_wav() {
  const auto le = [](std::uint32_t value, int bytes) {
    std::string made;
    for (int i = 0; i < bytes; ++i) made += static_cast<char>(value >> (8 * i) & 0xFFu);
    return made;
  };
  std::string data(2000, '\0');
  for (std::size_t i = 0; i < data.size(); i += 40) data[i + 1] = 0x40;
  return "RIFF" + le(36 + 2000, 4) + "WAVEfmt " + le(16, 4) + le(1, 2) + le(1, 2) + le(0, 4) + le(0, 4) + le(2, 2) + le(16, 2) +
         "data" + le(2000, 4) + data;
}

std::string prices() {
  std::string text = "date,open,high,low,close\n";
  for (int day = 1; day <= 28; ++day)
    text += "2024-02-" + std::string(day < 10 ? "0" : "") + std::to_string(day) + ",101.5,103.2,100.9," + std::to_string(100 + day % 5) + "\n";
  return text;
}

}  // namespace

BOOST_AUTO_TEST_SUITE(program_run)

BOOST_AUTO_TEST_CASE(bad_input_gets_one_line_and_leaves_no_file) {
  const Folder folder;
  folder.write("empty.csv", "");
  std::string junk;
  for (unsigned i = 0; i < 5000; ++i) junk += static_cast<char>((i * 2654435761u) >> 24);
  folder.write("junk.bin", junk);
  folder.write("prices.csv", prices());
  folder.write("one.csv", "time,volts\n0,1\n");
  folder.write("nan.csv", "time,volts\n0,nan\n1e-8,nan\n2e-8,nan\n3e-8,nan\n");
  folder.write("zero.wav", zero_hertz_wav());
  std::filesystem::create_directory(folder.path() / "folder");
  const auto before = folder.names();
  for (const auto& [name, status] : std::vector<std::pair<std::string, int>>{{"missing.csv", 66}, {"empty.csv", 65}, {"folder", 66},
                                                                             {"junk.bin", 65}, {"prices.csv", 65}, {"one.csv", 65},
                                                                             {"nan.csv", 65}, {"zero.wav", 65}})
    for (const char* command : {"diagnose", "inspect"}) {
      const std::string outputs = std::string(command) == "diagnose" ? " --html o.html --json o.json --forum o.md --png o.png" : "";
      const auto result = run(folder, std::string("pulsewright ") + command + " " + name + outputs);
      BOOST_TEST(result.status == status, command << " " << name << ": " << result.status << " " << result.err);
      BOOST_TEST(result.complaints() == 1u, result.err);
      BOOST_TEST(result.err.starts_with("pulsewright: "), result.err);
      BOOST_TEST(result.out.empty());
      BOOST_TEST((folder.names() == before));
    }
}

BOOST_AUTO_TEST_CASE(one_edge_is_no_capture_of_a_data_line) {
  const Folder folder;
  std::string text = "time,volts\n";
  for (int i = 0; i < 200; ++i) text += std::to_string(i) + "e-8," + (i < 100 ? "0.01" : "4.98") + "\n";
  folder.write("edge.csv", text);
  const auto result = run(folder, "pulsewright diagnose edge.csv --html edge.html");
  BOOST_TEST(result.status == 65, result.status << result.out << result.err);
  BOOST_TEST(result.err == "pulsewright: edge.csv: expected a data line with whole pulses, found one edge in the whole record\n");
  BOOST_TEST(!std::filesystem::exists(folder.path() / "edge.html"));
}

BOOST_AUTO_TEST_CASE(wrong_usage_is_64_and_one_line) {
  const Folder folder;
  folder.write("c.csv", good_capture());
  for (const char* words : {"", "juggle", "diagnose", "inspect c.csv d.csv", "diagnose c.csv --unknown", "diagnose c.csv --supply",
                            "diagnose c.csv --supply 5Q", "diagnose c.csv --length 12", "diagnose c.csv --series-ohms 4k7k",
                            "diagnose c.csv --bandwidth 100", "diagnose c.csv --at middle", "diagnose c.csv --cable rope",
                            "diagnose c.csv --driver horse", "diagnose c.csv --protocol none-such", "diagnose c.csv --channel 9",
                            "diagnose c.csv --title ''", "diagnose c.csv --forum post.pdf", "diagnose c.csv --segment 0",
                            "diagnose c.csv --gain-accuracy 3", "diagnose c.csv --supply 5 --supply 6", "diagnose c.csv --quiet=perhaps",
                            "diagnose c.csv --html - --json -", "diagnose c.csv --html o --json o", "diagnose - --near -",
                            "inspect c.csv --html o.html", "protocols none-such", "diagnose c.csv --probe ten"}) {
    const auto result = run(folder, std::string("pulsewright ") + words);
    BOOST_TEST(result.status == 64, words << ": " << result.status << " " << result.err);
    BOOST_TEST(result.complaints() == 1u, words << ": " << result.err);
    BOOST_TEST(result.out.empty(), words);
    BOOST_TEST((folder.names() == Names{"c.csv"}), words);
  }
}

BOOST_AUTO_TEST_CASE(inspect_says_what_was_understood_and_what_was_dropped) {
  const Folder folder;
  folder.write("t.csv", "Points,9\nTime (s),A (V),B (V)\n0.000e-06,0.04,1\n0.025e-06,3.28,1\n0.050e-06,,\n0.075e-06,0.08,1\n0.100e-06,0.05,2\n"
                        "0.125e-06,3.31,2\n0.150e-06,3.26,1\n0.175e-06,0.09,1\n");
  const auto result = run(folder, "pulsewright inspect t.csv");
  BOOST_TEST(result.status == 0);
  const std::string expected =
      "t.csv\n"
      "  format     text: comma-separated, time column, names with units, metadata\n"
      "             above\n"
      "  interval   25 ns, standard uncertainty 100 ps (40 MHz); rule: time column,\n"
      "             (last - first) / (n - 1)\n"
      "  samples    5 found, 9 announced - not the same\n"
      "  begins at  75 ns\n"
      "  lasts      100 ns\n"
      "  record     2 of 2 (--segment takes another)\n"
      "\n"
      "Channels\n"
      "  1  A  V  50 mV to 3.31 V  analog\n"
      "  2  B  V  1 V to 2 V       analog\n"
      "\n"
      "Assumed, dropped or cut\n"
      "  - the file holds 2 records (gaps in time): record 2 with 5 rows is used\n"
      "  - 1 row without a value left out\n"
      "  - the header announces 9 samples, the file holds 7\n"
      "\n"
      "diagnose would take channel 1, A: of all channels it looks most like\n"
      "  pulse-width-coded data.\n"
      "  taken: 1, A: 2 edges, too few to tell.\n"
      "  not taken: 2, B: 2 edges, too few to tell.\n"
      "  pulsewright diagnose t.csv --channel 1\n";
  BOOST_TEST(result.out == expected);
}

BOOST_AUTO_TEST_CASE(an_input_is_never_written_over) {
  const Folder folder;
  const auto content = good_capture();
  folder.write("c.csv", content);
  std::filesystem::create_symlink("c.csv", folder.path() / "link.csv");
  std::filesystem::create_hard_link(folder.path() / "c.csv", folder.path() / "twin.csv");
  for (const char* path : {"c.csv", "./c.csv", "link.csv", "twin.csv"}) {
    const auto result = run(folder, std::string("pulsewright diagnose c.csv --json ") + path);
    BOOST_TEST(result.status == 64, path << result.err);
  }
  BOOST_TEST(folder.read("c.csv") == content);
}

BOOST_AUTO_TEST_CASE(outputs_that_cannot_be_written_are_73) {
  const Folder folder;
  folder.write("c.csv", good_capture());
  std::filesystem::create_directory(folder.path() / "d");
  const auto before = folder.names();
  for (const char* path : {"missing/o.json", "c.csv/o.json", "d", "/dev/full"}) {
    const auto result = run(folder, std::string("pulsewright diagnose c.csv --html o.html --json ") + path);
    BOOST_TEST(result.status == 73, path << ": " << result.status << " " << result.err);
    BOOST_TEST(result.complaints() == 1u, result.err);
    BOOST_TEST((folder.names() == before), path);
  }
  BOOST_TEST(run(folder, "pulsewright diagnose c.csv > /dev/full").status == 73);
  BOOST_TEST(run(folder, "pulsewright --help > /dev/full").status == 73);
}

BOOST_AUTO_TEST_CASE(all_reports_of_a_sound_capture) {
  const Folder folder;
  folder.write("c.csv", good_capture());
  const auto result = run(folder, "pulsewright diagnose c.csv --html o.html --json o.json --forum o.md --png o.png");
  BOOST_TEST(result.status <= 3, result.err);
  BOOST_TEST(result.err.empty(), result.err);
  BOOST_TEST((folder.names() == Names{"c.csv", "o.html", "o.json", "o.md", "o.png"}));
  const auto out = nlohmann::json::parse(folder.read("o.json"));
  const std::string verdict = out["verdict"]["result"];
  BOOST_TEST(result.status == (verdict == "pass" ? 0 : verdict == "fail" ? 1 : verdict == "marginal" ? 2 : 3));
  BOOST_TEST(out["capture"]["sha256"].get<std::string>().size() == 64u);
  BOOST_TEST(folder.read("o.html").starts_with("<!"));
  BOOST_TEST(folder.read("o.png").starts_with("\x89PNG"));
  BOOST_TEST(out["frames"]["hex"][0] == "12a500ff3c81");
}

BOOST_AUTO_TEST_CASE(standard_output_carries_one_result) {
  const Folder folder;
  folder.write("c.csv", good_capture());
  BOOST_TEST(nlohmann::json::parse(run(folder, "pulsewright diagnose c.csv --json -").out)["schema"] == "pulsewright.diagnosis.v1");
  BOOST_TEST(run(folder, "pulsewright diagnose c.csv --forum -").out.starts_with("**"));
  BOOST_TEST(run(folder, "pulsewright diagnose c.csv --html -").out.starts_with("<!"));
  BOOST_TEST(run(folder, "pulsewright diagnose c.csv --png -").out.starts_with("\x89PNG"));
  const auto quiet = run(folder, "pulsewright diagnose c.csv --quiet");
  BOOST_TEST(quiet.out.empty());
  BOOST_TEST(quiet.err.empty());
  const auto plain = run(folder, "pulsewright diagnose c.csv"), piped = run(folder, "pulsewright diagnose - < c.csv");
  BOOST_TEST(plain.status == quiet.status);
  BOOST_TEST(piped.status == plain.status, piped.err);
  BOOST_TEST(plain.out.find('\x1b') == std::string::npos);
}

BOOST_AUTO_TEST_CASE(inspect_names_rule_channel_and_the_next_command) {
  const Folder folder;
  folder.write("a b.csv", good_capture());
  const auto result = run(folder, "pulsewright inspect 'a b.csv'");
  BOOST_TEST(result.status == 0, result.err);
  for (const char* part : {"interval", "10 ns", "rule:", "samples", "far end", "analog", "diagnose would take channel 1",
                           "pulsewright diagnose 'a b.csv'"})
    BOOST_TEST(result.out.find(part) != std::string::npos, part << " in\n" << result.out);
}

BOOST_AUTO_TEST_CASE(inspect_says_why_each_channel_is_taken_or_not) {
  const Folder folder;
  // Beside the data line a rail and a clock of 100 kHz.
  std::string text, line;
  std::istringstream lines(good_capture());
  for (std::size_t row = 0; std::getline(lines, line); ++row) {
    if (row == 0) text += line + ",rail (V),clock (V)\n";
    else text += line + ",5.0" + std::to_string(row % 2) + "," + (row / 500 % 2 == 0 ? "0.0" : "3.3") + std::to_string(row % 3) + "\n";
  }
  folder.write("c.csv", text);
  const auto result = run(folder, "pulsewright inspect c.csv");
  BOOST_TEST(result.status == 0, result.err);
  for (const char* part : {"taken: 1, far end:", "in a window of ws28", "not taken: 2, rail: no two states with edges between them",
                           "not taken: 3, clock:", "no pixel chip known", "pulsewright diagnose c.csv --channel 1"})
    BOOST_TEST(result.out.find(part) != std::string::npos, part << " in\n" << result.out);
}

BOOST_AUTO_TEST_CASE(hostile_names_and_titles_stay_text) {
  const Folder folder;
  auto text = good_capture();
  text.replace(text.find("far end"), 7, "\xE2\x80\xAE<script>x</script>'\"&");
  folder.write("c.csv", text);
  const auto result = run(folder, "pulsewright diagnose c.csv --title \"$(printf '\\033]0;x\\007<b>')\" --html o.html");
  BOOST_TEST(result.status <= 3, result.err);
  BOOST_TEST(result.out.find('\x1b') == std::string::npos);
  BOOST_TEST(folder.read("o.html").find("<script>x") == std::string::npos);
  BOOST_TEST(run(folder, "pulsewright inspect c.csv").out.find("\xE2\x80\xAE") == std::string::npos);
}

BOOST_AUTO_TEST_CASE(help_version_and_protocols) {
  const Folder folder;
  BOOST_TEST(run(folder, "pulsewright --version").out.starts_with("pulsewright "));
  for (const char* words : {"--help", "diagnose --help", "inspect --help", "protocols --help"}) {
    const auto result = run(folder, std::string("pulsewright ") + words);
    BOOST_TEST(result.status == 0, words);
    BOOST_TEST(result.out.size() > 100u, words);
  }
  const auto one = run(folder, "pulsewright protocols WS2812B");
  BOOST_TEST(one.status == 0);
  BOOST_TEST(one.out.find("source") != std::string::npos);
  folder.write("own.txt", "[footbridge-800k]\nt0h_ns = 220 - 380\nt1h_ns = 580 800 1000\nsource = bench\n");
  BOOST_TEST(run(folder, "pulsewright protocols --windows own.txt").out.find("footbridge-800k") != std::string::npos);
  BOOST_TEST(run(folder, "pulsewright protocols --windows missing.txt").status == 66);
}

BOOST_AUTO_TEST_SUITE_END()
