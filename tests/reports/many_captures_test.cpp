// Several captures, a folder, and a folder being watched, as a user runs them.

#include <boost/test/unit_test.hpp>
#include <nlohmann/json.hpp>

#include "tests/support/good_capture.hpp"
#include "tests/support/run_program.hpp"

namespace {

using namespace pulsewright;
using program::count;
using program::Folder;
using program::good_capture;
using program::run;
using Names = std::vector<std::string>;

std::string flat() {
  std::string text = "time (s),far end (V)\n";
  for (int i = 0; i < 3000; ++i) text += std::to_string(i * 10) + "e-9,0.0" + std::to_string(i % 3) + "\n";
  return text;
}

}  // namespace

BOOST_AUTO_TEST_SUITE(many_captures)

BOOST_AUTO_TEST_CASE(a_folder_gives_summary_and_reports_and_goes_on_past_what_is_no_capture) {
  const Folder folder;
  std::filesystem::create_directory(folder.path() / "bench");
  folder.write("bench/good.csv", good_capture());
  folder.write("bench/flat.csv", flat());
  folder.write("bench/shopping.txt", "milk\nbread\n");
  folder.write("bench/notes.md", "passed over");
  const auto result = run(folder, "pulsewright diagnose bench --title 'Pump house' --html out/ --json all.json --png out/ --forum out/");
  BOOST_TEST(result.err.empty(), result.err);
  BOOST_TEST((folder.names("out") == Names{"flat.csv.html", "flat.csv.md", "flat.csv.png", "good.csv.html", "good.csv.md",
                                                       "good.csv.png", "index.html"}));
  const auto out = nlohmann::json::parse(folder.read("all.json"));
  BOOST_TEST(out["captures"].size() == 3u);
  BOOST_TEST(out["counts"]["not-judged"] == 1);
  BOOST_TEST(result.out.starts_with("3 files: "), result.out);
  BOOST_TEST(count(result.out, "shopping.txt") == 1u);
  BOOST_TEST(result.status == out["status"].get<int>());
  BOOST_TEST(result.status == out["captures"][0]["status"].get<int>());
  const auto page = folder.read("out/index.html");
  BOOST_TEST(count(page, "<a href=\"good.csv.html\">good.csv</a>") == 1u);
  BOOST_TEST(count(page, "Pump house") >= 1u);
  // Each report tells how to repeat it alone.
  BOOST_TEST(count(folder.read("out/good.csv.html"), "\npulsewright diagnose good.csv</textarea>") == 1u);
}

BOOST_AUTO_TEST_CASE(one_of_many_is_judged_as_it_is_alone) {
  const Folder folder;
  folder.write("a.csv", good_capture());
  folder.write("b.csv", flat());
  const auto many = run(folder, "pulsewright diagnose a.csv b.csv --supply 5 --json each/");
  for (const char* name : {"a.csv", "b.csv"}) {
    const auto alone = run(folder, std::string("pulsewright diagnose --supply 5 --json - ") + name);
    BOOST_TEST(folder.read("each/" + std::string(name) + ".json") == alone.out, name);
  }
  BOOST_TEST((folder.names("each") == Names{"a.csv.json", "b.csv.json", "index.json"}));
  BOOST_TEST(many.out.starts_with("2 files: "));
}

BOOST_AUTO_TEST_CASE(one_capture_into_a_folder) {
  const Folder folder;
  folder.write("only.csv", good_capture());
  const auto result = run(folder, "pulsewright diagnose *.csv --html out/ --forum out/");
  BOOST_TEST(result.status == 0, result.err);
  BOOST_TEST((folder.names("out") == Names{"index.html", "only.csv.html", "only.csv.md"}));
}

BOOST_AUTO_TEST_CASE(the_worst_gives_the_exit_status) {
  const Folder folder;
  folder.write("good.csv", good_capture());
  folder.write("flat.csv", flat());
  folder.write("shopping.txt", "milk\nbread\n");
  const int good = run(folder, "pulsewright diagnose good.csv --quiet").status, bad = run(folder, "pulsewright diagnose flat.csv --quiet").status;
  BOOST_TEST(good == 0);
  BOOST_TEST(run(folder, "pulsewright diagnose good.csv good.csv --quiet").status == good);
  BOOST_TEST(run(folder, "pulsewright diagnose good.csv flat.csv --quiet").status == bad);
  BOOST_TEST(run(folder, "pulsewright diagnose good.csv shopping.txt --quiet").status == 65);
  BOOST_TEST(run(folder, "pulsewright diagnose good.csv missing.csv --quiet").status == 66);
}

BOOST_AUTO_TEST_CASE(names_alike_and_awkward_names_do_not_meet) {
  const Folder folder;
  for (const char* name : {"one", "two"}) std::filesystem::create_directory(folder.path() / name);
  folder.write("one/far.csv", good_capture());
  folder.write("two/far.csv", good_capture());
  folder.write("index", good_capture());
  folder.write("a b'\"\n<\xFF.csv", good_capture());
  const auto result = run(folder, "pulsewright diagnose one two/far.csv index a*.csv --html out/");
  BOOST_TEST((folder.names("out") == Names{"a_b_____.csv.html", "far.csv-2.html", "far.csv.html", "index-2.html", "index.html"}), result.err);
}

BOOST_AUTO_TEST_CASE(wrong_use_is_one_line_and_leaves_nothing) {
  const Folder folder;
  folder.write("a.csv", good_capture());
  folder.write("b.csv", good_capture());
  std::filesystem::create_directory(folder.path() / "empty");
  const auto before = folder.names();
  for (const auto& [words, status] : std::vector<std::pair<std::string, int>>{{"a.csv b.csv --near a.csv", 64},
                                                                              {"a.csv - < b.csv", 64},
                                                                              {"a.csv b.csv --html -", 64},
                                                                              {"a.csv b.csv --html one.html", 64},
                                                                              {"a.csv b.csv --png one.png", 64},
                                                                              {"a.csv b.csv --json a.csv", 64},
                                                                              {"a.csv b.csv --protocol none-such", 64},
                                                                              {"a.csv b.csv --series-ohms 68,220", 64},
                                                                              {"a.csv b.csv --html missing/out/", 73},
                                                                              {"a.csv b.csv --html a.csv/", 73},
                                                                              {"a.csv b.csv --json missing/o.json", 73},
                                                                              {"empty", 66},
                                                                              {"a.csv --watch .", 64},
                                                                              {"--watch . --json -", 64},
                                                                              {"--watch missing", 66}}) {
    const auto result = run(folder, "pulsewright diagnose " + words);
    BOOST_TEST(result.status == status, words << ": " << result.status << " " << result.err);
    BOOST_TEST(result.complaints() == 1u, words << ": " << result.err);
    BOOST_TEST((folder.names() == before), words);
  }
}

BOOST_AUTO_TEST_CASE(a_channel_that_one_capture_lacks_is_that_capture_s_line) {
  const Folder folder;
  folder.write("a.csv", good_capture());
  auto other = good_capture();
  other.replace(other.find("far end"), 7, "pin 7");
  folder.write("b.csv", other);
  const auto result = run(folder, "pulsewright diagnose a.csv b.csv --channel 'pin 7' --json -");
  const auto out = nlohmann::json::parse(result.out);
  BOOST_TEST(out["counts"]["not-judged"] == 1);
  BOOST_TEST(out["captures"][0]["file"] == "a.csv");
  BOOST_TEST(out["captures"][0]["status"] == 64);
}

BOOST_AUTO_TEST_CASE(many_captures_side_by_side_give_the_same_every_time) {
  const Folder folder;
  std::filesystem::create_directory(folder.path() / "bench");
  for (int i = 0; i < 24; ++i) folder.write("bench/c" + std::to_string(i) + ".csv", i % 3 == 0 ? flat() : good_capture());
  const auto first = run(folder, "pulsewright diagnose bench --json -"), second = run(folder, "pulsewright diagnose bench --json -");
  BOOST_TEST(first.out == second.out);
  BOOST_TEST(nlohmann::json::parse(first.out)["captures"].size() == 24u);
}

// The program runs in the background; the shell saves a file in two halves with a pause shorter than the settling time,
// waits for the verdict, and sends the signal.
std::string watching(const std::string& signal, const std::string& meanwhile, const std::string& options = "") {
  return "mkdir -p bench; : > said; pulsewright diagnose --watch bench " + options +
         " > said & id=$!; "
         "waited() { i=0; until grep -q \"$1\" said || [ $i -ge 300 ]; do sleep 0.1; i=$((i + 1)); done; }; "
         "waited Watching; " + meanwhile + "; kill -s " + signal + " $id; wait $id; status=$?; cat said; (exit $status)";
}

BOOST_AUTO_TEST_CASE(a_capture_saved_in_two_halves_gets_one_verdict_and_a_signal_ends_it_with_everything_landed) {
  for (const char* signal : {"INT", "TERM"}) {
    const Folder folder;
    const auto text = good_capture();
    const auto middle = text.find("\n", text.size() / 2) - 3;  // in the middle of a number
    folder.write("first", text.substr(0, middle));
    folder.write("second", text.substr(middle));
    const auto result = run(folder, watching(signal, "cat first > bench/far.csv; sleep 0.5; cat second >> bench/far.csv; waited far.csv; : > bench/empty.csv; sleep 0.5",
                                             "--html out/ --json all.json"));
    BOOST_TEST(result.status == 0, result.status << result.out << result.err);
    BOOST_TEST(result.err.empty(), result.err);
    BOOST_TEST(count(result.out, "far.csv") == 2u, result.out);  // as it was saved, and in the summary
    BOOST_TEST(count(result.out, "1 file: 1 pass") == 1u, result.out);
    BOOST_TEST(count(result.out, "still being saved: 1.") == 1u, result.out);
    BOOST_TEST((folder.names("out") == Names{"far.csv.html", "index.html"}));
    const auto out = nlohmann::json::parse(folder.read("all.json"));
    BOOST_TEST(out["captures"].size() == 1u);
    const auto alone = nlohmann::json::parse(run(folder, "pulsewright diagnose bench/far.csv bench/far.csv --json -").out);
    BOOST_TEST(out["captures"][0]["headline"] == alone["captures"][0]["headline"]);
    BOOST_TEST(out["captures"][0]["sha256"] == alone["captures"][0]["sha256"]);
  }
}

BOOST_AUTO_TEST_CASE(what_is_no_capture_gets_its_line_while_watching_and_makes_the_status) {
  const Folder folder;
  folder.write("good", good_capture());
  const auto result = run(folder, watching("INT", "cp good bench/old.csv; printf 'milk\\nbread\\n' > bench/shopping.txt; waited old.csv; waited shopping.txt"));
  BOOST_TEST(result.status == 65, result.status << result.out);
  BOOST_TEST(count(result.out, "2 files: 1 not judged, 1 pass") == 1u, result.out);
}

BOOST_AUTO_TEST_CASE(nothing_saved_is_no_pass) {
  const Folder folder;
  const auto result = run(folder, watching("TERM", "true"));
  BOOST_TEST(result.status == 3, result.status << result.out);
}

BOOST_AUTO_TEST_SUITE_END()
