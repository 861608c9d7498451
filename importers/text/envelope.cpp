#include "importers/text/envelope.hpp"

#include <algorithm>
#include <cmath>

#include "importers/excerpt.hpp"
#include "importers/import_error.hpp"

namespace pulsewright::importers::text {

namespace {

/// "ch1" for "CH1", "CH1 Peak", "CH1 min"; which words were left out is in `extreme`.
std::string base_name(const std::string& name, bool& extreme) {
  std::string key = plain(name);
  for (const std::string_view word : {"peak", "minimum", "maximum", "min", "max", "envelope"}) {
    if (key.size() <= word.size() || !key.ends_with(word)) continue;
    extreme = true;
    key.resize(key.size() - word.size());
    return key;
  }
  return key;
}

void join_columns(Layout& layout) {
  for (std::size_t c = 1; c < layout.columns.size(); ++c) {
    Column& first = layout.columns[c - 1];
    Column& second = layout.columns[c];
    if (first.role != Role::value || second.role != Role::value || first.envelope_of_previous) continue;
    bool first_extreme = false, second_extreme = false;
    const bool same = base_name(first.name, first_extreme) == base_name(second.name, second_extreme);
    if (!same || !second_extreme) continue;
    second.envelope_of_previous = true;
    layout.notes.push_back("columns " + printable(first.name) + " and " + printable(second.name) +
                           " are the two extremes of one channel: their mean is used");
  }
}

struct Pairs {
  std::size_t rows = 0;                 ///< at the beginning that come in pairs
  std::optional<std::size_t> odd_line;  ///< of the head: where that ends
};

/// How far times come strictly in equal pairs, with steps between them far above the last printed digit.
Pairs rows_in_pairs(const Head& head, std::size_t time_column, double last_digit) {
  std::vector<double> times;
  std::vector<std::size_t> lines;
  for (std::size_t i = head.run_begin; i < head.run_end && times.size() < 400; ++i) {
    const auto& cells = head.lines[i].cells;
    if (head.lines[i].comment || cells.size() <= time_column) continue;
    if (const auto time = number_in(cells[time_column], head.grid.decimal)) times.push_back(*time), lines.push_back(i);
  }
  for (std::size_t i = 0; i + 1 < times.size(); i += 2) {
    if (times[i] != times[i + 1]) return {i, lines[i + 1]};
    if (i + 2 < times.size() && times[i + 2] - times[i + 1] < 2.5 * last_digit) return {i + 2, lines[i + 2]};
  }
  return {times.size(), {}};
}

}  // namespace

void join_envelopes(const std::string& file, const Head& head, Layout& layout) {
  join_columns(layout);
  if (layout.time != TimeKind::number || layout.time_scale <= 0) return;
  const auto analog = std::any_of(layout.columns.begin(), layout.columns.end(), [](const Column& column) { return column.role == Role::value; });
  const auto time = std::find_if(layout.columns.begin(), layout.columns.end(), [](const Column& column) { return column.role == Role::time; });
  const Pairs pairs = rows_in_pairs(head, time->index, layout.last_digit_s / layout.time_scale);
  if (!analog || pairs.rows < 4) return;
  if (pairs.odd_line)
    throw ImportError(ImportError::Kind::unusable_data, file, {.line = *pairs.odd_line + 1, .column = time->index + 1, .byte = {}}, "two rows at each time, as above", quoted(head.lines[*pairs.odd_line].cells[time->index]));
  layout.rows_per_sample = 2;
  layout.notes.push_back("two rows stand at each time, the extremes of one sample: their mean is used");
}

}  // namespace pulsewright::importers::text
