// Compressed captures equal the plain ones; cut, spoilt, oversized and nested ones are refused.

#include <zlib.h>

#include <boost/test/unit_test.hpp>
#include <string>

#include "importers/import.hpp"
#include "importers/import_error.hpp"

namespace {

using namespace pulsewright::importers;

Capture import(const std::string& bytes, std::size_t limit = 0) {
  ImportOptions options;
  options.memory_limit_bytes = limit;
  return import_bytes("night.gz", std::as_bytes(std::span(bytes)), options);
}

std::string message(const std::string& bytes, std::size_t limit = 0) {
  try {
    import(bytes, limit);
  } catch (const ImportError& error) {
    return error.what();
  }
  return "no error";
}

std::string compressed(std::string text) {
  std::string out(text.size() + 1000, '\0');
  z_stream stream{};
  BOOST_REQUIRE(deflateInit2(&stream, 9, Z_DEFLATED, 15 + 16, 8, Z_DEFAULT_STRATEGY) == Z_OK);
  stream.next_in = reinterpret_cast<Bytef*>(text.data());
  stream.avail_in = static_cast<uInt>(text.size());
  stream.next_out = reinterpret_cast<Bytef*>(out.data());
  stream.avail_out = static_cast<uInt>(out.size());
  BOOST_REQUIRE(deflate(&stream, Z_FINISH) == Z_STREAM_END);
  out.resize(stream.total_out);
  deflateEnd(&stream);
  return out;
}

const std::string dump = "$timescale 1 ns $end $var wire 1 a d $end $enddefinitions $end\n#0 0a\n#400 1a\n#900 0a\n#2000\n";

}  // namespace

BOOST_AUTO_TEST_SUITE(gzip)

BOOST_AUTO_TEST_CASE(content_is_read_as_what_it_is_even_in_two_members) {
  const Capture plain = import(dump);
  for (const auto& bytes : {compressed(dump), compressed(dump.substr(0, 50)) + compressed(dump.substr(50))}) {
    const Capture capture = import(bytes);
    BOOST_TEST(capture.format == "vcd");
    BOOST_TEST(capture.span_s == plain.span_s);
    BOOST_TEST_REQUIRE(capture.channels[0].changes.size() == plain.channels[0].changes.size());
    for (std::size_t i = 0; i < plain.channels[0].changes.size(); ++i)
      BOOST_TEST(capture.channels[0].changes[i].time_s == plain.channels[0].changes[i].time_s);
  }
}

BOOST_AUTO_TEST_CASE(delimited_text_is_read_through_the_compression) {
  const Capture capture = import(compressed("Time (s),A (V)\r\n-1.0e-06,0.5\r\n0.0e-06,1.5\r\n1.0e-06,2.5\r\n"));
  BOOST_TEST(capture.format == "text");
  BOOST_TEST(capture.dialect == "comma-separated, time column, names with units, gzip-compressed");
  BOOST_TEST(capture.samples == 3u);
  BOOST_TEST(capture.start_s == -1e-6);
  BOOST_TEST(capture.channels.at(0).values[2] == 2.5f);
  BOOST_TEST(message(compressed("Time (s),A (V)\n0.0e-6,1.5\n1.0e-6,OVERLOAD\n2.0e-6,1.7\n")) ==
             "night.gz:3: expected a voltage in column 2, found \"OVERLOAD\"");
}

BOOST_AUTO_TEST_CASE(wav_is_read_through_the_compression) {
  const std::string wav("RIFF\x2c\0\0\0WAVEfmt \x10\0\0\0\1\0\1\0\x40\x42\x0f\0\x80\x84\x1e\0\2\0\x10\0data\x08\0\0\0\0\0\0\x40\0\xc0\0\x20", 52);
  const Capture capture = import(compressed(wav));
  BOOST_TEST(capture.format == "wav");
  BOOST_TEST(capture.dialect == "16-bit PCM, 1 channel, gzip-compressed");
  BOOST_TEST(capture.sample_interval_s == 1e-6);
  BOOST_TEST_REQUIRE(capture.samples == 4u);
  BOOST_TEST(capture.channels.at(0).values[2] == -0.5f);
}

BOOST_AUTO_TEST_CASE(every_truncation_is_an_error) {
  const std::string good = compressed(dump);
  for (std::size_t length = 2; length < good.size(); ++length)
    BOOST_TEST(message(good.substr(0, length)) == "night.gz, byte " + std::to_string(length) +
                                                      ": expected the rest of the gzip data, found the end of the file");
}

BOOST_AUTO_TEST_CASE(a_small_file_cannot_ask_for_much_memory) {
  const std::string bomb = compressed(std::string(20'000'000, ' '));
  BOOST_TEST(bomb.size() < 25'000U);
  BOOST_TEST(message(bomb, 1'000'000).ends_with(": expected at most 1000000 bytes of compressed content, found more"));
}

BOOST_AUTO_TEST_CASE(content_and_samples_share_the_memory_limit) {
  std::string text = "Interval,1e-7\nCH1 (V)\n";
  for (int i = 0; i < 50'000; ++i) text += i % 2 == 0 ? "0.04\n" : "3.28\n";
  const std::string bytes = compressed(text);
  const std::size_t samples = 4 * 50'000;
  BOOST_TEST(import(bytes, text.size() + samples + 1000).samples == 50'000u);
  BOOST_TEST(message(bytes, text.size() + samples - 1000) == "night.gz: expected a capture that fits into memory or the memory limit, found one that does not");
  BOOST_TEST(message(bytes, text.size()) == "night.gz: expected a capture that fits into memory or the memory limit, found one that does not");
  std::string wide = "\xff\xfe";
  for (const char c : text) wide += c, wide += '\0';
  BOOST_TEST(import(wide, 2 * text.size() + 1000).samples == 50'000u);
  BOOST_TEST(message(wide, text.size()) == "night.gz: expected text within the memory limit of " + std::to_string(text.size()) + " bytes, found " +
                                               std::to_string(wide.size()) + " bytes that have to be converted in memory");
}

BOOST_AUTO_TEST_CASE(spoilt_nested_and_zip_are_refused) {
  const std::string good = compressed(dump);
  const auto spoilt = [&](std::size_t byte, int bits) {
    std::string bytes = good;
    bytes[byte] = static_cast<char>(bytes[byte] ^ bits);
    return message(bytes);
  };
  const std::string size = std::to_string(good.size()), checked = std::to_string(good.size() - 4);
  BOOST_TEST(spoilt(2, 15) == "night.gz, byte 4: expected gzip data, found an error: unknown compression method");
  BOOST_TEST(spoilt(3, 0xe0) == "night.gz, byte 4: expected gzip data, found an error: unknown header flags set");
  BOOST_TEST(spoilt(good.size() - 6, 1) == "night.gz, byte " + checked + ": expected gzip data, found an error: incorrect data check");
  BOOST_TEST(spoilt(good.size() - 2, 1) == "night.gz, byte " + size + ": expected gzip data, found an error: incorrect length check");
  BOOST_TEST(message(good + good.substr(0, 3)) == "night.gz, byte " + std::to_string(good.size() + 3) + ": expected the rest of the gzip data, found the end of the file");
  BOOST_TEST(message(compressed("")) == "night.gz, byte 0: expected a capture, found gzip data with nothing in it");
  BOOST_TEST(message(compressed("\x01\x02\x03\x04")) ==
             "night.gz, byte 0: expected delimited text, WAV or VCD inside the gzip data, found binary data beginning with the bytes 01 02 03 04");
  BOOST_TEST(import(good + "rest").notes.back() == "4 bytes after the gzip data were not used");
  BOOST_TEST(message(compressed(compressed(dump))) ==
             "night.gz, byte 0: expected a capture inside the gzip data, found another compressed file");
  BOOST_TEST(message("PK\x03\x04rest") ==
             "night.gz, byte 0: expected a capture, found a zip archive; unpack it and give the file inside");
}

BOOST_AUTO_TEST_SUITE_END()
