#include "importers/text/header.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "importers/excerpt.hpp"

namespace pulsewright::importers::text {

namespace {

using Cells = std::vector<std::string_view>;

bool one_of(std::string_view word, std::initializer_list<std::string_view> words) {
  return std::find(words.begin(), words.end(), word) != words.end();
}

bool names_interval(std::string_view key) {
  return one_of(key, {"interval", "sampleinterval", "samplinginterval", "sampleperiod", "samplingperiod", "timeincrement",
                      "increment", "step", "timestep", "dt", "deltat", "xincrement", "xincr", "horizontalinterval",
                      "horizontalincrement", "sampletime", "base", "timeinterval", "timeperpoint", "timepersample"});
}
bool names_rate(std::string_view key) {
  return one_of(key, {"rate", "samplerate", "samplingrate", "samplingfrequency", "samplefrequency", "fs", "samplespersecond"});
}
bool names_count(std::string_view key) {
  return one_of(key, {"points", "samples", "recordlength", "numberofpoints", "numberofsamples", "samplecount", "n", "pointcount",
                      "segmentsize", "waveformpoints", "recordsize"});
}
bool names_start(std::string_view key) {
  return one_of(key, {"begin", "start", "starttime", "xorigin", "xstart", "t0", "firstsample", "timeorigin", "xzero", "xoffset"});
}

/// Units behind a number in the header: none, or one of this quantity.
bool is_of(Quantity quantity, std::string_view cell, char decimal) {
  const auto unit = unit_of(unit_behind_number(cell, decimal));
  return !unit || unit->quantity == quantity;
}

/// "10 MSa/s" -> "10 MHz".
std::string samples_as_hertz(std::string text) {
  for (const std::string_view samples : {"samples/second", "Samples/second", "samples/sec", "Samples/sec", "samples/s", "Samples/s", "Sa/sec", "Sa/s", "S/sec",
                                         "S/s", "Sps", "sps", "SPS"})
    if (text.ends_with(samples)) return text.replace(text.size() - samples.size(), samples.size(), "Hz");
  return text;
}

/// Name and unit of a key; "Rate (MSa/s)" is a rate in MHz.
NameAndUnit split_key(std::string_view key) {
  const auto named = split_name(key);
  const auto unit = named.unknown_unit.empty() ? std::nullopt : unit_of(samples_as_hertz(named.unknown_unit));
  return unit ? NameAndUnit{named.name.substr(0, named.name.find_last_of("([{<")), unit} : named;
}

/// "100,000 Hz": one comma that may separate thousands.
bool could_be_thousands(std::string_view text) {
  if (text.starts_with('-') || text.starts_with('+')) text.remove_prefix(1);
  const auto digits = [&](std::size_t from) { return std::min(text.find_first_not_of("0123456789", from), text.size()) - from; };
  const auto before = digits(0);
  return before >= 1 && before <= 3 && text.front() != '0' && before < text.size() && text[before] == ',' && digits(before + 1) == 3;
}

/// "4.0E-06", "1e+06Hz", "2000000(ps)", "CH1:0.000002"; nothing where another unit stands behind it.
/// A comma as decimal mark is tried last: where it separates cells, no cell has one.
std::optional<double> value_of(std::string_view cell, char decimal, std::optional<Quantity> quantity = {}) {
  if (stamp_in(cell)) return std::nullopt;
  std::string text(trimmed(cell));
  std::replace_if(text.begin(), text.end(), [](char c) { return c == '(' || c == ')'; }, ' ');
  if (const auto colon = text.rfind(':'); colon != std::string::npos) text.erase(0, colon + 1);
  text = samples_as_hertz(std::string(trimmed(text)));
  for (const char mark : {decimal, '.', ','})
    if (const auto number = mark == ',' && decimal != ',' && could_be_thousands(text) ? std::nullopt : number_in(text, mark)) return !quantity || is_of(*quantity, text, mark) ? number : std::nullopt;
  return std::nullopt;
}

std::optional<Given> given(std::string_view key, std::string_view cell, char decimal, Quantity quantity) {
  const auto value = value_of(cell, decimal, quantity);
  const auto named = split_key(key);
  if (!value || (named.unit && named.unit->quantity != quantity) || !named.unknown_unit.empty()) return std::nullopt;
  const double scale = named.unit ? named.unit->scale : 1;
  const auto digits = std::count_if(cell.begin(), std::find_if(cell.begin(), cell.end(), [](char c) { return c == 'e' || c == 'E'; }),
                                    [](char c) { return c >= '0' && c <= '9'; });
  return Given{*value * scale, digits >= 4 ? last_digit_of(cell, decimal) * scale : 0, std::string(trimmed(key)),
               !named.unit && !unit_of(unit_behind_number(cell, decimal))};
}

/// The first value of a key; a later one that is another is told in `conflict`.
void keep(std::optional<Given>& place, const std::optional<Given>& found, bool positive, std::string* conflict = nullptr) {
  if (!found || (positive && !(found->value > 0))) return;
  if (!place) place = found;
  else if (conflict != nullptr && conflict->empty() && std::abs(found->value / place->value - 1) > 1e-3)
    *conflict = fmt::format("{} of {:g} and {} of {:g}", quoted(place->key), place->value, quoted(found->key), found->value);
}

/// Units given as "V", "CH1:V CH2:V" or over several cells.
void take_value_units(Metadata& metadata, const Cells& cells, std::size_t from) {
  if (!metadata.value_units.empty()) return;
  for (std::size_t i = from; i < cells.size(); ++i) {
    for (const auto part : split(cells[i], Grid{' ', '.'})) {
      const auto colon = part.rfind(':');
      metadata.value_units.push_back(unit_of(colon == std::string_view::npos ? part : part.substr(colon + 1)).value_or(Unit{Quantity::index}));
    }
  }
}

void take_pair(Metadata& metadata, std::string_view key, std::string_view value, char decimal) {
  const std::string name = plain(split_key(key).name);
  if (names_interval(name)) keep(metadata.interval_s, given(key, value, decimal, Quantity::time), true, &metadata.conflict);
  if (names_rate(name)) keep(metadata.rate_hz, given(key, value, decimal, Quantity::frequency), true, &metadata.conflict);
  if (names_start(name)) keep(metadata.start_s, given(key, value, decimal, Quantity::time), false);
  if (one_of(name, {"voltspercount", "voltpercount", "voltsperlsb", "codewidth"})) keep(metadata.volts_per_count, given(key, value, decimal, Quantity::voltage), true);
  if (one_of(name, {"xunits", "xunit", "timeunits", "timeunit", "horizontalunits", "horizontalunit"}) && metadata.time_unit.empty())
    if (const auto unit = unit_of(value); unit && unit->quantity == Quantity::time && unit->scale != 1) metadata.time_unit = without_brackets(value);
  if (name == "vbase") keep(metadata.volts_per_division, given(key, value, decimal, Quantity::voltage), true);
  if (names_count(name) && !metadata.announced)
    if (const auto count = value_of(value, decimal); count && *count >= 1 && *count < 1e15 && *count == std::floor(*count))
      metadata.announced = static_cast<std::uint64_t>(*count);
}

/// A key that is known with a value that is none.
void note_not_understood(Metadata& metadata, std::string_view key, std::string_view value, char decimal) {
  const std::string name = plain(split_key(key).name);
  const bool is_number = names_interval(name) || names_rate(name) || names_start(name) || names_count(name);
  if (!is_number || value.empty() || stamp_in(value)) return;
  const auto number = value_of(value, decimal);
  const bool whole = number && *number >= 1 && *number == std::floor(*number);
  const bool other_unit = (names_interval(name) || names_start(name)) ? !given(key, value, decimal, Quantity::time)
                                                                      : names_rate(name) && !given(key, value, decimal, Quantity::frequency);
  if (!number || other_unit || (names_count(name) && !whole) || ((names_interval(name) || names_rate(name)) && !(*number > 0)))
    metadata.not_understood.push_back(quoted(key) + " in the header is " + quoted(value));
}

/// The value in a cell, with the unit that stands in the next one.
std::string with_unit_beside(const Cells& cells, std::size_t i, char decimal) {
  const std::string value(cells[i]);
  const bool beside = i + 1 < cells.size() && kind_of(value, decimal) == CellKind::number && unit_behind_number(value, decimal).empty() && unit_of(samples_as_hertz(std::string(cells[i + 1])));
  return beside ? value + " " + std::string(cells[i + 1]) : value;
}

/// Every word followed by a value is tried as a key.
void take_cells(Metadata& metadata, const Cells& cells, char decimal) {
  for (std::size_t i = 0; i + 1 < cells.size(); ++i) {
    if (cells[i].empty() || kind_of(cells[i], decimal) != CellKind::word) continue;
    take_pair(metadata, cells[i], with_unit_beside(cells, i + 1, decimal), decimal);
    const std::string name = plain(split_key(cells[i]).name);
    for (std::size_t k = i + 2; (names_interval(name) || names_rate(name)) && k < cells.size() && kind_of(cells[k], decimal) == CellKind::number; ++k)
      take_pair(metadata, cells[i], cells[k], decimal);  // one for each channel
    if (one_of(plain(cells[i]), {"verticalunits", "verticalunit", "unit", "units", "yunit", "yunits", "valueunit"}))
      take_value_units(metadata, cells, i + 1);
  }
}

/// "Key: value" and "key=value" in one cell; a comment may separate the two by a mark that the rows do not use.
void take_line(Metadata& metadata, std::string_view line, bool comment, char decimal) {
  auto mark = line.find_first_of(":=");
  if (mark == std::string_view::npos && comment) mark = line.find_first_of(",;\t");
  if (mark == std::string_view::npos) return;
  take_pair(metadata, line.substr(0, mark), line.substr(mark + 1), decimal);
}

/// Cells of a line under the sample columns.
Cells under(const HeadLine& line, const std::vector<ColumnFacts>& columns) {
  Cells cells;
  for (const auto& column : columns) cells.push_back(column.index < line.cells.size() ? line.cells[column.index] : std::string_view());
  return cells;
}

bool is_units_line(const Cells& cells) {
  std::size_t units = 0, filled = 0;
  for (const auto cell : cells) {
    filled += !cell.empty() && cell != "()" && cell != "[]";
    units += unit_of(cell).has_value();
  }
  return units > 0 && (units == filled || (units + 1 == filled && filled > 2));
}

/// All but one of the cells are units.
bool is_perhaps_units_line(const Cells& cells) {
  const auto units = std::count_if(cells.begin(), cells.end(), [](auto cell) { return unit_of(cell).has_value(); });
  return units > 0 && units + 1 == static_cast<std::ptrdiff_t>(cells.size());
}

bool is_names_line(const Cells& cells, bool units_below, char decimal) {
  std::size_t words = 0, numbers = 0, filled = 0;
  for (const auto cell : cells) {
    const auto kind = kind_of(cell, decimal);
    if (kind == CellKind::stamp) return false;
    filled += kind != CellKind::empty;
    words += kind == CellKind::word || kind == CellKind::unknown || kind == CellKind::missing;
    numbers += kind == CellKind::number;
  }
  if (words == 0 || 2 * filled < cells.size()) return false;
  if (numbers > 0 && !units_below && !names_time(cells.front()) && !names_index(cells.front())) return false;
  return cells.size() > 1 || !one_of(plain(cells.front()), {"data", "values", "waveform", "waveformdata", "sampledata"});
}

/// "|---|---|" between names and rows.
bool is_rule(std::string_view line) {
  return line.find_first_not_of("-=+|:,; \t") == std::string_view::npos && (line.find("--") != std::string_view::npos || line.find("==") != std::string_view::npos);
}

/// The nearest line above `from` that is not blank; comments only where `comments` says so.
std::optional<std::size_t> line_above(const Head& head, std::size_t from, bool comments) {
  while (from-- > 0) {
    const HeadLine& line = head.lines[from];
    const bool blank = std::all_of(line.cells.begin(), line.cells.end(), [](auto cell) { return cell.empty(); }) || is_rule(line.comment ? without_mark(line.raw) : line.raw);
    if (!blank && line.comment == comments) return from;
    if (!blank && comments) return std::nullopt;
  }
  return std::nullopt;
}

/// The line above names a column of times.
bool names_time_above(const Head& head, const std::vector<ColumnFacts>& columns, std::size_t line, bool comments) {
  const auto above = line_above(head, line, comments);
  return above && names_time(under(head.lines[*above], columns).front());
}

/// What stands below a name where the units are: a unit, something else, or the value of a key.
void take_unit(std::string_view cell, std::size_t line, char decimal, ColumnTitle& title) {
  const auto unit = unit_of(cell);
  const auto word = without_brackets(cell);
  if (unit) title.unit = unit;
  title.unknown_unit = unit || word.empty() || kind_of(word, decimal) == CellKind::number ? "" : std::string(word);
  title.unit_line = line;
}

/// "Sample rate: 10 MSa/s" or "Sample rate,1e7": a known key and its value.
bool is_pair(const Head& head, std::size_t at) {
  const HeadLine& line = head.lines[at];
  const auto mark = line.raw.find_first_of(":=");
  const bool in_one_cell = mark != std::string_view::npos && std::count_if(line.cells.begin(), line.cells.end(), [](auto cell) { return !cell.empty(); }) == 1;
  if (!in_one_cell && (line.cells.size() < 2 || head.key > 0)) return false;
  const std::string key = plain(split_name(in_one_cell ? line.raw.substr(0, mark) : line.cells[0]).name);
  const auto value = in_one_cell ? line.raw.substr(mark + 1) : line.cells[1];
  return (names_interval(key) || names_rate(key) || names_start(key) || names_count(key)) && value_of(value, head.grid.decimal);
}

/// Where metadata stands between the rows and a line that names all columns, the first of them time or index: that line.
std::size_t names_above_pairs(const Head& head, const std::vector<ColumnFacts>& columns, std::size_t from, bool comments) {
  std::optional<std::size_t> at = from;
  while (at && is_pair(head, *at)) at = line_above(head, *at, comments);
  if (!at || at == from) return from;
  const auto cells = under(head.lines[*at], columns);
  const auto is_word = [&](auto cell) { return kind_of(cell, head.grid.decimal) == CellKind::word; };
  const auto first = split_name(cells.front()).name;
  return std::all_of(cells.begin(), cells.end(), is_word) && (names_time(first) || names_index(first)) ? *at : from;
}

void read_titles(const Head& head, const std::vector<ColumnFacts>& columns, Header& header, bool comments) {
  auto at = line_above(head, head.run_begin, comments);
  if (!at) return;
  Cells units, names;
  std::optional<std::size_t> units_at;
  if (auto cells = under(head.lines[*at], columns); is_units_line(cells) || (is_perhaps_units_line(cells) && names_time_above(head, columns, *at, comments))) {
    units = cells;
    units_at = at;
    header.units_line = true;
    take_cells(header.metadata, head.lines[*at].cells, head.grid.decimal);
    at = line_above(head, *at, comments);
  }
  if (at && !header.units_line) at = names_above_pairs(head, columns, *at, comments);
  if (at) {
    const auto cells = under(head.lines[*at], columns);
    const bool complete = !comments || std::none_of(cells.begin(), cells.end(), [](auto cell) { return cell.empty(); });
    if (complete && is_names_line(cells, header.units_line, head.grid.decimal) && !(columns.size() > 1 && is_pair(head, *at))) names = cells;
  }
  header.names_line = !names.empty();
  if (header.names_line || header.units_line) header.titles_begin = header.names_line ? *at : *line_above(head, head.run_begin, comments);
  for (std::size_t c = 0; c < names.size() && !names[c].empty() && (units.empty() || kind_of(units[c], head.grid.decimal) != CellKind::number); ++c)
    header.named = columns[c].index + 1;
  for (std::size_t c = 0; c < columns.size(); ++c) {
    if (!names.empty()) {
      auto title = split_name(names[c]);
      header.unit_in_names = header.unit_in_names || title.unit.has_value();
      header.titles[c] = {title.name, title.unit, title.unknown_unit, *at};
    }
    if (!units.empty()) take_unit(units[c], *units_at, head.grid.decimal, header.titles[c]);
  }
  if (!header.names_line || !header.units_line) return;
  // Start and increment stand as further columns: name above, number below.
  const auto& upper = head.lines[*at].cells;
  const auto below = line_above(head, head.run_begin, comments);
  for (std::size_t c = 0; c < std::min(upper.size(), head.lines[*below].cells.size()); ++c)
    if (const auto value = head.lines[*below].cells[c]; !unit_of(value)) {
      take_pair(header.metadata, upper[c], value, head.grid.decimal);
      note_not_understood(header.metadata, upper[c], value, head.grid.decimal);
    }
}

void read_metadata_beside(const Head& head, const std::vector<ColumnFacts>& columns, Header& header) {
  const std::size_t right = columns.back().index + 1;
  for (std::size_t i = head.run_begin; i < head.run_end; ++i) {
    const auto& cells = head.lines[i].cells;
    if (head.lines[i].comment) continue;
    const auto is_word = [&](std::size_t c) { return kind_of(cells[c], head.grid.decimal) == CellKind::word; };
    if (head.key > 1 && !cells.empty() && is_word(0)) header.metadata_left = true;
    if (head.key > 1) take_cells(header.metadata, {cells.begin(), cells.begin() + static_cast<std::ptrdiff_t>(std::min(head.key, cells.size()))}, head.grid.decimal);
    if (cells.size() <= right) continue;
    const Cells beside(cells.begin() + static_cast<std::ptrdiff_t>(right), cells.end());
    header.metadata_right = header.metadata_right || std::any_of(beside.begin(), beside.end(), [&](auto cell) { return kind_of(cell, head.grid.decimal) == CellKind::word; });
    take_cells(header.metadata, beside, head.grid.decimal);
  }
}

/// Interval and rate that do not fit each other, or that are others in comments between the rows.
void take_conflicts(const Head& head, Metadata& metadata) {
  Metadata later = metadata;
  for (std::size_t i = head.run_begin; i < head.lines.size(); ++i)
    if (head.lines[i].comment) take_line(later, without_mark(head.lines[i].raw), true, head.grid.decimal);
  metadata.conflict = later.conflict;
  const auto& interval = metadata.interval_s;
  const auto& rate = metadata.rate_hz;
  if (metadata.conflict.empty() && interval && rate && std::abs(interval->value * rate->value - 1) > 0.01)
    metadata.conflict = fmt::format("{} of {:g} and {} of {:g}", quoted(interval->key), interval->value, quoted(rate->key), rate->value);
}

}  // namespace

bool names_time(std::string_view name) {
  const std::string key = plain(name);
  return one_of(key, {"time", "t", "times", "axis", "xaxis", "x", "second", "seconds", "sec", "zeit", "dauer", "duration", "temps",
                      "timestamp", "stamp", "deltat", "elapsed", "elapsedtime", "timevalue"}) ||
         (key.starts_with("time") && key.size() <= 6) || (key.size() == 2 && key[0] == 't' && key[1] >= '0' && key[1] <= '9');
}

bool names_index(std::string_view name) {
  const std::string key = plain(name);
  return one_of(key, {"n", "no", "nr", "index", "idx", "sample", "samples", "samplenumber", "sampleindex", "point", "row", "count", "i"}) ||
         key.starts_with("idx") || key.starts_with("index") ||
         (key.size() == 2 && key[0] == 'x' && key[1] >= '0' && key[1] <= '9');
}

Header read_header(const Head& head, const std::vector<ColumnFacts>& columns) {
  Header header;
  header.titles.resize(columns.size());
  header.titles_begin = head.run_begin;
  read_titles(head, columns, header, false);
  if (!header.names_line && !header.units_line) read_titles(head, columns, header, true);
  for (std::size_t i = 0; i < head.run_begin; ++i) {
    const HeadLine& line = head.lines[i];
    take_cells(header.metadata, line.cells, head.grid.decimal);
    take_line(header.metadata, line.comment ? without_mark(line.raw) : line.raw, line.comment, head.grid.decimal);
    if (line.comment) header.comments = true;
    if (!line.comment && i < header.titles_begin && line.cells.size() >= 2)
      note_not_understood(header.metadata, line.cells[0], line.cells[1], head.grid.decimal);
  }
  take_conflicts(head, header.metadata);
  header.metadata_above = head.run_begin > static_cast<std::size_t>(header.names_line) + static_cast<std::size_t>(header.units_line);
  read_metadata_beside(head, columns, header);
  return header;
}

}  // namespace pulsewright::importers::text
