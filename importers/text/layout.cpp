#include "importers/text/layout.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include "importers/excerpt.hpp"
#include "importers/import_error.hpp"
#include "importers/text/envelope.hpp"
#include "importers/text/not_waveforms.hpp"

namespace pulsewright::importers::text {

namespace {

/// Everything that the choice of roles looks at.
struct Evidence {
  const std::string& file;
  const Head& head;
  const std::vector<ColumnFacts>& facts;
  const Header& header;
  const ImportOptions& options;
  const LayoutHints& hints;
  std::string_view last_row;

  const ColumnTitle& title(std::size_t c) const { return header.titles[c]; }
  bool has_unit(std::size_t c, Quantity quantity) const { return title(c).unit && title(c).unit->quantity == quantity; }
  bool has_titles() const { return header.names_line || header.units_line; }
  std::size_t line(std::size_t head_line) const { return head_line + 1; }
};

[[noreturn]] void refuse(const Evidence& e, const std::string& expected, const std::string& found) {
  throw ImportError(ImportError::Kind::unusable_data, e.file, {.line = e.line(e.head.run_begin), .column = {}, .byte = {}}, expected, found);
}

bool is_index(const Evidence& e, std::size_t c) {
  const auto& facts = e.facts[c];
  if (!facts.integers || facts.numbers == 0) return false;
  if (names_index(e.title(c).name) || e.has_unit(c, Quantity::index)) return facts.consecutive || facts.rising || facts.numbers == 1;
  return facts.consecutive && c == 0 && !(e.header.names_line && names_time(e.title(c).name)) && !e.has_unit(c, Quantity::time);
}

/// The name says time, whatever the unit.
bool is_called_time(const Evidence& e, std::size_t c) {
  const std::string_view name = e.title(c).name;
  return names_time(e.title(c).unknown_unit.empty() ? name : name.substr(0, name.find_last_of("([{<")));
}

bool is_time(const Evidence& e, std::size_t c) {
  if (e.facts[c].stamps * 2 > e.facts[c].rows) return true;
  if (!e.facts[c].is_numeric()) return false;
  if (e.has_unit(c, Quantity::time)) return true;
  return is_called_time(e, c) && !e.has_unit(c, Quantity::index) && !(c > 0 && plain(e.title(c).name) == "x");
}

/// The unit that the file states for times is none of time.
std::string foreign_unit(const Evidence& e, std::size_t c) {
  const auto& title = e.title(c);
  if (!title.unit || title.unit->quantity == Quantity::time || title.unit->quantity == Quantity::index) return title.unknown_unit;
  return symbol(title.unit->quantity);
}

[[noreturn]] void refuse_unit(const Evidence& e, std::size_t c) {
  throw ImportError(ImportError::Kind::unusable_data, e.file, {.line = e.line(e.title(c).unit_line), .column = e.facts[c].index + 1, .byte = {}},
                    "a unit of time (s, ms, us, ns) or a rate given with --sample-rate", quoted(foreign_unit(e, c)));
}

bool is_rate(const Evidence& e, std::size_t c) {
  const bool named = plain(e.title(c).name).find("rate") != std::string::npos || e.has_unit(c, Quantity::frequency);
  return named && e.facts[c].different.size() == 1 && *e.facts[c].first > 0;
}

/// Cells up to the first empty one that most of the first rows have, or that have a name.
std::size_t usual_row_cells(const Evidence& e) {
  std::map<std::size_t, std::size_t> rows;
  for (std::size_t i = e.head.run_begin; i < e.head.run_end; ++i) {
    const auto& cells = e.head.lines[i].cells;
    if (e.head.lines[i].comment || cells.size() <= e.head.key) continue;
    const auto begin = cells.begin() + static_cast<std::ptrdiff_t>(e.head.key);
    ++rows[static_cast<std::size_t>(std::find_if(begin, cells.end(), [](auto cell) { return cell.empty(); }) - cells.begin())];
  }
  const auto most = std::max_element(rows.begin(), rows.end(), [](const auto& a, const auto& b) { return a.second <= b.second; });
  return std::max(e.header.named, most->first);
}

/// "1,234,5,678": rows longer than the names above, or integers in pairs that could be decimals.
void refuse_ambiguous_commas(const Evidence& e) {
  if (e.head.grid.delimiter != ',' || e.head.run_begin == e.head.run_end) return;
  bool all_integers = true, leading_zero = false, no_points = true;
  for (std::size_t i = e.head.run_begin; i < e.head.run_end; ++i)
    for (const auto cell : e.head.lines[i].cells) {
      all_integers = all_integers && cell.find_first_not_of("+-0123456789 ") == std::string_view::npos;
      leading_zero = leading_zero || (cell.size() > 1 && cell[0] == '0');
      no_points = no_points && cell.find('.') == std::string_view::npos;
    }
  const std::string found = "commas that may be decimal marks or separators, " + quoted(e.head.lines[e.head.run_begin].raw);
  const std::string expected = "numbers with a decimal point, or separators other than commas";
  if (e.header.names_line) {
    const auto above = e.head.run_begin > 0 ? e.head.lines[e.head.run_begin - 1].cells.size() : 0;
    const auto wide = usual_row_cells(e);
    if (no_points && wide > above && above > 0 && wide % 2 == 0) refuse(e, expected, found);
  } else if (all_integers) {
    const bool index_first = e.facts.front().consecutive;
    if (leading_zero || (!index_first && e.facts.size() > 1 && e.facts.size() % 2 == 0 && !e.facts.front().rising)) refuse(e, expected, found);
  }
}

[[noreturn]] void refuse_column(const Evidence& e, std::size_t c, const std::string& expected, std::string_view found) {
  throw ImportError(ImportError::Kind::unusable_data, e.file, {.line = e.line(e.head.run_begin), .column = e.facts[c].index + 1, .byte = {}}, expected, quoted(found));
}

/// A row right above the others whose first cell is no number, "1.5-": left out it would be lost in silence.
void refuse_odd_row_above(const Evidence& e) {
  if (e.head.run_begin == 0 || e.facts.size() < 2 || (e.header.titles_begin < e.head.run_begin && e.header.titles_begin + 1 >= e.head.run_begin)) return;
  const HeadLine& line = e.head.lines[e.head.run_begin - 1];
  if (line.comment || line.cells.size() != e.facts.size() + e.head.key) return;
  const auto key = line.cells[e.head.key];
  const bool like_a_number = !key.empty() && (std::string_view("0123456789+-.(").find(key.front()) != std::string_view::npos || (key.front() & 0x80) != 0);
  const auto behind = line.kinds.begin() + static_cast<std::ptrdiff_t>(e.head.key) + 1;
  if (!like_a_number || line.kinds[e.head.key] != CellKind::word || !std::all_of(behind, line.kinds.end(), [](auto kind) { return kind == CellKind::number; })) return;
  throw ImportError(ImportError::Kind::unusable_data, e.file, {.line = e.line(e.head.run_begin - 1), .column = e.head.key + 1, .byte = {}}, "a number", quoted(key));
}

/// Numbers like "1,234" among whole ones: thousands or decimals; like "1E2": hexadecimal codes or exponents.
void refuse_ambiguous_numbers(const Evidence& e) {
  for (std::size_t c = 0; c < e.facts.size(); ++c) {
    const auto& facts = e.facts[c];
    if (facts.grouped > 1 && facts.grouped == facts.marked && facts.marked < facts.without_unit)
      refuse_column(e, c, "decimals in every number or no separators of thousands", facts.grouped_cell);
    if (!facts.code_cell.empty() && facts.without_unit > facts.marked) refuse_column(e, c, "whole numbers without an exponent, or all with one", facts.code_cell);
  }
}

/// Units behind the numbers take the place of one in the header.
void take_units_in_cells(const Evidence& e, Layout& layout, std::size_t c, Quantity quantity) {
  const auto& facts = e.facts[c];
  if (facts.with_unit == 0) return;
  const auto unit = unit_of(unit_behind_number(facts.unit_cell, e.head.grid.decimal));
  if (facts.without_unit > 0) refuse_column(e, c, "a unit behind every number of a column or behind none", facts.unit_cell);
  if (unit && (unit->quantity == Quantity::time) != (quantity == Quantity::time)) refuse_column(e, c, quantity == Quantity::time ? "a time" : "a value", facts.unit_cell);
  Column& column = layout.columns[c];
  column.units_in_cells = true;
  if (!unit) return;  // a prefix alone
  column.scale = 1;
  if (quantity == Quantity::time) layout.time_scale = 1;
  else column.unit = symbol(unit->quantity), column.kind = ChannelKind::analog;
}

std::optional<std::size_t> find_time(const Evidence& e, Layout& layout) {
  for (std::size_t c = 0; c < e.facts.size(); ++c)
    if (is_time(e, c) && !(is_index(e, c) && names_index(e.title(c).name))) return c;
  if (e.facts.size() < 2 || e.facts[0].integers || !e.facts[0].rising || !foreign_unit(e, 0).empty()) return std::nullopt;
  const std::string name = e.title(0).name.empty() ? "without a name" : quoted(e.title(0).name);
  layout.notes.push_back("column " + std::to_string(e.facts[0].index + 1) + " (" + name + ") is taken as time in seconds, since it rises steadily");
  return 0;
}

/// The cell of a column in the first row; empty where that row is shorter than others.
std::string_view first_cell(const Evidence& e, const ColumnFacts& facts) {
  const auto& cells = e.head.lines[e.head.run_begin].cells;
  return facts.index < cells.size() ? cells[facts.index] : std::string_view();
}

/// Times in scientific notation lose decimals as they grow: what the first rows show is then too fine for the last.
double coarsest_digit(const Evidence& e, const ColumnFacts& facts) {
  const auto cells = split(e.last_row, e.head.grid);
  const auto first = first_cell(e, facts);
  if (!facts.same_decimals || facts.index >= cells.size() || first.find_first_of("eE") == std::string_view::npos) return facts.last_digit;
  return std::max(facts.last_digit, last_digit_of(cells[facts.index], e.head.grid.decimal));
}

void set_time(const Evidence& e, Layout& layout, std::size_t c) {
  Column& column = layout.columns[c];
  column.role = Role::time;
  const auto& facts = e.facts[c];
  layout.last_digit_s = coarsest_digit(e, facts);
  if (facts.stamps > 0) {
    layout.time = TimeKind::stamp;
  } else {
    layout.time = TimeKind::number;
    layout.time_scale = e.has_unit(c, Quantity::time) ? e.title(c).unit->scale : 1;
    take_units_in_cells(e, layout, c, Quantity::time);
    layout.last_digit_s *= layout.time_scale;
    if (!e.has_unit(c, Quantity::time) && e.has_titles() && !column.units_in_cells) layout.notes.push_back("the time column states no unit: taken as seconds");
    if (!e.has_titles() && layout.notes.empty()) layout.notes.push_back("no names or units: the first column is taken as time in seconds");
    if (facts.first && std::abs(*facts.first) >= 1e6 && layout.time_scale == 1) layout.time = TimeKind::instant;
  }
  const auto first = first_cell(e, facts);
  if (layout.time == TimeKind::stamp) layout.origin = stamp_in(first).value_or(Instant{});
  if (layout.time == TimeKind::instant) {
    if (const auto instant = instant_in(first, layout.grid.decimal)) layout.origin = {instant->seconds, 0};
    else layout.time = TimeKind::number;
  }
}

/// Seconds a sample from what the user or the header says.
std::optional<double> given_interval(const Evidence& e) {
  const auto& given = e.header.metadata;
  if (e.options.sample_rate_hz) return *e.options.sample_rate_hz > 0 ? 1 / *e.options.sample_rate_hz : 0;
  if (given.interval_s) return given.interval_s->value;
  if (given.rate_hz) return 1 / given.rate_hz->value;
  return std::nullopt;
}

/// A column that counts samples; without a name, any whole numbers that rise beside values.
bool counts_samples(const Evidence& e, std::size_t c) {
  if (is_index(e, c)) return c == 0 || names_index(e.title(c).name);
  return c == 0 && e.facts.size() > 1 && e.title(c).name.empty() && !e.title(c).unit && e.facts[c].integers && e.facts[c].rising;
}

void count_time(Layout& layout, std::size_t c, double interval_s) {
  layout.columns[c].role = Role::time;
  layout.time = TimeKind::number;
  layout.time_scale = interval_s;
  layout.counted = true;
}

/// Index and rate columns make the time, or the header does.
void find_time_base(const Evidence& e, Layout& layout) {
  const auto time = find_time(e, layout);
  if (time && (foreign_unit(e, *time).empty() || e.facts[*time].stamps > 0)) return set_time(e, layout, *time);
  if (time && !e.options.sample_rate_hz) refuse_unit(e, *time);
  if (time) layout.notes.push_back("column " + std::to_string(e.facts[*time].index + 1) + " is in no unit of time, " + quoted(foreign_unit(e, *time)) + ": not used");
  for (std::size_t c = 0; c < e.facts.size(); ++c) {
    if (!is_rate(e, c) || !e.facts[0].integers || !e.facts[0].rising) continue;
    count_time(layout, 0, 1 / (*e.facts[c].first * (e.title(c).unit ? e.title(c).unit->scale : 1)));
    layout.time_rule = "sample index divided by the rate column";
    return;
  }
  const auto interval = given_interval(e);
  if (!interval)
    refuse(e, "a time column, a sample interval in the header, or a sample rate given with --sample-rate",
           counts_samples(e, 0) ? "an index column without a time base" : "values without a time base");
  for (std::size_t c = 0; c < e.facts.size(); ++c)
    if (counts_samples(e, c) && *interval > 0) return count_time(layout, c, *interval);
}

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
  refuse_ambiguous_commas(e);
  refuse_ambiguous_numbers(e);
  refuse_odd_row_above(e);
  if (const auto other = other_table(e.head, e.header, e.facts)) refuse(e, "a waveform", *other);
  find_time_base(e, layout);
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
