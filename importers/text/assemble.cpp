#include "importers/text/assemble.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "importers/excerpt.hpp"
#include "importers/import_error.hpp"
#include "importers/text/time_axis.hpp"

namespace pulsewright::importers::text {

namespace {

/// What the assembly works on.
struct Work {
  const std::string& file;
  const Content& text;
  const Layout& layout;
  Rows& rows;
  const ImportOptions& options;
  Capture& capture;
  TimeAxis axis{};
  Stretch record{};
  bool change_list = false;

  void note(std::string words) { capture.notes.push_back(std::move(words)); }
  double samples_per_row() const { return 1.0 / static_cast<double>(layout.rows_per_sample); }
};

/// What the user stated does not fit the file.
[[noreturn]] void refuse_option(const Work& work, const std::string& expected, const std::string& found) {
  throw ImportError(ImportError::Kind::unusable_data, work.file, {}, expected, found);
}

/// The cell of `role` in a row, rows counted from 0; without a role the whole row.
[[noreturn]] void refuse(const Work& work, std::uint64_t row, std::optional<Role> role, const std::string& expected, const std::string& found) {
  Place place{.line = line_of_row(work.text, work.layout, row), .column = {}, .byte = {}};
  for (const Column& column : work.layout.columns)
    if (column.role == role) place.column = column.index + 1;
  throw ImportError(ImportError::Kind::unusable_data, work.file, place, expected, found);
}

std::string counted(std::uint64_t n, const std::string& thing) { return fmt::format("{} {}{}", n, thing, n == 1 ? "" : "s"); }

bool has_role(const Layout& layout, Role role) {
  return std::any_of(layout.columns.begin(), layout.columns.end(), [&](const Column& column) { return column.role == role; });
}

std::optional<Given> preamble_interval(const Metadata& metadata) {
  if (metadata.interval_s) return metadata.interval_s;
  if (!metadata.rate_hz) return std::nullopt;
  const double interval = 1 / metadata.rate_hz->value;
  return Given{interval, metadata.rate_hz->last_digit / metadata.rate_hz->value * interval, metadata.rate_hz->key};
}

/// Every row a change and no two channels' rows alike: changes, not samples.
bool rows_are_changes(const Work& work) {
  std::uint64_t changes = 0;
  for (const auto& events : work.rows.events) changes += events.empty() ? 0 : events.size() - 1;
  return work.rows.rows > 3 && changes + 2 >= work.rows.rows;
}

void find_axis(Work& work, const std::function<bool()>& may_be_changes) {
  const bool logic_only = has_role(work.layout, Role::logic) && !has_role(work.layout, Role::value);
  const bool timed = work.layout.time != TimeKind::none;
  const auto preamble = preamble_interval(work.layout.metadata);
  double resolution = work.layout.last_digit_s;
  // Two rows a sample: steps of nothing and of a whole interval are both right.
  if (work.layout.rows_per_sample == 2) resolution += 2 * work.rows.expected_interval_s;
  const double hint = preamble ? preamble->value * work.samples_per_row() : 0;
  work.axis = find_stretches(work.rows, hint, resolution, work.layout.change_list);
  if (!timed) return;
  if (const auto& fall = work.axis.backwards)
    refuse(work, fall->row, Role::time, "times that rise", fmt::format("time running backwards by {:.4g} s", -fall->step_s));
  const std::uint64_t breaks = work.axis.gaps;
  const bool mixed = !work.axis.even || breaks > std::max<std::uint64_t>(1, work.rows.rows / 8);
  work.change_list = logic_only && (mixed || work.layout.change_list || breaks > 0 || rows_are_changes(work));
  if (work.change_list) {
    work.axis = find_stretches(work.rows, 0, resolution, true);
    return;
  }
  if (work.axis.restarts + 1 > std::max<std::uint64_t>(2, work.rows.rows / 2))
    refuse(work, work.axis.restart->row, Role::time, "times that rise", "a column that falls as often as it rises");
  if (!mixed) return;
  if (work.layout.rows_per_sample == 1 && may_be_changes()) throw UnevenTimes{};
  const std::string steps = fmt::format("steps from {:.4g} s to {:.4g} s", work.axis.step_min_s, work.axis.step_max_s);
  const auto& odd = work.axis.odd;
  refuse(work, odd ? odd->row : work.rows.rows - 1, Role::time, "samples at even steps of time",
         odd ? fmt::format("a step of {:.4g} s among {}", odd->step_s, steps) : steps);
}

void choose_record(Work& work) {
  const auto& stretches = work.axis.stretches;
  const std::size_t least = 2 * work.layout.rows_per_sample;
  work.capture.records = stretches.size();
  if (work.options.record) {
    if (*work.options.record == 0 || *work.options.record > stretches.size())
      refuse_option(work, fmt::format("a record from 1 to {}", stretches.size()), fmt::format("record {}", *work.options.record));
    work.capture.record = *work.options.record;
  } else {
    const auto longest = std::max_element(stretches.begin(), stretches.end(), [](const auto& a, const auto& b) { return a.rows() < b.rows(); });
    work.capture.record = static_cast<std::size_t>(longest - stretches.begin()) + 1;
  }
  work.record = stretches[work.capture.record - 1];
  if (work.record.rows() < least)
    refuse(work, work.record.begin, {}, "at least two samples", work.rows.rows == 1 ? "one sample" : fmt::format("{} in the record", work.record.rows()));
  if (stretches.size() == 1) return;
  work.note(fmt::format("the file holds {} records ({}{}{}): record {} with {} rows is used", stretches.size(),
                        work.axis.restarts > 0 ? "time starts again" : "", work.axis.restarts > 0 && work.axis.gaps > 0 ? ", " : "",
                        work.axis.gaps > 0 ? "gaps in time" : work.axis.restarts > 0 ? "" : "rows without values between", work.capture.record,
                        work.record.rows()));
}

/// Interval per row from the column, and its standard uncertainty: both ends rounded to the last printed digit.
void column_interval(Work& work, double& interval, double& u) {
  const double steps = static_cast<double>(work.record.rows() - work.layout.rows_per_sample);
  interval = (work.record.last_s - work.record.first_s) / steps * static_cast<double>(work.layout.rows_per_sample);
  u = work.layout.last_digit_s / std::sqrt(6.0) / steps * static_cast<double>(work.layout.rows_per_sample);
}

void set_interval(Work& work) {
  Capture& capture = work.capture;
  const bool timed = work.layout.time != TimeKind::none;
  double column = 0, column_u = 0;
  if (timed) column_interval(work, column, column_u);
  if (work.options.sample_rate_hz) {
    if (!(*work.options.sample_rate_hz > 0)) refuse_option(work, "a sample rate above zero", fmt::format("{} Hz", *work.options.sample_rate_hz));
    capture.sample_interval_s = 1 / *work.options.sample_rate_hz;
    capture.sample_interval_rule = "sample rate given by the user";
    return;
  }
  if (const auto preamble = preamble_interval(work.layout.metadata)) {
    const double off = std::abs(preamble->value - column);
    if (!timed || off <= 4 * column_u + 2e-3 * column) {
      capture.sample_interval_s = preamble->value;
      capture.sample_interval_u_s = preamble->last_digit / std::sqrt(12.0);
      capture.sample_interval_rule = fmt::format("header, {}", quoted(preamble->key));
      return;
    }
    if (preamble->key != "base")
      work.note(fmt::format("{} in the header says {:.6g} s a sample, the time column {:.6g} s: the time column is used", quoted(preamble->key), preamble->value, column));
  }
  capture.sample_interval_s = column;
  capture.sample_interval_u_s = column_u;
  capture.sample_interval_rule = work.layout.time_rule.empty() ? "time column, (last - first) / (n - 1)" : work.layout.time_rule;
  if (!(column > 0)) refuse(work, work.record.end - 1, Role::time, "times that rise", "a time column that stands still");
}

void set_tick(Work& work) {
  Capture& capture = work.capture;
  if (work.layout.counted) {
    capture.sample_interval_s = work.layout.time_scale;
    capture.sample_interval_rule = "change list: one step of the index";
  } else {
    capture.sample_interval_s = tick_of(work.rows, work.layout.last_digit_s);
    const bool coarser = capture.sample_interval_s > 1.5 * work.layout.last_digit_s;
    capture.sample_interval_rule = coarser ? "change list: all steps are multiples of this tick" : "change list: last printed digit of the times";
  }
  if (!(capture.sample_interval_s > 0)) refuse(work, work.record.begin, Role::time, "times with a known resolution", "none");
  if (work.options.sample_rate_hz) {
    capture.sample_interval_s = 1 / *work.options.sample_rate_hz;
    capture.sample_interval_rule = "sample rate given by the user";
  }
}

/// Time of the first sample. Where samples are counted, the header says when the first of the file was taken.
double start_of(const Work& work) {
  const auto& stated = work.layout.metadata.start_s;
  if (work.layout.time == TimeKind::none) return stated ? stated->value : 0;
  if (!work.layout.counted || !work.layout.time_rule.empty()) return work.record.first_s;
  if (!stated && work.axis.stretches.front().first_s < 0) return work.record.first_s;  // counted from the trigger
  return (stated ? stated->value : 0) + (work.record.first_s - work.axis.stretches.front().first_s);
}

/// Keeps the rows of the record; two rows or two columns become their mean.
void cut_values(const Work& work, Samples& values) {
  const auto begin = static_cast<std::ptrdiff_t>(work.record.begin);
  if (work.record.begin > 0) std::move(values.begin() + begin, values.begin() + static_cast<std::ptrdiff_t>(work.record.end), values.begin());
  values.resize(work.record.rows());
  if (work.layout.rows_per_sample != 2) return;
  for (std::size_t i = 0; 2 * i + 1 < values.size(); ++i) values[i] = 0.5f * (values[2 * i] + values[2 * i + 1]);
  values.resize(values.size() / 2);
}

Channel logic_channel(const Work& work, const Column& column, const std::vector<LogicEvent>& events) {
  Channel channel{column.name, "", ChannelKind::logic, {}, {}};
  const bool by_row = !work.change_list;
  channel.changes.reserve(events.size() + 1);
  std::optional<bool> before;
  for (const LogicEvent& event : events) {
    if (event.row() >= work.record.end) break;
    if (event.row() < work.record.begin) {
      before = event.high();
      continue;
    }
    if (channel.changes.empty() && event.row() > work.record.begin) channel.changes.push_back({work.capture.start_s, before.value_or(!event.high())});
    if (!channel.changes.empty() && channel.changes.back().high == event.high()) continue;
    const double time = by_row ? work.capture.start_s + static_cast<double>(event.row() - work.record.begin) * work.capture.sample_interval_s
                               : event.time_s + (work.capture.start_s - work.record.first_s);
    channel.changes.push_back({time, event.high()});
  }
  if (channel.changes.empty() && before) channel.changes.push_back({work.capture.start_s, *before});
  return channel;
}

/// Moves the values and events of the rows to the capture.
void add_channels(Work& work) {
  std::size_t value_slot = 0, logic_slot = 0;
  for (const Column& column : work.layout.columns) {
    if (column.role == Role::logic) {
      const auto events = std::move(work.rows.events[logic_slot++]);
      Channel channel = logic_channel(work, column, events);
      if (channel.changes.empty()) work.note("column " + printable(column.name) + " never shows a known state and is left out");
      else work.capture.channels.push_back(std::move(channel));
      continue;
    }
    if (column.role != Role::value) continue;
    Samples values = std::move(work.rows.values[value_slot++]);
    cut_values(work, values);
    if (column.envelope_of_previous && !work.capture.channels.empty()) {
      auto& first = work.capture.channels.back().values;
      for (std::size_t i = 0; i < first.size(); ++i) first[i] = 0.5f * (first[i] + values[i]);
      continue;
    }
    work.capture.channels.push_back({column.name, column.unit, column.kind, std::move(values), {}});
  }
  if (work.capture.channels.empty()) refuse(work, work.record.begin, {}, "a channel with values", "none");
}

/// The last row of a list of changes is one.
bool ends_on_a_change(const Work& work) {
  std::uint64_t last_change = 0;
  for (const auto& events : work.rows.events) {
    const auto last = std::find_if(events.rbegin(), events.rend(), [&](const LogicEvent& event) { return event.row() < work.record.end; });
    if (last != events.rend()) last_change = std::max(last_change, last->row());
  }
  return work.change_list && last_change + 1 == work.record.end;
}

void note_logic(Work& work, bool ends_on_change) {
  std::string names;
  std::size_t two_valued = 0;
  for (const Column& column : work.layout.columns) {
    if (column.role != Role::logic) continue;
    if (column.low != 0 || column.high != 1)
      work.note(fmt::format("{} has two values only, {:g} and {:g}, at uneven times: read as logic changes", printable(column.name), column.low, column.high));
    else ++two_valued, names += (names.empty() ? "" : ", ") + printable(column.name);
  }
  if (two_valued > 0) work.note(names + (two_valued == 1 ? " holds" : " hold") + " only 0 and 1 without a unit: read as logic");
  if (ends_on_change) work.note("the list ends on a change: how long the last level lasted is not known");
}

std::string stated_instead(const Work& work, const Channel& channel) {
  for (const Column& column : work.layout.columns)
    if (column.name == channel.name && !column.unknown_unit.empty()) return " is not known, " + quoted(column.unknown_unit);
  return " is not stated";
}

void note_losses(Work& work) {
  if (work.rows.empty_rows > 0) work.note(fmt::format("{} without a value left out", counted(work.rows.empty_rows, "row")));
  if (work.rows.text_lines > 0) work.note(fmt::format("{} of words among or below the rows left out", counted(work.rows.text_lines, "line")));
  if (work.rows.unknown_states > 0) work.note(fmt::format("{}: the level before is held", counted(work.rows.unknown_states, "unknown logic state")));
  if (work.rows.companion_shift_max_s > 0 && work.rows.companion_shift_max_s > work.layout.last_digit_s)
    work.note(fmt::format("the channels' own time columns differ by up to {:.3g} s: the first is used for all", work.rows.companion_shift_max_s));
  const auto announced = work.capture.samples_announced;
  const auto found = work.rows.rows / work.layout.rows_per_sample;
  if (announced && *announced != found && *announced != work.capture.samples)
    work.note(fmt::format("the header announces {} samples, the file holds {}", *announced, found));
  for (const Channel& channel : work.capture.channels) {
    if (channel.kind == ChannelKind::counts) work.note(printable(channel.name) + " is in ADC counts: levels are relative");
    if (channel.kind == ChannelKind::analog && channel.unit.empty()) work.note("the unit of " + printable(channel.name) + stated_instead(work, channel) + ": taken as volts");
  }
}

}  // namespace

Capture assemble(const std::string& file, const Content& text, const Layout& layout, Rows&& rows, const ImportOptions& options,
                 const std::function<bool()>& may_be_changes) {
  Capture capture;
  capture.dialect = layout.dialect;
  capture.notes = layout.notes;
  capture.notes.insert(capture.notes.end(), rows.notes.begin(), rows.notes.end());
  capture.samples_announced = layout.metadata.announced;
  Work work{file, text, layout, rows, options, capture};
  if (rows.rows == 0) refuse(work, 0, {}, "rows with values", rows.empty_rows > 0 ? "only rows without a value" : "none");
  find_axis(work, may_be_changes);
  choose_record(work);
  if (work.change_list) set_tick(work);
  else set_interval(work);
  capture.samples = work.record.rows() / layout.rows_per_sample;
  capture.start_s = start_of(work);
  capture.span_s = work.change_list ? work.record.last_s - work.record.first_s : static_cast<double>(capture.samples - 1) * capture.sample_interval_s;
  if (!std::isfinite(capture.start_s) || !std::isfinite(capture.span_s)) refuse(work, work.record.begin, Role::time, "times in seconds that a number can hold", "a start or length beyond that");
  if (work.change_list) capture.dialect += ", list of changes";
  if (rows.companion_shift_max_s > 0.5 * capture.sample_interval_s + layout.last_digit_s)
    refuse(work, rows.companion_shift_row, Role::companion_time, "channels on one time base", fmt::format("time columns that differ by up to {:.3g} s", rows.companion_shift_max_s));
  const bool ends_on_change = ends_on_a_change(work);
  add_channels(work);
  note_logic(work, ends_on_change);
  note_losses(work);
  return capture;
}

}  // namespace pulsewright::importers::text
