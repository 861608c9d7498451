#include "reports/figures/figures.hpp"

#include <algorithm>
#include <boost/test/unit_test.hpp>
#include <cmath>
#include <functional>
#include <limits>
#include <sstream>
#include <string>
#include <vector>

#include "reports/figures/common.hpp"
#include "reports/figures/panel.hpp"
#include "tests/support/sample_diagnosis.hpp"
#include "tests/support/xml.hpp"

using namespace pulsewright;
using namespace pulsewright::reports::figures;
using analyzer::Diagnosis;

namespace {

const std::vector<std::function<Figure(const Diagnosis&)>> kAll{
    [](const Diagnosis& d) { return record(d); },
    [](const Diagnosis& d) { return folded_bits(d); },
    [](const Diagnosis& d) { return edge(d, Edge::rising); },
    [](const Diagnosis& d) { return edge(d, Edge::falling); },
    [](const Diagnosis& d) { return fitted_edge(d, Edge::rising); },
    [](const Diagnosis& d) { return fitted_edge(d, Edge::falling); },
    [](const Diagnosis& d) { return width_histogram(d, Bit::zero); },
    [](const Diagnosis& d) { return width_histogram(d, Bit::one); },
    [](const Diagnosis& d) { return ringing_spectrum(d); },
    [](const Diagnosis& d) { return arrivals(d); },
    [](const Diagnosis& d) { return prediction(d); },
    [](const Diagnosis& d) { return margin_curve(d); }};

struct Mapping {
  double low, high, from, to;
  double place(double value) const { return from + (value - low) / (high - low) * (to - from); }
};

Mapping mapping(const xml::Document& document, const std::string& key) {
  std::istringstream text(document.elements.front().attributes.at(key));
  Mapping made{};
  text >> made.low >> made.high >> made.from >> made.to;
  return made;
}

std::vector<std::pair<double, double>> points_of(const std::string& path) {
  std::vector<std::pair<double, double>> points;
  std::string plain = path;
  std::replace_if(plain.begin(), plain.end(), [](char c) { return c == 'M' || c == 'L' || c == 'Z'; }, ' ');
  std::istringstream text(plain);
  for (double x, y; text >> x >> y;) points.emplace_back(x, y);
  return points;
}

}  // namespace

BOOST_AUTO_TEST_SUITE(figures)

BOOST_AUTO_TEST_CASE(every_figure_of_a_full_diagnosis_is_well_formed) {
  for (const auto& made : {samples::overdamped(), samples::ringing(), samples::pass()})
    for (const auto& draw : kAll) {
      const auto figure = draw(made);
      BOOST_TEST_REQUIRE(!figure.svg.empty());
      BOOST_TEST(xml::parse(figure.svg).wrong == "");
      BOOST_TEST(!figure.caption.empty());
      BOOST_TEST(figure.svg.find("nan") == std::string::npos);
      BOOST_TEST(figure.svg.find(" style=") == std::string::npos);
    }
}

BOOST_AUTO_TEST_CASE(well_formedness_check_can_fail) {
  BOOST_TEST(xml::parse("<svg><path></svg>").wrong != "");
  BOOST_TEST(xml::parse("<svg a=\"1\" a=\"2\"/>").wrong != "");
  BOOST_TEST(xml::parse("<svg>a & b</svg>").wrong != "");
  BOOST_TEST(xml::parse("<svg a=\"<\"/>").wrong != "");
  BOOST_TEST(xml::parse("<svg/>").wrong == "");
}

BOOST_AUTO_TEST_CASE(diagnosis_without_data_gives_reasons_in_place_of_figures) {
  for (const auto& draw : kAll) {
    const auto figure = draw(Diagnosis{});
    BOOST_TEST(figure.svg == "");
    BOOST_TEST(!figure.missing.empty());
  }
  const auto logic = edge(samples::logic(), Edge::rising);
  BOOST_TEST(logic.missing.find("logic levels") != std::string::npos);
}

BOOST_AUTO_TEST_CASE(hostile_texts_stay_text) {
  const auto made = samples::hostile(samples::overdamped());
  for (const auto& draw : kAll) BOOST_TEST(xml::parse(draw(made).svg).wrong == "");
}

BOOST_AUTO_TEST_CASE(values_that_are_no_numbers_are_left_out) {
  auto made = samples::overdamped();
  const double nan = std::nan(""), infinite = std::numeric_limits<double>::infinity();
  made.rising.response.v[10] = nan;
  made.rising.response.v[11] = infinite;
  made.figures.record.min_v[5] = std::nanf("");
  made.suggestion.candidates[3].waveform.v[4] = nan;
  made.suggestion.predicted->waveform.v[4] = infinite;
  for (const auto& draw : kAll) {
    const auto svg = draw(made).svg;
    BOOST_TEST(xml::parse(svg).wrong == "");
    BOOST_TEST(svg.find("nan") == std::string::npos);
    BOOST_TEST(svg.find("inf") == std::string::npos);
  }
}

BOOST_AUTO_TEST_CASE(every_spike_of_the_record_is_drawn) {
  auto made = samples::pass();
  made.figures.record.max_v[1234] = 11;
  const auto document = xml::parse(record(made, {520, 300}).svg);
  const auto y = mapping(document, "data-y");
  const auto paths = document.of("path", "measured");
  BOOST_TEST_REQUIRE(paths.size() == 1u);
  const double top = y.place(11) - 0.5;
  std::ostringstream wanted;
  wanted.precision(1);
  wanted << std::fixed << " " << top << "V";
  BOOST_TEST(paths[0]->attributes.at("d").find(wanted.str()) != std::string::npos);
}

BOOST_AUTO_TEST_CASE(thinning_keeps_smallest_and_largest_of_each_column) {
  std::vector<double> x, y;
  for (int i = 0; i < 100000; ++i) x.push_back(i), y.push_back(std::sin(i * 0.01));
  y[54321] = 9, y[54322] = -9;
  const auto kept = thinned(x, y, 0, 100000, 300);
  BOOST_TEST(kept.x.size() <= 600u);
  BOOST_TEST(*std::max_element(kept.y.begin(), kept.y.end()) == 9);
  BOOST_TEST(*std::min_element(kept.y.begin(), kept.y.end()) == -9);
  BOOST_TEST(std::is_sorted(kept.x.begin(), kept.x.end()));
}

BOOST_AUTO_TEST_CASE(thinning_ends_on_places_that_are_no_numbers) {
  const double none = std::numeric_limits<double>::quiet_NaN(), huge = std::numeric_limits<double>::max();
  const auto kept = thinned({0, none, 2}, {1, 2, 3}, 0, 2, 10);
  BOOST_TEST(kept.x == (std::vector<double>{0, 2}), boost::test_tools::per_element());
  BOOST_TEST(thinned({-huge, 0, huge}, {1, 2, 3}, -huge, huge, 10).x.size() <= 3u);
}

BOOST_AUTO_TEST_CASE(predicted_curve_lies_where_the_candidate_says) {
  const auto made = samples::overdamped();
  const auto document = xml::parse(prediction(made).svg);
  const auto x = mapping(document, "data-x"), y = mapping(document, "data-y");
  const auto curves = document.of("path", "predicted");
  BOOST_TEST_REQUIRE(curves.size() == 1u);
  const auto points = points_of(curves[0]->attributes.at("d"));
  BOOST_TEST_REQUIRE(points.size() > 50u);
  const auto& waveform = made.suggestion.predicted->waveform;
  for (const auto& [px, py] : points) {
    std::size_t nearest = 0;
    for (std::size_t i = 0; i < waveform.t_s.size(); ++i)
      if (std::abs(x.place(waveform.t_s[i]) - px) < std::abs(x.place(waveform.t_s[nearest]) - px)) nearest = i;
    BOOST_TEST(std::abs(y.place(waveform.v[nearest]) - py) < 0.11);  // coordinates carry one decimal
  }
}

BOOST_AUTO_TEST_CASE(a_curve_ends_where_its_edges_part) {
  analyzer::EdgeResponse response;
  for (int i = -100; i < 300; ++i) {
    response.t_s.push_back(i * 1e-9);
    response.v.push_back(i < 0 ? 0 : 5);
    response.sd_v.push_back(i >= 200 ? 1.0 : std::abs(i) < 5 ? 0.7 : 0.02);  // jitter at the edge itself is no parting
  }
  const auto shown = run_together(response, analyzer::Measured::of(5.0));
  BOOST_TEST(shown.x.front() == response.t_s.front());
  BOOST_TEST(shown.x.back() == 199e-9, boost::test_tools::tolerance(1e-9));
  BOOST_TEST(shown.y.size() == shown.x.size());
  response.sd_v.assign(response.t_s.size(), 1.0);
  BOOST_TEST(run_together(response, analyzer::Measured::of(5.0)).x.size() == response.t_s.size());
}

BOOST_AUTO_TEST_CASE(every_axis_has_at_least_three_marks_at_round_numbers) {
  for (const auto& [low, high] : {std::pair{-2.9, 9.1}, {-0.3, 5.3}, {0.0, 1.0}, {-1.05, 0.7}, {2.0, 2.5}}) {
    Canvas canvas({520, 300}, "axis");
    Panel panel(canvas, plot_area({520, 300}), {0, 1, "1", {}}, {low, high, "1", {}}, false);
    const auto text = canvas.finish();
    std::size_t marks = 0;
    for (auto at = text.find("text-anchor=\"end\""); at != std::string::npos; at = text.find("text-anchor=\"end\"", at + 1)) ++marks;
    BOOST_TEST(marks >= 3, low << " to " << high);
    BOOST_TEST(marks <= 11, low << " to " << high);
  }
  BOOST_TEST(round_number_above(0.021) == 0.05, boost::test_tools::tolerance(1e-12));
  BOOST_TEST(round_number_above(1.0) == 1.0);
  BOOST_TEST(round_number_above(51.0) == 100.0);
}

BOOST_AUTO_TEST_CASE(window_of_the_zeros_is_drawn_at_its_limits) {
  const auto made = samples::overdamped();
  const auto document = xml::parse(width_histogram(made, Bit::zero).svg);
  const auto x = mapping(document, "data-x");
  const auto windows = document.of("rect", "window");
  BOOST_TEST_REQUIRE(windows.size() == 1u);
  const double left = std::stod(windows[0]->attributes.at("x")), wide = std::stod(windows[0]->attributes.at("width"));
  BOOST_TEST(std::abs(left - x.place(*made.settings.windows.t0h.min_s)) < 0.11);
  BOOST_TEST(std::abs(left + wide - x.place(*made.settings.windows.t0h.max_s)) < 0.21);
}

// 4.7 kohm with 5 %: yellow, violet, red, gold (IEC 60062, the usual worked example).
BOOST_AUTO_TEST_CASE(resistor_names_every_band) {
  const auto document = xml::parse(resistor({"yellow", "violet", "red", "gold"}, "4.7 kΩ").svg);
  BOOST_TEST(document.wrong == "");
  const auto names = document.of("text", "band-name");
  BOOST_TEST_REQUIRE(names.size() == 4u);
  BOOST_TEST(names[0]->text == "yellow");
  BOOST_TEST(names[3]->text == "gold");
  BOOST_TEST(document.of("rect", "colour-band").size() == 4u);
}

BOOST_AUTO_TEST_SUITE_END()
