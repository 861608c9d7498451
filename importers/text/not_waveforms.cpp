#include "importers/text/not_waveforms.hpp"

#include <algorithm>

#include "importers/excerpt.hpp"

namespace pulsewright::importers::text {

namespace {

bool contains_any(const std::string& text, std::initializer_list<std::string_view> words) {
  return std::any_of(words.begin(), words.end(), [&](auto word) { return text.find(word) != std::string::npos; });
}

/// All words of the lines above the numbers.
std::string words_above(const Head& head) {
  std::string words;
  if (head.run_begin > 0)
    for (const auto cell : head.lines[head.run_begin - 1].cells) words += ' ' + plain(cell) + ' ';
  return words;
}

/// Columns of words between the first column and the numbers, with no empty column between.
std::optional<std::string> words_beside_numbers(const Head& head) {
  if (head.key == 0) return std::nullopt;
  std::size_t rows = 0, words = 0;
  std::string_view example;
  for (std::size_t i = head.run_begin; i < head.run_end; ++i) {
    const auto& line = head.lines[i];
    if (line.kinds.size() <= head.key) continue;
    ++rows;
    if (line.kinds[head.key - 1] != CellKind::word) continue;
    ++words;
    if (example.empty()) example = line.cells[head.key - 1];
  }
  if (2 * words <= rows) return std::nullopt;
  return "a table with words such as " + quoted(example) + " beside its numbers";
}

/// A column that says which channel a row is of, beside times that come again.
bool has_a_row_for_each_channel(const Header& header, const std::vector<ColumnFacts>& columns) {
  bool names_channels = false, times_again = false;
  for (std::size_t c = 0; c < columns.size(); ++c) {
    const auto& facts = columns[c];
    const std::string name = plain(header.titles[c].name);
    const bool is_name = name == "channel" || name == "chan" || name == "ch" || name == "source" || name == "channelno" || name == "channelnumber" || name == "channelname";
    names_channels = names_channels || (is_name && (facts.words > 1 || (facts.integers && facts.different.size() > 1)));
    times_again = times_again || (names_time(header.titles[c].name) && (facts.falls > 0 || 4 * (facts.rises + 1) < 3 * facts.numbers));
  }
  return names_channels && times_again;
}

}  // namespace

std::optional<std::string> other_text(std::string_view beginning, std::size_t text_bytes) {
  const auto head = beginning.substr(0, 512);
  if (head.starts_with("version ") && text_bytes < 1024 && head.find("\noid ") != std::string_view::npos && head.find("\nsize ") != std::string_view::npos)
    return "a pointer to a large file kept elsewhere, not the data";
  const auto first = head.find_first_not_of(" \t\r\n");
  if (first == std::string_view::npos) return "nothing but blanks";
  if (head[first] == '<') return "a web page or other marked-up text";
  if (head[first] == '{') return "a structured text in braces";
  return std::nullopt;
}

std::optional<std::string> other_table(const Head& head, const Header& header, const std::vector<ColumnFacts>& columns) {
  const std::string above = words_above(head);
  if (contains_any(above, {"price", "currency", " cost", " amount ", " close ", " eur ", " usd ", " qty ", "invoice"}))
    return "a list of prices";
  if (has_a_row_for_each_channel(header, columns)) return "a table with rows of several channels one after the other";
  std::size_t values = 0, text_columns = 0, coded = 0, per_cycle = 0;
  for (std::size_t c = 1; c < columns.size(); ++c) {
    const auto& facts = columns[c];
    if (facts.words * 2 > facts.filled() && facts.filled() > 0) ++text_columns;
    else if (facts.unknown * 2 > facts.filled()) ++coded;
    else if (facts.is_numeric()) ++values;
    const std::string name = plain(header.titles[c].name);
    per_cycle += contains_any(name, {"width", "period", "duty", "frequency", "cycle", "risetime", "falltime", "duration"});
  }
  if (values > 0 && 2 * per_cycle >= values && per_cycle > 0) return "a table of measurements, one row a cycle";
  if (text_columns + coded > 0 && (values == 0 || contains_any(above, {" data ", "decoded", "packet", "address", " ack "})) )
    return "a table of decoded bytes";
  if (columns.size() == 1 && head.key == 0 && contains_any(above, {"decoded", "packet"})) return "a table of decoded bytes";
  return words_beside_numbers(head);
}

}  // namespace pulsewright::importers::text
