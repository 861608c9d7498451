#pragma once
// Building blocks of the figures: a canvas, and panels with a pair of axes on it.

#include <cstddef>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "reports/figures/figures.hpp"

namespace pulsewright::reports::figures {

/// Class and presentation attributes of a named look, e.g. look("measured"). The page's style sheet knows the same names.
std::string look(std::string_view name);

/// One <svg> element with an accessible name.
class Canvas {
 public:
  Canvas(Size size, std::string_view label);
  void add(std::string_view markup) { body_ += markup; }
  void text(double x, double y, std::string_view words, std::string_view name = "label", std::string_view anchor = "start");
  /// Attributes of the <svg> element itself, e.g. what a cursor needs.
  void attribute(std::string_view name, std::string_view value);
  std::string finish() const;

 private:
  std::string head_, body_;
};

struct Rect {
  double left = 0, top = 0, right = 0, bottom = 0;
};

/// The area that axes leave on a canvas of this size.
Rect plot_area(Size size, double right_margin = 92);

struct Axis {
  double low = 0, high = 1;
  std::string unit;       ///< as in the diagnosis: "s", "V", "1"
  std::string name = {};  ///< shown at the end of the axis
};

/// Range of the finite values with a little air; `include` stays inside. Never empty.
Axis axis_of(const std::vector<double>& values, std::string unit, const std::vector<double>& include = {});

/// The smallest of 1, 2 or 5 times a power of ten that is not below `value` > 0.
double round_number_above(double value);

struct Points {
  std::vector<double> x, y;
};

/// At most two points a column of `columns`, the smallest and largest in their order: keeps every spike.
Points thinned(const std::vector<double>& x, const std::vector<double>& y, double low, double high, std::size_t columns);

/// A pair of axes. Draws on its canvas; labels at the right edge are kept apart when the panel is finished.
class Panel {
 public:
  Panel(Canvas& canvas, Rect area, Axis x, Axis y, bool x_labels = true);

  double px(double x) const;
  double py(double y) const;

  /// `part`: name by which a script finds the path; empty: none.
  void curve(const Points& points, std::string_view name, std::string_view part = {});
  /// Between y - half and y + half.
  void band(const std::vector<double>& x, const std::vector<double>& y, const std::vector<double>& half,
            std::string_view name, std::string_view part = {});
  void region(double x0, double x1, double y0, double y1, std::string_view name);
  void across(double y, std::string_view name, std::string_view label = {});
  void upright(double x, std::string_view name, std::string_view label = {}, int row = 0);
  void dot(double x, double y, std::string_view name, double radius = 4);
  /// Words at a point: beside and below it, or centred on it.
  void note(double x, double y, std::string_view words, std::string_view name = "label", std::string_view anchor = "start");
  /// A label in the right margin at the height of y.
  void edge_label(double y, std::string_view words, std::string_view name);
  void finish();

  /// Path data of a curve, cut to the axis.
  std::string path(const Points& points) const;
  /// The same of a waveform of few points, none left out.
  std::string steps(const Points& points) const;

 private:
  struct EdgeLabel {
    double y;
    std::string words, name;
  };
  void draw_axes(bool x_labels);

  Canvas& canvas_;
  Rect area_;
  Axis x_, y_;
  double named_to_ = 0;  ///< where the name of the y axis ends
  std::vector<EdgeLabel> labels_;
};

/// Where a curve first comes to `level` at or after `from`, by linear interpolation; `none` when it does not.
double crossing(const std::vector<double>& x, const std::vector<double>& y, double level, double none);

Figure missing_figure(std::string reason);

}  // namespace pulsewright::reports::figures
