#include "reports/figures/panel.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <limits>

#include "reports/markup.hpp"
#include "reports/quantity.hpp"

namespace pulsewright::reports::figures {

namespace {

struct Look {
  std::string_view name, attributes;
};

// Light values; the page's style sheet has the dark ones. Blue, orange and violet stay apart for every common kind of colour
// blindness; each also has its own dash or label.
constexpr Look kLooks[] = {
    {"label", R"(fill="#1d2a33" font-size="13")"},
    {"tick", R"(fill="#55636e" font-size="12")"},
    {"grid", R"(fill="none" stroke="#dfe3e2" stroke-width="1")"},
    {"base", R"(fill="none" stroke="#8b979f" stroke-width="1")"},
    {"measured", R"(fill="none" stroke="#0a5c8a" stroke-width="1.8" stroke-linejoin="round")"},
    {"measured-fine", R"(fill="none" stroke="#0a5c8a" stroke-width="1.1" stroke-opacity="0.85" stroke-linejoin="round")"},
    {"measured-fill", R"(fill="#0a5c8a" fill-opacity="0.8" stroke="#0a5c8a" stroke-width="0.7")"},
    {"measured-text", R"(fill="#0a5c8a" font-size="13" font-weight="600")"},
    {"measured-band", R"(fill="#0a5c8a" fill-opacity="0.16" stroke="none")"},
    {"predicted", R"(fill="none" stroke="#b4480c" stroke-width="2" stroke-dasharray="7 3" stroke-linejoin="round")"},
    {"predicted-text", R"(fill="#b4480c" font-size="13" font-weight="600")"},
    {"predicted-band", R"(fill="#b4480c" fill-opacity="0.16" stroke="none")"},
    {"zeros", R"(fill="none" stroke="#0a5c8a" stroke-width="0.9" stroke-opacity="0.55")"},
    {"ones", R"(fill="none" stroke="#6b3fa0" stroke-width="0.9" stroke-opacity="0.55")"},
    {"ones-text", R"(fill="#6b3fa0" font-size="13" font-weight="600")"},
    {"ones-fill", R"(fill="#6b3fa0" fill-opacity="0.8")"},
    {"limit", R"(fill="none" stroke="#55636e" stroke-width="1" stroke-dasharray="2 3")"},
    {"window", R"(fill="#0b7a53" fill-opacity="0.13" stroke="#0b7a53" stroke-width="1")"},
    {"window-text", R"(fill="#08633f" font-size="13")"},
    {"mark", R"(fill="none" stroke="#1d2a33" stroke-width="1")"},
    {"small-dot", R"(fill="#b4480c" stroke="none")"},
    {"dot", R"(fill="#ffffff" stroke="#1d2a33" stroke-width="1.5")"},
    {"bad-text", R"(fill="#b3261e" font-size="13" font-weight="600")"},
    {"band-name", R"(fill="#1d2a33" font-size="12")"},
};

std::vector<double> ticks(double low, double high, std::size_t about) {
  double step = round_number_above((high - low) / static_cast<double>(about));
  // Fewer than three marks would leave the scale to be guessed.
  if (std::floor(high / step + 1e-9) - std::ceil(low / step - 1e-9) < 2) step = round_number_above(step * 0.39);
  std::vector<double> found;
  for (double at = std::ceil(low / step - 1e-9); at * step <= high + step * 1e-9 && found.size() < 50; ++at)
    found.push_back(at * step);
  return found;
}

constexpr double kGlyph = 9;  ///< width of a letter above the panel, about, as large as a narrow page shows it

double letters(std::string_view text) {
  return static_cast<double>(std::count_if(text.begin(), text.end(), [](char c) { return (c & 0xC0) != 0x80; }));
}

std::string part_attribute(std::string_view part) {
  return part.empty() ? std::string() : fmt::format(R"( data-part="{}")", part);
}

void append_point(std::string& path, char command, double x, double y) {
  fmt::format_to(std::back_inserter(path), "{}{:.1f} {:.1f}", command, x, y);
}

}  // namespace

std::string look(std::string_view name) {
  const auto* found = std::find_if(std::begin(kLooks), std::end(kLooks), [&](const Look& l) { return l.name == name; });
  return fmt::format(R"(class="{}" {})", name, found == std::end(kLooks) ? std::string_view() : found->attributes);
}

Canvas::Canvas(Size size, std::string_view label)
    : head_(fmt::format(
          R"(<svg xmlns="http://www.w3.org/2000/svg" class="figure" role="img" aria-label="{}" viewBox="0 0 {} {}" width="{}" height="{}" font-family="system-ui, 'DejaVu Sans', sans-serif")",
          escape(label), size.width, size.height, size.width, size.height)) {}

void Canvas::text(double x, double y, std::string_view words, std::string_view name, std::string_view anchor) {
  body_ += fmt::format(R"(<text {} x="{:.1f}" y="{:.1f}" text-anchor="{}">{}</text>)", look(name), x, y, anchor, escape(words));
}

void Canvas::attribute(std::string_view name, std::string_view value) {
  head_ += fmt::format(R"( {}="{}")", name, escape(value));
}

std::string Canvas::finish() const { return head_ + ">" + body_ + "</svg>"; }

double round_number_above(double value) {
  const double power = std::pow(10, std::floor(std::log10(value)));
  for (const double first : {1.0, 2.0, 5.0})
    if (value <= first * power) return first * power;
  return 10 * power;
}

Rect plot_area(Size size, double right_margin) { return {44, 28, size.width - right_margin, size.height - 40.0}; }

Axis axis_of(const std::vector<double>& values, std::string unit, const std::vector<double>& include) {
  double low = std::numeric_limits<double>::infinity(), high = -low;
  for (const auto* list : {&values, &include})
    for (const double value : *list)
      if (std::isfinite(value)) low = std::min(low, value), high = std::max(high, value);
  if (!(low <= high)) low = 0, high = 1;
  const double air = high > low ? 0.05 * (high - low) : std::max(std::abs(high) * 0.1, 1e-12);
  return {low - air, high + air, std::move(unit), {}};
}

Points thinned(const std::vector<double>& x, const std::vector<double>& y, double low, double high, std::size_t columns) {
  Points kept;
  const std::size_t count = std::min(x.size(), y.size());
  const double width = (high - low) / static_cast<double>(std::max<std::size_t>(columns, 1));
  for (std::size_t i = 0; i < count;) {
    if (!(x[i] >= low && x[i] <= high) || !std::isfinite(y[i])) {
      ++i;
      continue;
    }
    const double column = std::floor((x[i] - low) / width);
    std::size_t least = i, most = i;
    for (++i; i < count && x[i] <= high && std::floor((x[i] - low) / width) == column; ++i) {
      if (y[i] < y[least]) least = i;
      if (y[i] > y[most]) most = i;
    }
    for (const std::size_t k : {std::min(least, most), std::max(least, most)}) {
      if (!kept.x.empty() && kept.x.back() == x[k]) continue;
      kept.x.push_back(x[k]);
      kept.y.push_back(y[k]);
    }
  }
  return kept;
}

Panel::Panel(Canvas& canvas, Rect area, Axis x, Axis y, bool x_labels)
    : canvas_(canvas), area_(area), x_(std::move(x)), y_(std::move(y)) {
  draw_axes(x_labels);
  if (!x_labels) return;
  canvas_.attribute("data-x", fmt::format("{:.6g} {:.6g} {:.1f} {:.1f} {}", x_.low, x_.high, area_.left, area_.right, x_.unit));
  canvas_.attribute("data-y", fmt::format("{:.6g} {:.6g} {:.1f} {:.1f} {}", y_.low, y_.high, area_.bottom, area_.top, y_.unit));
}

double Panel::px(double x) const { return area_.left + (x - x_.low) / (x_.high - x_.low) * (area_.right - area_.left); }

double Panel::py(double y) const {
  const double inside = std::clamp(y, y_.low, y_.high);
  return area_.bottom - (inside - y_.low) / (y_.high - y_.low) * (area_.bottom - area_.top);
}

void Panel::draw_axes(bool x_labels) {
  const auto y_scale = scale_for(std::max(std::abs(y_.low), std::abs(y_.high)), y_.unit);
  const double tall = area_.bottom - area_.top, wide = area_.right - area_.left;
  std::string lines;
  for (const double at : ticks(y_.low * y_scale.factor, y_.high * y_scale.factor, tall < 80 ? 2 : 5)) {
    const double y = py(at / y_scale.factor);
    fmt::format_to(std::back_inserter(lines), "M{:.1f} {:.1f}H{:.1f}", area_.left, y, area_.right);
    canvas_.text(area_.left - 6, y + 4, number(at, 4), "tick", "end");
  }
  canvas_.add(fmt::format(R"(<path {} d="{}"/>)", look("grid"), lines));
  const std::string y_name = y_.name.empty() ? y_scale.unit : y_.name + (y_scale.unit.empty() ? "" : ", " + y_scale.unit);
  named_to_ = area_.left - 38 + kGlyph * letters(y_name);
  canvas_.text(area_.left - 38, area_.top - 13, y_name, "tick");
  std::string base = fmt::format("M{:.1f} {:.1f}H{:.1f}", area_.left, area_.bottom, area_.right);
  if (x_labels) {
    const auto x_scale = scale_for(std::max(std::abs(x_.low), std::abs(x_.high)), x_.unit);
    for (const double at : ticks(x_.low * x_scale.factor, x_.high * x_scale.factor, wide < 300 ? 4 : 6)) {
      const double x = px(at / x_scale.factor);
      fmt::format_to(std::back_inserter(base), "M{:.1f} {:.1f}v4", x, area_.bottom);
      canvas_.text(x, area_.bottom + 17, number(at, 4), "tick", "middle");
    }
    const std::string x_name = x_.name.empty() ? x_scale.unit : x_.name + (x_scale.unit.empty() ? "" : ", " + x_scale.unit);
    canvas_.text(area_.right, area_.bottom + 33, x_name, "tick", "end");
  }
  canvas_.add(fmt::format(R"(<path {} d="{}"/>)", look("base"), base));
}

std::string Panel::path(const Points& points) const {
  const auto columns = static_cast<std::size_t>(std::max(area_.right - area_.left, 50.0));
  const Points kept = thinned(points.x, points.y, x_.low, x_.high, columns);
  std::string data;
  for (std::size_t i = 0; i < kept.x.size(); ++i) append_point(data, i == 0 ? 'M' : 'L', px(kept.x[i]), py(kept.y[i]));
  return data;
}

std::string Panel::steps(const Points& points) const {
  std::string data;
  for (std::size_t i = 0; i < std::min(points.x.size(), points.y.size()); ++i)
    append_point(data, i == 0 ? 'M' : 'L', px(std::clamp(points.x[i], x_.low, x_.high)), py(points.y[i]));
  return data;
}

void Panel::curve(const Points& points, std::string_view name, std::string_view part) {
  canvas_.add(fmt::format(R"(<path {}{} d="{}"/>)", look(name), part_attribute(part), path(points)));
}

void Panel::band(const std::vector<double>& x, const std::vector<double>& y, const std::vector<double>& half,
                 std::string_view name, std::string_view part) {
  std::string upper, lower;
  const std::size_t count = std::min({x.size(), y.size(), half.size()});
  const std::size_t step = std::max<std::size_t>(count / 400, 1);
  for (std::size_t i = 0; i < count; i += step) {
    if (x[i] < x_.low || x[i] > x_.high || !std::isfinite(y[i]) || !std::isfinite(half[i])) continue;
    append_point(upper, upper.empty() ? 'M' : 'L', px(x[i]), py(y[i] + half[i]));
    std::string point;
    append_point(point, 'L', px(x[i]), py(y[i] - half[i]));
    lower.insert(0, point);
  }
  if (upper.empty()) return;
  canvas_.add(fmt::format(R"(<path {}{} d="{}{}Z"/>)", look(name), part_attribute(part), upper, lower));
}

void Panel::region(double x0, double x1, double y0, double y1, std::string_view name) {
  const double left = px(std::clamp(x0, x_.low, x_.high)), right = px(std::clamp(x1, x_.low, x_.high));
  const double top = std::min(py(y0), py(y1)), bottom = std::max(py(y0), py(y1));
  if (right <= left) return;
  canvas_.add(fmt::format(R"(<rect {} x="{:.1f}" y="{:.1f}" width="{:.1f}" height="{:.1f}"/>)", look(name), left, top,
                          right - left, bottom - top));
}

void Panel::across(double y, std::string_view name, std::string_view label) {
  if (y < y_.low || y > y_.high) return;
  canvas_.add(fmt::format(R"(<path {} d="M{:.1f} {:.1f}H{:.1f}"/>)", look(name), area_.left, py(y), area_.right));
  if (!label.empty()) edge_label(y, label, "tick");
}

void Panel::upright(double x, std::string_view name, std::string_view label, int row) {
  if (x < x_.low || x > x_.high) return;
  canvas_.add(fmt::format(R"(<path {} d="M{:.1f} {:.1f}V{:.1f}"/>)", look(name), px(x), area_.top, area_.bottom));
  if (label.empty()) return;
  const double at = std::clamp(px(x), named_to_ + 12 + kGlyph / 2 * letters(label), area_.right - 20);
  canvas_.text(at, area_.top - 5 - 15 * row, label, "tick", "middle");
}

void Panel::dot(double x, double y, std::string_view name, double radius) {
  if (x < x_.low || x > x_.high) return;
  canvas_.add(fmt::format(R"(<circle {} cx="{:.1f}" cy="{:.1f}" r="{:.1f}"/>)", look(name), px(x), py(y), radius));
}

void Panel::note(double x, double y, std::string_view words, std::string_view name, std::string_view anchor) {
  const double aside = anchor == "start" ? 6 : 0;
  canvas_.text(px(std::clamp(x, x_.low, x_.high)) + aside, py(y) + (anchor == "start" ? 14 : 0), words, name, anchor);
}

void Panel::edge_label(double y, std::string_view words, std::string_view name) {
  labels_.push_back({py(y) + 4, std::string(words), std::string(name)});
}

void Panel::finish() {
  constexpr double apart = 16;
  std::sort(labels_.begin(), labels_.end(), [](const EdgeLabel& a, const EdgeLabel& b) { return a.y < b.y; });
  for (std::size_t i = 1; i < labels_.size(); ++i) labels_[i].y = std::max(labels_[i].y, labels_[i - 1].y + apart);
  double ceiling = area_.bottom + 4;
  for (auto label = labels_.rbegin(); label != labels_.rend(); ++label) {
    label->y = std::min(label->y, ceiling);
    ceiling = label->y - apart;
  }
  for (const auto& label : labels_) canvas_.text(area_.right + 6, label.y, label.words, label.name);
}

double crossing(const std::vector<double>& x, const std::vector<double>& y, double level, double none) {
  // Nearest to zero, where the 50 % instant lies.
  double best = none;
  bool found = false;
  for (std::size_t i = 1; i < std::min(x.size(), y.size()); ++i) {
    if ((y[i - 1] < level) == (y[i] < level)) continue;
    const double at = x[i - 1] + (level - y[i - 1]) / (y[i] - y[i - 1]) * (x[i] - x[i - 1]);
    if (!found || std::abs(at) < std::abs(best)) best = at;
    found = true;
  }
  return best;
}

Figure missing_figure(std::string reason) {
  return {.svg = {}, .caption = {}, .missing = reason.empty() ? "the diagnosis holds no data for this figure" : std::move(reason)};
}

}  // namespace pulsewright::reports::figures
