#include "importers/text/time_base.hpp"

#include <algorithm>
#include <cmath>

#include "importers/excerpt.hpp"
#include "importers/import_error.hpp"

namespace pulsewright::importers::text {

namespace {

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

/// A unit of time stands above, but not where it belongs: with lines between it and the rows, or in a cell of its own among the names.
void refuse_unit_elsewhere(const Evidence& e, std::size_t time) {
  constexpr int looked_at = 4;
  int seen = 0;
  for (std::size_t i = e.head.run_begin; i-- > 0 && seen < looked_at;) {
    const auto& cells = e.head.lines[i].cells;
    if (std::all_of(cells.begin(), cells.end(), [](auto cell) { return cell.empty(); })) continue;
    const bool names = seen++ == 0 && (names_time(cells.front()) || unit_of(cells.front()));
    for (std::size_t c = 0; c < e.facts.size(); ++c) {
      const auto at = e.facts[c].index;
      const auto unit = at < cells.size() && (names || c == time) ? unit_of(cells[at]) : std::nullopt;
      if (!unit || unit->quantity != Quantity::time || unit->scale == 1) continue;
      throw ImportError(ImportError::Kind::unusable_data, e.file, {.line = e.line(i), .column = at + 1, .byte = {}}, "a unit of time behind the name of the time column or right above its rows", quoted(cells[at]));
    }
  }
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
    if (!e.has_unit(c, Quantity::time) && !column.units_in_cells) refuse_unit_elsewhere(e, c);
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

void count_time(Layout& layout, std::size_t c, double interval_s) {
  layout.columns[c].role = Role::time;
  layout.time = TimeKind::number;
  layout.time_scale = interval_s;
  layout.counted = true;
}

}  // namespace

bool is_time(const Evidence& e, std::size_t c) {
  if (e.facts[c].stamps * 2 > e.facts[c].rows) return true;
  if (!e.facts[c].is_numeric()) return false;
  if (e.has_unit(c, Quantity::time)) return true;
  return is_called_time(e, c) && !e.has_unit(c, Quantity::index) && !(c > 0 && plain(e.title(c).name) == "x");
}

bool is_rate(const Evidence& e, std::size_t c) {
  const bool named = plain(e.title(c).name).find("rate") != std::string::npos || e.has_unit(c, Quantity::frequency);
  return named && e.facts[c].different.size() == 1 && *e.facts[c].first > 0;
}

bool counts_samples(const Evidence& e, std::size_t c) {
  if (is_index(e, c)) return c == 0 || names_index(e.title(c).name);
  return c == 0 && e.facts.size() > 1 && e.title(c).name.empty() && !e.title(c).unit && e.facts[c].integers && e.facts[c].rising;
}

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
  const auto& given = e.header.metadata;
  const auto interval = given_interval(e);
  if (!interval)
    refuse(e, "a time column, a sample interval in the header, or a sample rate given with --sample-rate",
           counts_samples(e, 0) ? "an index column without a time base" : "values without a time base");
  if (!e.options.sample_rate_hz && !given.conflict.empty()) refuse(e, "one sample interval in the header, or a sample rate given with --sample-rate", given.conflict);
  if (!e.options.sample_rate_hz && given.interval_s && given.interval_s->without_unit && !given.time_unit.empty())
    layout.notes.push_back(quoted(given.interval_s->key) + " in the header states no unit: taken as seconds, though " + quoted(given.time_unit) + " is stated for times");
  for (std::size_t c = 0; c < e.facts.size(); ++c)
    if (counts_samples(e, c) && *interval > 0) return count_time(layout, c, *interval);
}

}  // namespace pulsewright::importers::text
