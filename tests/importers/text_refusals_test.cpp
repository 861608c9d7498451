// Texts that are refused, each with its whole message; truncations; locale; random waveforms in random shapes.

#include <fast_float/fast_float.h>
#include <unistd.h>

#include <array>
#include <boost/test/unit_test.hpp>
#include <clocale>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <functional>
#include <locale>
#include <random>
#include <string>
#include <utility>

#include "importers/text/value_form.hpp"
#include "tests/importers/text_support.hpp"
#include "tests/support/run_program.hpp"

using namespace pulsewright::importers;
using pulsewright::tests::has_note;
using pulsewright::tests::read_text;
using pulsewright::tests::refusal;

BOOST_AUTO_TEST_SUITE(text_refusals)

BOOST_AUTO_TEST_CASE(not_waveforms_are_called_what_they_are) {
  const std::string expected = "expected a waveform, found ";
  BOOST_TEST(refusal("Time,Packet,Data,Ack\n0.0042,,0x1C,0xA0\n0.0052,,0x1C,0xA0\n") == "t.csv:2: " + expected + "a table of decoded bytes");
  BOOST_TEST(refusal("Time [s],Analyzer,Decoded\n3.21,Serial,0x4B\n3.31,Serial,0x4B\n") == "t.csv:2: " + expected + "a table of decoded bytes");
  BOOST_TEST(refusal("Time,Period,Width,Duty\n0.1,1.25e-6,3e-7,0.24\n0.2,1.25e-6,3e-7,0.24\n") == "t.csv:2: " + expected + "a table of measurements, one row a cycle");
  BOOST_TEST(refusal("version https://invented.example/spec/v1\noid sha256:4d7a\nsize 12345\n") == "t.csv:1: " + expected + "a pointer to a large file kept elsewhere, not the data");
  BOOST_TEST(refusal("item,price\nlamp,12.50\nfuse,0.80\n") == "t.csv:2: " + expected + "a list of prices");
  BOOST_TEST(refusal("Date,Open,Close\n2031-05-06,12.50,12.80\n2031-05-07,12.60,12.90\n") == "t.csv:2: " + expected + "a list of prices");
  BOOST_TEST(refusal("<html><body>no such capture</body></html>\n") == "t.csv:1: " + expected + "a web page or other marked-up text");
  BOOST_TEST(refusal("Dear colleague,\nthe capture follows.\n") == "t.csv:1: " + expected + "text without columns of numbers, \"Dear colleague,\"");
}

BOOST_AUTO_TEST_CASE(bad_cells_are_named_with_their_place) {
  BOOST_TEST(refusal("Time (s),CH1 (V)\n0.0e-6,1.5\n1.0e-6,OVERLOAD\n2.0e-6,1.7\n") == "t.csv:3: expected a voltage in column 2, found \"OVERLOAD\"");
  BOOST_TEST(refusal("Time (s),CH1 (V)\n0.0e-6,1.5\n1.0e-6,inf\n2.0e-6,1.7\n") == "t.csv:3: expected a voltage in column 2, found \"inf\"");
  for (const std::string beyond : {"1e39", "-1e39", "1e308"})  // more than a float holds
    BOOST_TEST(refusal("Time (s),CH1 (V)\n0.0e-6,1.5\n1.0e-6," + beyond + "\n2.0e-6,1.7\n") == "t.csv:3: expected a voltage in column 2, found \"" + beyond + "\"");
  BOOST_TEST(refusal("Time (s),CH1 (V)\n0.0e-6,1.5\n1.0e-6,\x01\x1b[2J\n2.0e-6,1.7\n").find('\x1b') == std::string::npos);
  BOOST_TEST(refusal("Time (s),CH1 (V)\n0.0e-6,nan\n1.0e-6,nan\n2.0e-6,nan\n") == "t.csv:2: expected a column of values, found nothing but NaN");
  BOOST_TEST(refusal("Time (s),CH1 (V)\n0.0e-6,1.5\n") == "t.csv:2: expected at least two samples, found one sample");
}

BOOST_AUTO_TEST_CASE(time_has_to_rise_in_even_steps) {
  BOOST_TEST(refusal("Time (s),CH1 (V)\n0.0e-6,1.5\n1.0e-6,1.6\n2.0e-6,1.5\n3.0e-6,1\n1.6e-6,2\n5.0e-6,1\n") ==
             "t.csv:6: expected times that rise in column 1, found time running backwards by 1.4e-06 s");
  BOOST_TEST(refusal("Time (s),CH1 (V)\n0.0e-6,1.1\n1.0e-6,1.2\n2.0e-6,1.3\n4.5e-6,1\n5.0e-6,2\n8.0e-6,1\n9.0e-6,1\n11.0e-6,1\n12.0e-6,1\n") ==
             "t.csv:5: expected samples at even steps of time in column 1, found a step of 2.5e-06 s among steps from 5e-07 s to 3e-06 s");
  BOOST_TEST(refusal("Time (s),CH1 (V)\n9.0e-6,1.5\n8.0e-6,1.6\n7.0e-6,1.5\n6.0e-6,1\n5.0e-6,2\n") != "");
}

BOOST_AUTO_TEST_CASE(files_that_are_none) {
  const auto message = [](const std::string& path) {
    try {
      import_file(path);
    } catch (const ImportError& error) {
      return std::string(error.what());
    }
    return std::string();
  };
  BOOST_TEST(message("/nowhere/at-all.csv") == "/nowhere/at-all.csv: expected a capture file, found no such file");
  BOOST_TEST(message("/tmp") == "/tmp: expected a capture file, found a directory");
  BOOST_TEST(message("/dev/null") == "/dev/null: expected a capture, found an empty file");
  BOOST_TEST(refusal(std::string_view("\x7f" "ELF\x02\x01\x00\x00\x00", 9)).find("binary data beginning with the bytes 7f 45 4c 46") != std::string::npos);
}

BOOST_AUTO_TEST_CASE(a_file_that_changes_while_it_is_read_is_refused) {
  const auto path = std::filesystem::temp_directory_path() / ("pulsewright-changing-" + std::to_string(::getpid()) + ".csv");
  std::string text = "Time (s),A (V)\n";
  for (int i = 0; i < 400'000; ++i) text += std::to_string(i) + "e-8,0.125000\n";
  const auto message = [&](const std::function<void()>& change) {
    std::ofstream(path, std::ios::binary) << text;
    ImportOptions options;
    options.want_sha256 = false;
    options.threads = 1;
    bool changed = false;
    options.progress = [&](double) {
      if (!std::exchange(changed, true)) change();
    };
    try {
      import_file(path.string(), options);
    } catch (const ImportError& error) {
      BOOST_TEST((error.kind == ImportError::Kind::unusable_data));
      return std::string(error.what()).substr(path.string().size());
    }
    return std::string();
  };
  const std::string expected = ": expected a file that stays as it is while it is read, found one that ";
  BOOST_TEST(message([] {}) == "");
  BOOST_TEST(message([&] { std::filesystem::resize_file(path, 1'000'000); }) == expected + "became shorter");
  BOOST_TEST(message([&] { std::filesystem::resize_file(path, 0); }) == expected + "became shorter");
  BOOST_TEST(message([&] { std::ofstream(path, std::ios::app) << "400000e-8,0.125000\n"; }) == expected + "became longer");
  BOOST_TEST(message([&] {
               ::usleep(20'000);  // time stamps of files advance in ticks of the kernel
               std::fstream(path, std::ios::in | std::ios::out) << "Time (s),B (V)\n";
             }) == expected + "was written to");
  std::filesystem::remove(path);
}

BOOST_AUTO_TEST_CASE(memory_that_a_text_asks_for_is_limited) {
  std::string changes = "Time [s],Line 0\n", samples = "Time (s),A (V)\n";
  for (int i = 0; i < 20'000; ++i) {
    changes += std::to_string(i * i % 7 + i * 10) + "e-9," + std::to_string(i % 2) + "\n";
    samples += std::to_string(i) + "e-8,1.5\n";
  }
  const auto limited = [](std::size_t bytes) {
    ImportOptions options;
    options.memory_limit_bytes = bytes;
    return options;
  };
  BOOST_TEST(refusal(samples, limited(79'999)) == "t.csv: expected a capture that fits into memory or the memory limit, found one that does not");
  BOOST_TEST(refusal(samples, limited(100'000)) == "");
  BOOST_TEST(refusal(changes, limited(700'000)) == "t.csv: expected a capture that fits into memory or the memory limit, found one that does not");
  BOOST_TEST(refusal(changes, limited(1'000'000)) == "");
  BOOST_TEST(refusal(pulsewright::tests::utf16(samples, true, true), limited(100'000)).find("bytes that have to be converted in memory") != std::string::npos);
}

BOOST_AUTO_TEST_CASE(utf16_that_is_broken_has_its_message) {
  const std::string text = "Time (s),A (V)\n0.0e-06,0.04\n1.0e-06,3.28\n2.0e-06,3.25\n3.0e-06,0.08\n4.0e-06,0.05\n";
  for (const bool big : {false, true}) {
    const std::string good = pulsewright::tests::utf16(text, big, true);
    BOOST_TEST(refusal(good) == "");
    BOOST_TEST(refusal(good.substr(0, good.size() - 1)) == "");  // half of the last line end: every value is there
    BOOST_TEST(refusal(pulsewright::tests::utf16(text.substr(0, 37) + "O" + text.substr(38), big, true)) == "t.csv:3: expected a voltage in column 2, found \"3O28\"");
    BOOST_TEST(refusal(good.substr(0, 2)) == "t.csv:1: expected a waveform, found nothing but blanks");
    std::string lone = good;  // one half of a pair of surrogates, for the first digit of 3.28
    lone.replace(2 + 2 * 36, 2, big ? std::string("\xd8\x00", 2) : std::string("\x00\xd8", 2));
    BOOST_TEST(refusal(lone) == "t.csv:3: expected a voltage in column 2, found \"??\?.28\"");
    std::swap(lone[0], lone[1]);
    BOOST_TEST(refusal(lone).starts_with("t.csv:1: expected a waveform, found text without columns of numbers, \"????????"));
  }
}

BOOST_AUTO_TEST_CASE(every_truncation_is_refused_or_read) {
  const std::string texts[] = {
      "Points,4,\nSample Period,4.0E-06,\nTIME,CH1,CH2\n0.000e+00,0.04,3.28\n4.000e-06,0.08,3.24\n8.000e-06,0.04,3.28\n12.00e-06,0.04,3.28\n",
      "Points,4,,  -0.000002,   0.04,\nInterval,1e-06,,  -0.000001,   0.04,\nSource,CH1,,   0.000000,   3.28,\n,,,00.000001,   3.32,\n",
      "Time [s],clk,data\n0.000000000,0,1\n0.000000083,1,1\n0.000000167,0,1\n0.000000250,1,0\n1.500000250,1,1\n",
      "Segments\t2\n#1\t06-May-2031 07:08:09\t0\nTime\tAmpl\n-1e-06\t0.01\n0\t0.02\n1e-06\t3.3\n-1e-06\t0.01\n0\t0.03\n1e-06\t3.2\n",
      "2031-05-06T07:08:09.123456789+00:00,1,0\n2031-05-06T07:08:09.123456914+00:00,0,0\n2031-05-06T07:08:10.000000001+00:00,1,0\n",
      "time_s;A_V\r\r\n-0,0071;1,18\r\r\n-0,0070;1,19\r\r\n-0,0069;1,20\r\r\n"};
  std::size_t read = 0, refused = 0;
  for (const auto& text : texts)
    for (std::size_t length = 1; length <= text.size(); ++length) {
      try {
        const Capture capture = read_text(text.substr(0, length));
        ++read;
        for (const auto& channel : capture.channels)
          for (const float value : channel.values) BOOST_TEST_REQUIRE((std::abs(value) < 4 && value == value));
      } catch (const ImportError& error) {
        ++refused;
        const std::string_view message = error.what();
        BOOST_TEST(message.starts_with("t.csv"));
        BOOST_TEST(message.find_first_of("\n\r\t") == std::string_view::npos);
      }
    }
  BOOST_TEST(read > 100u);
  BOOST_TEST(refused > 100u);
}

BOOST_AUTO_TEST_CASE(no_truncation_changes_a_value) {
  const std::string texts[] = {
      "TIME,CH1\n-1.0e-06,0.04\n0.0e+00,3.28\n1.0e-06,3.25\n2.0e-06,12.25\n3.0e-06,0.04\n",
      "Time (s),CH1 (V)\n0.000000,0.04\n0.000001,13.28\n0.000002,3.25\n0.000003,-2.25\n",
      "N,CH1,CH2,Begin,Step,\nIndex,Volt,Volt,-4.0e-06,2.0e-09\n0,0.04,3.20,\n1,0.08,3.16,\n2,0.04,3.10,\n3,0.04,3.10,\n",
      "Points,4,\nSample Period,4.0E-06,\nData,\n-12,\n-12,\n37,\n36,\n",
      "time_s;A_V\n-0,0071;1,18\n-0,0070;1,19\n-0,0069;1,20\n-0,0068;11,20\n"};
  for (const auto& text : texts) {
    const Capture whole = read_text(text);
    std::size_t read = 0;
    for (std::size_t length = text.size() / 2; length < text.size(); ++length)
      BOOST_TEST_CONTEXT(text.substr(0, length)) {
        const Capture cut = [&] {
          try {
            return read_text(text.substr(0, length));
          } catch (const ImportError& error) {
            BOOST_TEST(std::string_view(error.what()).starts_with("t.csv"));
            return Capture{};
          }
        }();
        read += cut.samples > 0;
        for (std::size_t c = 0; c < cut.channels.size(); ++c)
          for (std::size_t i = 0; i < cut.samples; ++i) BOOST_TEST_REQUIRE(cut.channels[c].values[i] == whole.channels[c].values[i]);
      }
    BOOST_TEST(read >= 8u);
  }
}

BOOST_AUTO_TEST_CASE(a_locale_with_decimal_commas_changes_nothing) {
  struct Commas : std::numpunct<char> {
    char do_decimal_point() const override { return ','; }
    char do_thousands_sep() const override { return '.'; }
    std::string do_grouping() const override { return "\3"; }
  };
  const std::string text = "Time (s),CH1 (V)\n0.0e-6,1.5\n1.0e-6,1234.5\n2.0e-6,1.7\n";
  // Made here, so that it does not depend on which locales the machine has.
  const pulsewright::program::Folder folder;
  const std::string make = "localedef -i de_DE -f UTF-8 '" + (folder.path() / "de_DE.UTF-8").string() + "'";
  BOOST_TEST_REQUIRE(std::system(make.c_str()) == 0);
  BOOST_TEST_REQUIRE(::setenv("LOCPATH", folder.path().c_str(), 1) == 0);
  const auto before = std::locale::global(std::locale(std::locale::classic(), new Commas));
  BOOST_TEST_REQUIRE(std::setlocale(LC_ALL, "de_DE.UTF-8") != nullptr);
  BOOST_TEST_REQUIRE(std::strtod("1,5", nullptr) == 1.5);
  const Capture capture = read_text(text);
  const std::string message = refusal("Time (s),CH1 (V)\n0.0e-6,1.5\n");
  std::setlocale(LC_ALL, "C");
  std::locale::global(before);
  ::unsetenv("LOCPATH");
  BOOST_TEST(capture.channels.at(0).values[1] == 1234.5f);
  BOOST_TEST(capture.sample_interval_s == 1e-6, boost::test_tools::tolerance(1e-12));
  BOOST_TEST(message == "t.csv:2: expected at least two samples, found one sample");
}

BOOST_AUTO_TEST_CASE(quick_forms_agree_with_correct_rounding) {
  std::mt19937_64 random(7);
  std::size_t compared = 0;
  for (const bool scientific : {true, false})
    for (int decimals = 1; decimals <= 6; ++decimals)
      for (int i = 0; i < 20000; ++i) {
        const double value = std::ldexp(static_cast<double>(random() >> 11), -53) * 20 - 10;
        char text[96] = {};
        const double power = std::pow(10.0, scientific ? static_cast<int>(random() % 10) - 4 : -static_cast<int>(random() % 3));
        std::snprintf(text, 64, scientific ? "%.*e" : "%.*f", decimals, value * power);
        const std::string_view cell(text);
        const auto form = text::value_form(std::string(cell) + "\n", 0, text::Grid{',', '.'});
        BOOST_TEST_REQUIRE((form.notation() == (scientific ? text::ValueNotation::scientific : text::ValueNotation::fixed)), cell);
        float quick = 0, exact = 0;
        std::uint64_t wrong = 0;
        const char* const end = scientific ? form.take_scientific(text, quick, wrong) : form.take_fixed(text, '.', quick, wrong);
        fast_float::from_chars(cell.data(), cell.data() + cell.size(), exact);
        if (wrong != 0) continue;  // tiny: the power of ten is out of the quick range
        ++compared;
        BOOST_TEST_REQUIRE((end == cell.data() + cell.size()), cell);
        BOOST_TEST_REQUIRE(quick == exact, cell);
      }
  BOOST_TEST(compared > 235000u);
}

// A lone value column has loops of its own.
BOOST_AUTO_TEST_CASE(a_lone_column_reads_as_beside_another) {
  for (const char* const form : {"%.4f", "%.5e", "%.9g"})
    for (const bool timed : {true, false}) {
      std::mt19937 random(17);
      std::string lone = timed ? "Time (s),A (V)\n" : "A (V)\n", beside = timed ? "Time (s),A (V),B (V)\n" : "A (V),B (V)\n";
      for (int i = 0; i < 3000; ++i) {
        char time[32] = "", cell[32];
        if (timed) std::snprintf(time, sizeof time, "%.9f,", i * 4e-9);
        std::snprintf(cell, sizeof cell, form, (static_cast<double>(random()) / 1e9 - 2) * (i % 7 == 0 ? 50 : 1));
        lone += std::string(time) + cell + "\n", beside += std::string(time) + cell + ",0.25\n";
      }
      ImportOptions options;
      if (!timed) options.sample_rate_hz = 250e6;
      const auto one = read_text(lone, options), two = read_text(beside, options);
      BOOST_TEST_CONTEXT(form << (timed ? " with times" : " without times")) {
        BOOST_TEST(one.samples == 3000u);
        BOOST_TEST(one.channels.at(0).values == two.channels.at(0).values, boost::test_tools::per_element());
      }
    }
}

// One division or product of exact floats is rounded once (IEEE 754-2019, 4.3): that is the truth here.
BOOST_AUTO_TEST_CASE(digits_scaled_in_double_are_the_nearest_floats) {
  std::size_t other = 0;
  float power = 1;
  for (int decimals = 0; decimals <= 10; ++decimals, power *= 10) {
    const double down = text::detail::scaled_by_ten(1, -decimals), up = text::detail::scaled_by_ten(1, decimals);
    for (std::int32_t digits = 0; digits < 1 << 24; digits += 7) {
      const auto exact = static_cast<float>(digits);
      other += static_cast<float>(digits * down) != exact / power;
      other += static_cast<float>(digits * up) != exact * power;
    }
  }
  BOOST_TEST(other == 0u);
}

BOOST_AUTO_TEST_CASE(quick_forms_notice_every_other_byte) {
  const auto notices = [](const std::string& learned, bool scientific, std::string cell) {
    const auto form = text::value_form(learned + "\n", 0, text::Grid{',', '.'});
    cell.resize(96);
    float value = 0, exact = 0;
    std::uint64_t wrong = 0;
    const char* const end = scientific ? form.take_scientific(cell.data(), value, wrong) : form.take_fixed(cell.data(), '.', value, wrong);
    const auto other = fast_float::from_chars(cell.data(), cell.data() + cell.size(), exact);
    return wrong != 0 || (other.ec == std::errc() && other.ptr == end && exact == value);
  };
  for (const std::string good : {"-3.2512e-02", "3.2512e+05", "+1.5e+00", "-9.999999E-04"})
    for (std::size_t at = 0; at < good.size(); ++at)
      for (int byte = 1; byte < 256; ++byte) {
        std::string spoilt = good;
        spoilt[at] = static_cast<char>(byte);
        if (spoilt[0] != '+') BOOST_TEST_REQUIRE(notices(good, true, spoilt), spoilt);
      }
  for (const std::string good : {"-3.2512", "12.5", "0.000001", "-123.4567"})
    for (std::size_t at = 0; at < good.size(); ++at)
      for (int byte = 1; byte < 256; ++byte) {
        std::string spoilt = good;
        spoilt[at] = static_cast<char>(byte);
        if (spoilt[0] != '+') BOOST_TEST_REQUIRE(notices(good, false, spoilt), spoilt);
      }
}

BOOST_AUTO_TEST_CASE(plain_decimals_agree_with_correct_rounding) {
  std::mt19937_64 random(13);
  std::size_t compared = 0;
  for (int i = 0; i < 200000; ++i) {
    const double value = std::ldexp(static_cast<double>(random() >> 11), -53) * 20 - 10;
    char text[128] = {};
    std::snprintf(text, 64, i % 2 == 0 ? "%.*f" : "%.*g", 1 + static_cast<int>(random() % 16), value * std::pow(10.0, static_cast<int>(random() % 12) - 8));
    text::Decimal number{};
    double exact = 0;
    float exact_float = 0;
    const auto* end = text + std::string_view(text).size();
    fast_float::from_chars(text, end, exact);
    fast_float::from_chars(text, end, exact_float);
    const char* behind = text::read_decimal(text, '.', number);
    if (behind == nullptr || number.digits >= std::uint64_t{1} << 53 || std::abs(number.power) > 22) continue;
    ++compared;
    BOOST_TEST_REQUIRE((behind == end), text);
    const double quick = text::detail::scaled_by_ten(static_cast<double>(number.digits), number.power) * (number.negative ? -1 : 1);
    BOOST_TEST_REQUIRE(quick == exact, text);
    if (text::rounds_safely(quick)) BOOST_TEST_REQUIRE(static_cast<float>(quick) == exact_float, text);
  }
  BOOST_TEST(compared > 150000u);
}

// Up to nineteen digits, many of them on or beside the midpoint of two floats, against fast_float.
BOOST_AUTO_TEST_CASE(numbers_with_more_digits_than_a_double_become_the_nearest_float) {
  std::mt19937_64 random(17);
  for (int i = 0; i < 200000; ++i) {
    const auto value = static_cast<float>(std::ldexp(static_cast<double>(random() >> 11), -53) * 9);
    const double middle = (static_cast<double>(value) + static_cast<double>(std::nextafter(value, 10.0f))) / 2;
    char text[128] = {};
    std::snprintf(text, 64, "%.*f", 15 + static_cast<int>(random() % 4), i % 2 == 0 ? middle : static_cast<double>(value) * 1.000000123);
    if (i % 4 == 0) text[std::string_view(text).size() - 1] = static_cast<char>('0' + random() % 10);
    float quick = 0, exact = 0;
    const auto* end = text + std::string_view(text).size();
    fast_float::from_chars(text, end, exact);
    BOOST_TEST_REQUIRE((text::take_any_value(text, text + 64, '.', quick) == end), text);
    BOOST_TEST_REQUIRE(quick == exact, text);
  }
}

BOOST_AUTO_TEST_CASE(random_waveforms_come_back_within_the_printed_digits) {
  std::mt19937 random(11);
  const auto pick = [&](int n) { return static_cast<int>(random() % static_cast<unsigned>(n)); };
  for (int round = 0; round < 200; ++round) {
    const int rows = 3 + pick(3000), channels = 1 + pick(4), digits = 2 + pick(8);
    const std::string end = std::array<const char*, 3>{"\n", "\r\n", "\r\r\n"}[static_cast<std::size_t>(pick(3))];
    const bool comma = pick(4) == 0, header = pick(4) != 0, scientific = pick(2) == 0;
    const char separator = comma ? (pick(2) == 0 ? ';' : '\t') : std::string_view(",;\t")[static_cast<std::size_t>(pick(3))];
    const double interval = (1 + pick(99)) * std::pow(10.0, -6 - pick(3)), start = (pick(2001) - 1000) * interval;
    std::string text = header ? "Time (s)" : "";
    for (int c = 0; header && c < channels; ++c) text += separator + ("In " + std::to_string(c)) + " (V)";
    if (header) text += end;
    std::vector<std::vector<double>> truth(static_cast<std::size_t>(channels));
    for (int i = 0; i < rows; ++i) {
      char cell[64];
      std::snprintf(cell, sizeof cell, "%.12e", start + i * interval);
      std::string row = cell;
      for (auto& channel : truth) {
        channel.push_back(pick(100000) / 12345.0 - 4);
        std::snprintf(cell, sizeof cell, scientific ? "%.*e" : "%.*f", digits, channel.back());
        row += separator + std::string(cell);
      }
      if (comma) for (char& c : row) c = c == '.' ? ',' : c;
      text += row + end;
    }
    BOOST_TEST_CONTEXT("round " << round << ": " << text.substr(0, 200)) {
      const Capture capture = read_text(text, {.threads = 1u + static_cast<unsigned>(round % 3)});
      BOOST_TEST_REQUIRE(capture.channels.size() == truth.size());
      BOOST_TEST(capture.sample_interval_s == interval, boost::test_tools::tolerance(1e-6));
      for (std::size_t c = 0; c < truth.size(); ++c) {
        BOOST_TEST_REQUIRE(capture.channels[c].values.size() == truth[c].size());
        for (std::size_t i = 0; i < truth[c].size(); ++i) {
          const double size = std::max(std::abs(truth[c][i]), scientific ? 0.0 : 1.0);
          if (std::abs(static_cast<double>(capture.channels[c].values[i]) - truth[c][i]) > 6 * std::pow(10.0, -digits) * size + 1e-6)
            BOOST_ERROR("sample " << i << " of channel " << c);
        }
      }
    }
  }
}

BOOST_AUTO_TEST_SUITE_END()
