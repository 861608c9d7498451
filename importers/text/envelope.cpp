#include "importers/text/envelope.hpp"

#include <algorithm>
#include <cmath>

#include "importers/excerpt.hpp"

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

/// Times come strictly in equal pairs, and the step between pairs is far above the last printed digit.
bool rows_come_in_pairs(const Head& head, std::size_t time_column, double last_digit) {
  std::vector<double> times;
  for (std::size_t i = head.run_begin; i < head.run_end && times.size() < 400; ++i) {
    const auto& cells = head.lines[i].cells;
    if (head.lines[i].comment || cells.size() <= time_column) continue;
    if (const auto time = number_in(cells[time_column], head.grid.decimal)) times.push_back(*time);
  }
  if (times.size() < 4) return false;
  for (std::size_t i = 0; i + 1 < times.size(); i += 2) {
    if (times[i] != times[i + 1]) return false;
    if (i + 2 < times.size() && times[i + 2] - times[i + 1] < 2.5 * last_digit) return false;
  }
  return true;
}

}  // namespace

void join_envelopes(const Head& head, Layout& layout) {
  join_columns(layout);
  if (layout.time != TimeKind::number || layout.time_scale <= 0) return;
  const auto analog = std::any_of(layout.columns.begin(), layout.columns.end(), [](const Column& column) { return column.role == Role::value; });
  const auto time = std::find_if(layout.columns.begin(), layout.columns.end(), [](const Column& column) { return column.role == Role::time; });
  if (!analog || !rows_come_in_pairs(head, time->index, layout.last_digit_s / layout.time_scale)) return;
  layout.rows_per_sample = 2;
  layout.notes.push_back("two rows stand at each time, the extremes of one sample: their mean is used");
}

}  // namespace pulsewright::importers::text
