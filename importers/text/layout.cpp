#include "importers/text/layout.hpp"

#include <algorithm>
#include <cmath>

#include "importers/excerpt.hpp"
#include "importers/import_error.hpp"
#include "importers/text/envelope.hpp"
#include "importers/text/evidence.hpp"
#include "importers/text/not_waveforms.hpp"
#include "importers/text/time_base.hpp"

namespace pulsewright::importers::text {

namespace {

bool same_steps(const Evidence& e, std::size_t a, std::size_t b) {
  const auto& x = e.facts[a];
  const auto& y = e.facts[b];
  return x.integers && y.integers && x.rising && y.rising && *x.last - *x.first == *y.last - *y.first;
}

void set_value(const Evidence& e, Layout& layout, std::size_t c, bool bits_beside) {
  Column& column = layout.columns[c];
  const auto& facts = e.facts[c];
  const auto& unit = e.title(c).unit;
  const bool barred = std::any_of(e.hints.not_bits.begin(), e.hints.not_bits.end(), [&](const OddBit& odd) { return odd.column == column.index; });
  const bool unitless = !unit || unit->quantity == Quantity::index;
  if (unit && !unitless) column.unit = symbol(unit->quantity), column.scale = unit->scale;
  if (facts.bits && unitless && !barred) {
    column.role = Role::logic;
    column.kind = ChannelKind::logic;
  } else if (e.hints.as_changes && facts.two_valued && facts.different.size() == 2 && !barred) {
    column.role = Role::logic;
    column.kind = ChannelKind::logic;
    column.low = std::min(facts.different[0], facts.different[1]);
    column.high = std::max(facts.different[0], facts.different[1]);
  } else if (facts.unknown > 0 || (bits_beside && facts.integers && unitless)) {
    layout.notes.push_back("column " + std::to_string(column.index + 1) + " (" + printable(column.name) + ") is a bus and left out");
  } else {
    column.role = Role::value;
    if (facts.integers && unitless) column.kind = ChannelKind::counts, column.unit = "count";
    if (unit && unit->quantity == Quantity::count) column.kind = ChannelKind::counts;
    take_units_in_cells(e, layout, c, Quantity::voltage);
  }
}

/// A nameless column with the numbers of the time column.
bool repeats_times(const Evidence& e, const Layout& layout, std::size_t c) {
  const auto& facts = e.facts[c];
  if (!e.title(c).name.empty() || !facts.rising || layout.counted) return false;
  const auto time = std::find_if(layout.columns.begin(), layout.columns.end(), [](const Column& column) { return column.role == Role::time; });
  const auto& times = e.facts[static_cast<std::size_t>(time - layout.columns.begin())];
  return facts.numbers == times.numbers && facts.different == times.different && facts.first == times.first && facts.last == times.last;
}

void set_values(const Evidence& e, Layout& layout) {
  const bool has_bits = std::any_of(e.facts.begin(), e.facts.end(), [](const auto& facts) { return facts.bits && facts.numbers > 1; });
  bool seen_time = layout.time == TimeKind::none;
  for (std::size_t c = 0; c < e.facts.size(); ++c) {
    Column& column = layout.columns[c];
    if (column.role == Role::time) {
      seen_time = true;
      continue;
    }
    const auto& facts = e.facts[c];
    if (seen_time && layout.time != TimeKind::none && (is_time(e, c) || repeats_times(e, layout, c))) {
      column.role = Role::companion_time;
      continue;
    }
    if (counts_samples(e, c) || is_rate(e, c) || (c == 1 && layout.columns[0].role == Role::time && same_steps(e, 0, 1))) continue;
    if (!seen_time && facts.integers && facts.rising) continue;
    if (facts.is_numeric()) set_value(e, layout, c, has_bits);
    else if (facts.filled() > 0)
      layout.notes.push_back("column " + std::to_string(column.index + 1) + " (" + printable(column.name) + ") holds no numbers and is left out");
  }
}

/// Units from the metadata, names for the nameless, scale of counts.
void finish_values(const Evidence& e, Layout& layout) {
  std::size_t n = 0;
  for (Column& column : layout.columns) {
    if (column.role != Role::value && column.role != Role::logic) continue;
    const auto& units = e.header.metadata.value_units;
    if (column.role == Role::value && (column.unit.empty() || column.kind == ChannelKind::counts) && !units.empty()) {
      const Unit& unit = units[std::min(n, units.size() - 1)];
      if (unit.quantity == Quantity::voltage || unit.quantity == Quantity::current) {
        column.unit = symbol(unit.quantity);
        column.scale = unit.scale;
        column.kind = ChannelKind::analog;
      }
    }
    ++n;
    if (column.name.empty()) column.name = "channel " + std::to_string(n);
    const auto per_count = e.options.volts_per_count ? e.options.volts_per_count
                           : e.header.metadata.volts_per_count ? std::optional(e.header.metadata.volts_per_count->value) : std::nullopt;
    if (column.kind == ChannelKind::counts && per_count) {
      column.kind = ChannelKind::analog;
      column.unit = "V";
      column.scale = *per_count;
    }
  }
}

/// Volts a division in the header tell millivolts from volts: a screen has some ten divisions.
void infer_millivolts(const Evidence& e, Layout& layout) {
  const auto& division = e.header.metadata.volts_per_division;
  if (!division) return;
  for (std::size_t c = 0; c < e.facts.size(); ++c) {
    Column& column = layout.columns[c];
    if (column.role != Role::value || !column.unit.empty()) continue;
    double largest = 0;
    for (const double value : e.facts[c].different) largest = std::max(largest, std::abs(value));
    if (largest < 50 * division->value) continue;
    column.unit = "V";
    column.scale = 1e-3;
    layout.notes.push_back("no unit given: " + printable(column.name) + " is taken as millivolts, which fits the volts a division in the header");
  }
}

std::string describe(const Evidence& e, const Layout& layout) {
  const char delimiter = e.head.grid.delimiter;
  std::string text = delimiter == ',' ? "comma-separated" : delimiter == ';' ? "semicolon-separated"
                     : delimiter == '\t' ? "tab-separated" : delimiter == ' ' ? "blank-separated" : delimiter == '|' ? "bar-separated" : "one number a line";
  if (e.head.grid.decimal == ',') text += ", decimal comma";
  text += layout.time == TimeKind::none ? ", no time column" : layout.time == TimeKind::stamp ? ", absolute time stamps"
          : !layout.counted ? ", time column" : layout.time_rule.empty() ? ", index column" : ", index and rate columns";
  if (e.header.names_line && e.header.units_line) text += ", names and units lines";
  else if (e.header.names_line) text += e.header.unit_in_names ? ", names with units" : ", names line";
  else if (e.header.units_line) text += ", units line";
  else text += ", no names";
  if (e.header.comments) text += ", comment lines";
  if (e.header.metadata_left) text += ", metadata left of the samples";
  else if (e.header.metadata_right) text += ", metadata right of the samples";
  else if (e.header.metadata_above && !e.header.comments) text += ", metadata above";
  return text;
}

/// Numbers of one channel that go on over several lines would be read as channels.
void refuse_values_over_several_lines(const Evidence& e, const Layout& layout) {
  std::size_t numbers = 0;
  for (const auto& facts : e.facts) numbers += facts.numbers;
  const auto announced = e.header.metadata.announced;
  if (layout.time != TimeKind::none || e.facts.size() < 2 || e.facts.front().rows < 2 || !e.head.whole_text || announced != numbers) return;
  refuse(e, "a row for each sample", std::to_string(numbers) + " numbers in " + std::to_string(e.facts.front().rows) + " rows, as many as the header announces samples");
}

/// What may have been meant otherwise, or is not read.
void note_columns(const Evidence& e, Layout& layout) {
  if (layout.row_cells > e.head.key + most_columns)
    layout.notes.push_back("rows have " + std::to_string(layout.row_cells) + " cells: columns behind the first " + std::to_string(e.head.key + most_columns) + " are left out");
  if (layout.time == TimeKind::none && e.facts.size() > 1 && !e.has_titles())
    layout.notes.push_back("columns without names or times: each is taken as a channel, not as further samples of one");
}

Layout choose(const Evidence& e) {
  Layout layout;
  layout.grid = e.head.grid;
  layout.data_begin = e.head.lines[e.head.run_begin].begin;
  layout.metadata = e.header.metadata;
  layout.row_cells = usual_row_cells(e);
  for (std::size_t c = 0; c < e.facts.size(); ++c) {
    Column column;
    column.index = e.facts[c].index;
    column.name = e.title(c).name;
    column.unknown_unit = e.title(c).unknown_unit;
    layout.columns.push_back(column);
  }
  for (const auto& words : e.header.metadata.not_understood) layout.notes.push_back(words + ": not used");
  refuse_ambiguity(e);
  if (const auto other = other_table(e.head, e.header, e.facts)) refuse(e, "a waveform", *other);
  find_time_base(e, layout);
  refuse_values_over_several_lines(e, layout);
  note_columns(e, layout);
  set_values(e, layout);
  finish_values(e, layout);
  infer_millivolts(e, layout);
  const auto is_channel = [](const Column& column) { return column.role == Role::value || column.role == Role::logic; };
  if (std::none_of(layout.columns.begin(), layout.columns.end(), is_channel)) {
    if (!e.hints.not_bits.empty()) {
      const OddBit& odd = e.hints.not_bits.front();
      throw ImportError(ImportError::Kind::unusable_data, e.file, {.line = odd.line, .column = odd.column + 1, .byte = {}}, "a logic level, 0 or 1", odd.cell);
    }
    const bool nothing = std::any_of(e.facts.begin(), e.facts.end(), [](const auto& facts) { return facts.missing > 0 && facts.numbers == 0; });
    refuse(e, "a column of values", nothing ? "nothing but NaN" : "none beside the time or index");
  }
  join_envelopes(e.file, e.head, layout);
  layout.dialect = describe(e, layout);
  return layout;
}

/// The last line that ends in a line break; one without may be cut in the middle of a number.
std::string last_full_line(const Content& text) {
  constexpr std::size_t looked_at = std::size_t{64} << 10;
  BlockBuffer buffer;
  const auto tail = text.block(text.size() - std::min(text.size(), looked_at), looked_at, buffer).bytes;
  const auto end = tail.find_last_of("\r\n");
  if (end == std::string_view::npos) return {};
  const auto last = tail.find_last_not_of("\r\n", end);
  if (last == std::string_view::npos) return {};
  const auto before = tail.find_last_of("\r\n", last);
  const auto begin = before == std::string_view::npos ? 0 : before + 1;
  return std::string(tail.substr(begin, last + 1 - begin));
}

std::string first_rows(const Head& head) {
  const auto& begin = head.lines[head.run_begin];
  const auto& last = head.lines[std::min(head.run_end, head.run_begin + 64) - 1];
  return {begin.raw.data(), last.raw.data() + last.raw.size()};
}

}  // namespace

Layout make_layout(const std::string& file, const Content& text, const ImportOptions& options, const LayoutHints& hints) {
  const auto unusable = [&](const std::string& found) {
    throw ImportError(ImportError::Kind::unusable_data, file, {.line = 1, .column = {}, .byte = {}}, "a waveform", found);
  };
  if (const auto other = other_text(text.head(), text.size())) unusable(*other);
  const Head head = read_head(text.head(), text.size());
  if (head.run_begin == head.run_end) unusable("text without columns of numbers, " + quoted(trimmed(head.lines.empty() ? text.head() : head.lines.front().raw)));
  const auto facts = sample_columns(head);
  if (facts.empty()) unusable("text without columns of numbers");
  const Header header = read_header(head, facts);
  const std::string last_row = last_full_line(text);
  Layout layout = choose({file, head, facts, header, options, hints, last_row});
  layout.first_rows = first_rows(head);
  layout.last_row = last_row;
  return layout;
}

}  // namespace pulsewright::importers::text
