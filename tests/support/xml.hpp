#pragma once
// Just enough of XML 1.0 to tell whether a figure is well-formed, and to look things up in it.

#include <cctype>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace pulsewright::xml {

struct Element {
  std::string name;
  std::map<std::string, std::string> attributes;  ///< values as written
  std::string text;                               ///< directly inside, as written
};

struct Document {
  std::vector<Element> elements;  ///< in the order of their start tags
  std::string wrong;              ///< empty: well-formed

  std::vector<const Element*> of(std::string_view name, std::string_view class_name) const {
    std::vector<const Element*> found;
    for (const auto& element : elements) {
      const auto at = element.attributes.find("class");
      if (element.name == name && at != element.attributes.end() && at->second == class_name) found.push_back(&element);
    }
    return found;
  }
};

class Reader {
 public:
  explicit Reader(std::string_view text) : text_(text) {}

  Document read() {
    while (document_.wrong.empty() && at_ < text_.size()) text_[at_] == '<' ? tag() : characters();
    if (document_.wrong.empty() && (!open_.empty() || document_.elements.empty())) fail("element left open");
    return document_;
  }

 private:
  void fail(const std::string& why) {
    if (document_.wrong.empty()) document_.wrong = why + " at byte " + std::to_string(at_);
  }
  bool reference_ok(std::size_t at) const {
    const auto end = text_.find(';', at);
    if (end == std::string_view::npos) return false;
    const auto name = text_.substr(at + 1, end - at - 1);
    return name == "amp" || name == "lt" || name == "gt" || name == "quot" || name == "#39";
  }
  void check(std::size_t from, std::size_t to) {
    for (std::size_t i = from; i < to; ++i) {
      if (text_[i] == '&' && !reference_ok(i)) fail("bare ampersand");
      if (static_cast<unsigned char>(text_[i]) < 0x20 && text_[i] != '\n' && text_[i] != '\t') fail("control character");
    }
  }
  void characters() {
    const auto end = std::min(text_.find('<', at_), text_.size());
    check(at_, end);
    if (open_.empty()) return fail("text outside the root");
    document_.elements[open_.back()].text += text_.substr(at_, end - at_);
    at_ = end;
  }
  std::string name() {
    const auto from = at_;
    while (at_ < text_.size() && (std::isalnum(static_cast<unsigned char>(text_[at_])) || text_[at_] == '-')) ++at_;
    if (at_ == from) fail("name expected");
    return std::string(text_.substr(from, at_ - from));
  }
  void space() {
    while (at_ < text_.size() && (text_[at_] == ' ' || text_[at_] == '\n')) ++at_;
  }
  bool next(char c) { return at_ < text_.size() && text_[at_] == c ? (++at_, true) : false; }

  void tag() {
    ++at_;
    if (next('/')) {
      const auto closed = name();
      if (!next('>') || open_.empty() || document_.elements[open_.back()].name != closed) return fail("wrong end tag");
      open_.pop_back();
      return;
    }
    if (open_.empty() && !document_.elements.empty()) return fail("second root");
    Element element{.name = name(), .attributes = {}, .text = {}};
    for (space(); document_.wrong.empty() && at_ < text_.size() && text_[at_] != '>' && text_[at_] != '/'; space()) attribute(element);
    const bool empty = next('/');
    if (!next('>')) return fail("tag not closed");
    document_.elements.push_back(element);
    if (!empty) open_.push_back(document_.elements.size() - 1);
  }
  void attribute(Element& element) {
    const auto key = name();
    if (!next('=') || !next('"')) return fail("quoted value expected");
    const auto end = text_.find('"', at_);
    if (end == std::string_view::npos) return fail("value not closed");
    check(at_, end);
    if (text_.substr(at_, end - at_).find('<') != std::string_view::npos) fail("< in a value");
    if (!element.attributes.emplace(key, text_.substr(at_, end - at_)).second) fail("attribute twice");
    at_ = end + 1;
  }

  std::string_view text_;
  std::size_t at_ = 0;
  std::vector<std::size_t> open_;
  Document document_;
};

inline Document parse(std::string_view text) { return Reader(text).read(); }

}  // namespace pulsewright::xml
