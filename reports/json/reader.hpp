#pragma once

#include <limits>
#include <map>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "reports/json/diagnosis_json.hpp"
#include "reports/json/fields.hpp"

namespace pulsewright::reports::json {

/// Archive that fills a result from an object, strictly: a key that is missing or of another kind is an error that names
/// its path.
class Reader {
 public:
  Reader(const nlohmann::json& in, std::string path) : in_(in), path_(std::move(path)) {
    if (!in_.is_object()) fail("", "an object", in_);
  }

  void schema(std::string_view name) {
    std::string found;
    text("schema", found);
    if (found != name) throw DiagnosisReadError(path_ + ".schema: expected \"" + std::string(name) + "\", found another one");
  }
  void text(const char* key, std::string& value) {
    const auto& item = at(key);
    if (!item.is_string()) fail(key, "a text", item);
    value = item.get<std::string>();
  }
  void texts(const char* key, std::vector<std::string>& values) {
    for (const auto& item : array(key)) {
      if (!item.is_string()) fail(key, "a list of texts", item);
      values.push_back(item.get<std::string>());
    }
  }
  void number(const char* key, double& value) { value = number_of(key, at(key)); }
  template <class N>
  void count(const char* key, N& value) {
    const auto& item = at(key);
    if (!item.is_number_unsigned() || item.get<std::uint64_t>() > std::numeric_limits<N>::max())
      fail(key, "a count", item);
    value = item.get<N>();
  }
  void flag(const char* key, bool& value) {
    const auto& item = at(key);
    if (!item.is_boolean()) fail(key, "true or false", item);
    value = item.get<bool>();
  }
  void numbers(const char* key, std::vector<double>& values) {
    for (const auto& item : array(key))
      values.push_back(item.is_null() ? std::numeric_limits<double>::quiet_NaN() : number_of(key, item));
  }
  /// One number for each of another list, such as the times of a curve.
  void numbers_along(std::size_t count, const char* key, std::vector<double>& values) {
    numbers(key, values);
    if (values.size() != count) fail(key, "a list of " + std::to_string(count) + " numbers", values.size());
  }
  void counts(const char* key, std::vector<std::size_t>& values) {
    for (const auto& item : array(key)) {
      if (!item.is_number_unsigned()) fail(key, "a list of counts", item);
      values.push_back(item.get<std::size_t>());
    }
  }
  void optional_number(const char* key, std::optional<double>& value) {
    if (!at(key).is_null()) value = number_of(key, at(key));
  }
  void optional_count(const char* key, std::optional<std::size_t>& value) {
    if (!at(key).is_null()) count(key, value.emplace());
  }
  void optional_flag(const char* key, std::optional<bool>& value) {
    if (!at(key).is_null()) flag(key, value.emplace());
  }

  void measured(const std::string& key, analyzer::Measured& value, const std::string& key_u = {}) {
    const auto& item = at(key.c_str());
    if (item.is_null()) {
      std::string why = "not measured";
      if (in_.contains(key + "_missing")) text((key + "_missing").c_str(), why);
      value = analyzer::Measured::none(std::move(why));
      return;
    }
    value = analyzer::Measured::of(number_of(key, item));
    const std::string u = key_u.empty() ? key + "_u" : key_u;
    if (in_.contains(u) && !in_[u].is_null()) value.u = number_of(u, in_[u]);
    if (value.u < 0) fail(u, "a standard uncertainty of zero or more", in_[u]);
  }
  /// A figure that earlier versions of this schema did not write.
  void later_measured(const std::string& key, analyzer::Measured& value) {
    if (in_.contains(key)) return measured(key, value);
    value = analyzer::Measured::none("not in the stored diagnosis");
  }
  void evidence(const char* key, std::map<std::string, analyzer::Measured>& items) {
    Reader inner(at(key), path_ + "." + key);
    for (const auto& [name, item] : inner.in_.items())
      if ((item.is_number() || item.is_null()) && !name.ends_with("_u")) inner.measured(name, items[name]);
  }
  template <class E, class Names>
  void choice(const char* key, E& value, const Names& names) {
    std::string word;
    text(key, word);
    for (const auto& [candidate, name] : names)
      if (name == word) return void(value = candidate);
    fail(key, "a known word", in_[key]);
  }
  void range(const char* key, std::optional<double>& low, std::optional<double>& high) {
    const auto& item = at(key);
    if (item.is_null()) return;
    if (!item.is_array() || item.size() != 2) fail(key, "two numbers", item);
    low = number_of(key, item[0]);
    high = number_of(key, item[1]);
  }
  template <class T>
  void object(const char* key, T& value) {
    Reader inner(at(key), path_ + "." + key);
    fields(inner, value);
  }
  template <class T>
  void optional_object(const char* key, std::optional<T>& value) {
    if (!at(key).is_null()) object(key, value.emplace());
  }
  template <class T>
  void list(const char* key, std::vector<T>& values) {
    std::size_t index = 0;
    for (const auto& item : array(key)) {
      Reader inner(item, path_ + "." + key + "[" + std::to_string(index++) + "]");
      fields(inner, values.emplace_back());
    }
  }
  void frames(const char* key, analyzer::FrameSummary& summary) {
    Reader inner(at(key), path_ + "." + key);
    inner.count("count", summary.count);
    inner.count("differing_bits", summary.differing_bits);
    inner.flag("all_alike", summary.all_alike);
    inner.measured("rate_hz", summary.rate_hz);
    inner.list("list", summary.frames);
  }

 private:
  [[noreturn]] void fail(const std::string& key, const std::string& expected, const nlohmann::json& found) const {
    // Lists and objects are not printed: a hostile file nests them deeper than the stack reaches.
    std::string shown = found.empty() || found.is_primitive() ? found.dump(-1, ' ', true, nlohmann::json::error_handler_t::replace)
                        : found.is_array() ? "a list" : "an object";
    if (shown.size() > 40) shown.replace(40, std::string::npos, "...");
    throw DiagnosisReadError(path_ + (key.empty() ? "" : "." + key) + ": expected " + expected + ", found " + shown);
  }
  const nlohmann::json& at(const char* key) const {
    const auto item = in_.find(key);
    if (item == in_.end()) throw DiagnosisReadError(path_ + ": expected the key \"" + key + "\", found none");
    return *item;
  }
  const nlohmann::json& array(const char* key) const {
    const auto& item = at(key);
    if (!item.is_array()) fail(key, "a list", item);
    return item;
  }
  double number_of(const std::string& key, const nlohmann::json& item) const {
    if (!item.is_number()) fail(key, "a number", item);
    return item.get<double>();
  }

  const nlohmann::json& in_;
  std::string path_;
};

}  // namespace pulsewright::reports::json
