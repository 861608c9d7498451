#include "analyzer/protocol/windows.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "analyzer/protocol/windows_data.hpp"

namespace pulsewright::analyzer {

namespace {

std::optional<double> scaled(double printed, double unit) {
  if (std::isnan(printed)) return std::nullopt;
  return printed * unit;
}

Window window_s(const PrintedTime& time) {
  return {scaled(time.min_ns, 1e-9), scaled(time.nominal_ns, 1e-9), scaled(time.max_ns, 1e-9)};
}

TimingWindows in_seconds(const PrintedWindows& row) {
  TimingWindows windows;
  windows.id = row.id;
  windows.chip = row.chip;
  windows.edition = row.edition;
  windows.t0h = window_s(row.t0h);
  windows.t1h = window_s(row.t1h);
  windows.t0l = window_s(row.t0l);
  windows.t1l = window_s(row.t1l);
  windows.period_s = scaled(row.period_ns, 1e-9);
  windows.period_tolerance_s = scaled(row.period_tolerance_ns, 1e-9);
  windows.latch_gap_min_s = scaled(row.latch_us, 1e-6);
  windows.bits_per_pixel = row.bits_per_pixel;
  windows.inverted = row.inverted;
  windows.levels = {row.levels.vih, row.levels.vil, row.levels.basis};
  windows.source = row.source;
  windows.seen = row.seen;
  return windows;
}

std::vector<TimingWindows> all_in_seconds() {
  std::vector<TimingWindows> all;
  for (const PrintedWindows& row : printed_windows()) all.push_back(in_seconds(row));
  return all;
}

std::vector<MeasuredAcceptance> all_measured() {
  std::vector<MeasuredAcceptance> all;
  for (const MeasuredRow& row : measured_rows()) {
    all.push_back({row.chip, scaled(row.zero_max_ns, 1e-9), scaled(row.one_min_ns, 1e-9), scaled(row.latch_us, 1e-6),
                   scaled(row.shortest_period_ns, 1e-9), row.source});
  }
  return all;
}

char lower(char letter) {
  return letter >= 'A' && letter <= 'Z' ? static_cast<char>(letter - 'A' + 'a') : letter;
}

bool same_word(std::string_view a, std::string_view b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(), [](char x, char y) { return lower(x) == lower(y); });
}

// Which edition is meant when only the chip is named: the one that strips of unknown age most likely follow.
constexpr std::pair<std::string_view, std::string_view> kDefaultEdition[] = {
    {"WS2811", "ws2811-800k-v1x"},     {"WS2812B", kDefaultWindowsId},  {"WS2812C", "ws2812c-800k-v1.4"},
    {"WS2813", "ws2813-800k-v1.0"},    {"SK6812", "sk6812-800k-rev06"}, {"SK6812RGBW", "sk6812rgbw-800k-rev07"},
    {"SK6805", "sk6805-ec15-800k"},    {"UCS1903", "ucs1903-800k"},     {"TM1803", "tm1803-400k"},
    {"TM1804", "tm1804-800k"},         {"TM1809", "tm1809-800k"},       {"TM1829", "tm1829-800k-inverted"},
    {"SM16703", "sm16703p-800k-v1.3"}, {"PD9823", "pl9823-580k"},       {"LPD1886", "lpd1886-1250k-8bit"},
};

const TimingWindows* by_id(std::string_view id, std::span<const TimingWindows> entries) {
  const auto found =
      std::find_if(entries.begin(), entries.end(), [&](const auto& entry) { return same_word(entry.id, id); });
  return found == entries.end() ? nullptr : &*found;
}

const TimingWindows* by_chip(std::string_view chip, std::span<const TimingWindows> entries) {
  const auto found =
      std::find_if(entries.begin(), entries.end(), [&](const auto& entry) { return same_word(entry.chip, chip); });
  return found == entries.end() ? nullptr : &*found;
}

}  // namespace

double Window::typical_s() const {
  if (nominal_s) return *nominal_s;
  if (min_s && max_s) return (*min_s + *max_s) / 2;
  return min_s ? *min_s : max_s.value_or(0);
}

double InputLevels::vih_v(double supply_v) const {
  return basis == Basis::volts ? vih : vih * supply_v;
}

double InputLevels::vil_v(double supply_v) const {
  return basis == Basis::volts || basis == Basis::high_fraction_low_volts ? vil : vil * supply_v;
}

std::span<const TimingWindows> built_in_windows() {
  static const std::vector<TimingWindows> all = all_in_seconds();
  return all;
}

std::span<const MeasuredAcceptance> measured_acceptance() {
  static const std::vector<MeasuredAcceptance> all = all_measured();
  return all;
}

const TimingWindows* find_windows(std::string_view id_or_chip, std::span<const TimingWindows> own) {
  const auto built_in = built_in_windows();
  if (const auto* entry = by_id(id_or_chip, own)) return entry;
  if (const auto* entry = by_chip(id_or_chip, own)) return entry;
  if (const auto* entry = by_id(id_or_chip, built_in)) return entry;
  for (const auto& [chip, id] : kDefaultEdition) {
    if (same_word(chip, id_or_chip)) return by_id(id, built_in);
  }
  return by_chip(id_or_chip, built_in);
}

std::vector<MeasuredAcceptance> measured_for(std::string_view chip) {
  std::vector<MeasuredAcceptance> found;
  for (const auto& entry : measured_acceptance()) {
    if (same_word(entry.chip, chip)) found.push_back(entry);
  }
  return found;
}

}  // namespace pulsewright::analyzer
