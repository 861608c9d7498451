#pragma once

#include <cmath>
#include <map>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "reports/json/fields.hpp"

namespace pulsewright::reports::json {

/// Numbers that are not finite have no place in JSON: null.
inline nlohmann::ordered_json finite(double value) {
  return std::isfinite(value) ? nlohmann::ordered_json(value) : nlohmann::ordered_json(nullptr);
}

/// Archive that writes the fields of a result to an object.
class Writer {
 public:
  explicit Writer(nlohmann::ordered_json& out) : out_(out) { out_ = nlohmann::ordered_json::object(); }

  void schema(std::string_view name) { out_["schema"] = name; }
  void text(const char* key, const std::string& value) { out_[key] = value; }
  void texts(const char* key, const std::vector<std::string>& values) { out_[key] = values; }
  void number(const char* key, double value) { out_[key] = finite(value); }
  template <class N>
  void count(const char* key, N value) {
    out_[key] = value;
  }
  void flag(const char* key, bool value) { out_[key] = value; }
  void numbers(const char* key, const std::vector<double>& values) {
    auto& list = out_[key] = nlohmann::ordered_json::array();
    for (const double value : values) list.push_back(rounded(value));
  }
  void numbers_along(std::size_t, const char* key, const std::vector<double>& values) { numbers(key, values); }
  void counts(const char* key, const std::vector<std::size_t>& values) { out_[key] = values; }

  template <class T>
  void optional(const char* key, const std::optional<T>& value) {
    out_[key] = value ? nlohmann::ordered_json(*value) : nlohmann::ordered_json(nullptr);
  }
  void optional_number(const char* key, const std::optional<double>& value) { optional(key, value); }
  void optional_count(const char* key, const std::optional<std::size_t>& value) { optional(key, value); }
  void optional_flag(const char* key, const std::optional<bool>& value) { optional(key, value); }

  void measured(const std::string& key, const analyzer::Measured& value, const std::string& key_u = {}) {
    out_[key] = value ? finite(*value) : nlohmann::ordered_json(nullptr);
    if (!value) {
      out_[key + "_missing"] = value.missing.empty() ? "not measured" : value.missing;
    }
    if (!key_u.empty()) {
      out_[key_u] = value && value.u > 0 ? finite(value.u) : nlohmann::ordered_json(nullptr);
    } else if (value && value.u > 0) {
      out_[key + "_u"] = finite(value.u);
    }
  }

  void later_measured(const std::string& key, const analyzer::Measured& value) { measured(key, value); }
  void evidence(const char* key, const std::map<std::string, analyzer::Measured>& items) {
    Writer inner(out_[key]);
    for (const auto& [name, value] : items) inner.measured(name, value);
  }

  template <class E, class Names>
  void choice(const char* key, E value, const Names& names) {
    for (const auto& [candidate, name] : names)
      if (candidate == value) out_[key] = name;
  }

  void range(const char* key, const std::optional<double>& low, const std::optional<double>& high) {
    out_[key] = low && high ? nlohmann::ordered_json({*low, *high}) : nlohmann::ordered_json(nullptr);
  }

  template <class T>
  void object(const char* key, T& value) {
    Writer inner(out_[key]);
    fields(inner, value);
  }
  template <class T>
  void optional_object(const char* key, std::optional<T>& value) {
    if (value) {
      object(key, *value);
    } else {
      out_[key] = nullptr;
    }
  }
  template <class T>
  void list(const char* key, std::vector<T>& values) {
    auto& array = out_[key] = nlohmann::ordered_json::array();
    for (auto& value : values) {
      Writer inner(array.emplace_back());
      fields(inner, value);
    }
  }

  /// count, bits[], pixels, leftover_bits, hex[], differing_bits and the frames themselves.
  void frames(const char* key, analyzer::FrameSummary& summary) {
    Writer inner(out_[key]);
    inner.count("count", summary.count);
    std::vector<std::size_t> bits;
    std::vector<std::string> hex;
    for (const auto& frame : summary.frames) {
      bits.push_back(frame.bits);
      hex.push_back(frame.hex);
    }
    inner.counts("bits", bits);
    inner.texts("hex", hex);
    inner.out_["pixels"] = summary.frames.empty() ? 0 : typical(summary).pixels;
    inner.out_["leftover_bits"] = summary.frames.empty() ? 0 : typical(summary).leftover_bits;
    inner.count("differing_bits", summary.differing_bits);
    inner.flag("all_alike", summary.all_alike);
    inner.measured("rate_hz", summary.rate_hz);
    inner.list("list", summary.frames);
  }

 private:
  /// The longest frame that the record does not cut, else the longest.
  static const analyzer::Frame& typical(const analyzer::FrameSummary& summary) {
    const analyzer::Frame* best = &summary.frames.front();
    for (const auto& frame : summary.frames)
      if ((best->cut && !frame.cut) || (best->cut == frame.cut && frame.bits > best->bits)) best = &frame;
    return *best;
  }

  /// Curves are for drawing: six significant digits keep them short.
  static nlohmann::ordered_json rounded(double value) {
    if (!std::isfinite(value)) return nullptr;
    if (value == 0) return 0.0;
    const double scale = std::pow(10.0, 5 - std::floor(std::log10(std::abs(value))));
    return std::isfinite(scale) && scale > 0 ? std::round(value * scale) / scale : value;
  }

  nlohmann::ordered_json& out_;
};

}  // namespace pulsewright::reports::json
