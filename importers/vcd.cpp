// Value change dump, four-state (IEEE Std 1364-2005 clause 18): scalars become logic channels.

#include <algorithm>
#include <array>
#include <charconv>
#include <string>
#include <unordered_map>

#include "importers/excerpt.hpp"
#include "importers/format.hpp"
#include "importers/import_error.hpp"

namespace pulsewright::importers {

namespace {

bool is_blank(char c) { return c == ' ' || c == '\t' || c == '\n' || c == '\r' || c == '\f' || c == '\v'; }

bool recognises(std::string_view bytes) {
  if (bytes.starts_with("\xef\xbb\xbf")) bytes.remove_prefix(3);
  while (!bytes.empty() && is_blank(bytes.front())) bytes.remove_prefix(1);
  constexpr std::array<std::string_view, 7> first_words{"$date", "$version", "$timescale", "$comment",
                                                        "$scope", "$var", "$enddefinitions"};
  return std::any_of(first_words.begin(), first_words.end(), [&](auto word) {
    return bytes.starts_with(word) && (bytes.size() == word.size() || is_blank(bytes[word.size()]));
  });
}

/// Words between blanks, with the line they stand in. A word is valid until the next one is asked for.
class Words {
 public:
  Words(std::string_view name, const Content& content) : name_(name), content_(content) {
    if (content.head().starts_with("\xef\xbb\xbf")) from_ = 3;
    load();
  }

  /// The next word, empty at the end. A last word that no blank ends may have been cut and is left out.
  std::string_view next() {
    for (;;) {
      while (p_ < end_ && is_blank(*p_)) line_ += *p_++ == '\n';
      const char* q = p_;
      while (q < end_ && !is_blank(*q)) ++q;
      if (q < end_) {
        const std::string_view word(p_, static_cast<std::size_t>(q - p_));
        p_ = q;
        return word;
      }
      const auto rest = static_cast<std::size_t>(q - p_);
      if (from_ + loaded_ == content_.size()) return last(rest);
      if (rest > longest_word) refuse("words of at most " + std::to_string(longest_word) + " bytes", "a longer one");
      from_ += loaded_ - rest;
      load();
    }
  }

  /// The next word inside the header, where the file must not end.
  std::string_view need(const std::string& expected) {
    const auto word = next();
    if (word.empty()) refuse(expected, "the end of the file");
    return word;
  }

  void skip_to_end(const std::string& section) {
    while (need("$end of " + section) != "$end") {
    }
  }

  [[noreturn]] void refuse(const std::string& expected, const std::string& found) const {
    throw ImportError(ImportError::Kind::unusable_data, std::string(name_), {.line = line_, .column = {}, .byte = {}},
                      expected, found);
  }

  const std::string& cut() const { return cut_; }
  double fraction() const { return static_cast<double>(from_) / static_cast<double>(content_.size()); }

 private:
  static constexpr std::size_t block_bytes = std::size_t{256} << 10, longest_word = std::size_t{64} << 10;

  void load() {
    const auto bytes = content_.block(from_, block_bytes, buffer_).bytes;
    p_ = bytes.data();
    end_ = p_ + bytes.size();
    loaded_ = bytes.size();
  }

  std::string_view last(std::size_t length) {
    const std::string_view word(p_, length);
    p_ = end_;
    if (word.empty()) return {};
    cut_ = word;
    return word == "$end" ? word : std::string_view();
  }

  std::string_view name_;
  const Content& content_;
  std::string cut_;
  BlockBuffer buffer_;
  const char* p_ = nullptr;
  const char* end_ = nullptr;
  std::size_t from_ = 0, loaded_ = 0;
  std::uint64_t line_ = 1;
};

struct Line {
  Channel channel;
  std::size_t unknown = 0;  ///< changes to x or z
  bool late = false;        ///< first known state after the start of the record
};

struct Hash {
  using is_transparent = void;
  std::size_t operator()(std::string_view text) const { return std::hash<std::string_view>()(text); }
};

class Dump {
 public:
  Dump(std::string_view name, const Content& content, const ImportOptions& options)
      : words_(name, content), options_(options) {}

  Capture read() {
    header();
    changes();
    return capture();
  }

 private:
  void header();
  void timescale();
  void variable();
  void changes();
  void time(std::string_view digits);
  void value(char state, std::string_view code);
  Capture capture();
  double seconds(std::uint64_t ticks) const { return static_cast<double>(ticks) * tick_s_; }

  Words words_;
  const ImportOptions& options_;
  double tick_s_ = 0;
  std::vector<std::string> scopes_;
  std::size_t scopes_seen_ = 0;
  std::vector<Line> lines_;
  std::vector<std::string> plain_names_;
  std::unordered_map<std::string, std::optional<std::size_t>, Hash, std::equal_to<>> by_code_;  ///< none: declared and skipped
  std::vector<std::string> skipped_, notes_;
  std::optional<std::uint64_t> start_;
  std::uint64_t now_ = 0;
  std::size_t stamps_ = 0, stored_ = 0;
};

void Dump::header() {
  for (;;) {
    const auto word = words_.need("$enddefinitions");
    if (word == "$timescale") {
      timescale();
    } else if (word == "$scope") {
      words_.need("a scope type");
      scopes_.emplace_back(words_.need("a scope name"));
      ++scopes_seen_;
      words_.skip_to_end("$scope");
    } else if (word == "$upscope") {
      if (scopes_.empty()) words_.refuse("a $scope before $upscope", "none");
      scopes_.pop_back();
      words_.skip_to_end("$upscope");
    } else if (word == "$var") {
      variable();
    } else if (word == "$enddefinitions") {
      words_.skip_to_end("$enddefinitions");
      break;
    } else if (word.starts_with('$') && word.size() > 1 && word != "$end") {
      words_.skip_to_end(printable(word));
    } else {
      words_.refuse("a declaration such as $var", quoted(word));
    }
  }
  if (tick_s_ == 0) words_.refuse("a $timescale before the first value", "none");
  if (lines_.empty()) words_.refuse("at least one one-bit $var", "none");
}

/// 1, 10 or 100 of s, ms, us, ns, ps, fs; blanks between number and unit are free.
void Dump::timescale() {
  if (tick_s_ != 0) words_.refuse("one $timescale", "another");
  std::string text;
  for (auto word = words_.need("$end of $timescale"); word != "$end"; word = words_.need("$end of $timescale")) {
    if (text.size() < 40) text += word;
  }
  constexpr std::array<std::pair<std::string_view, double>, 6> units{
      {{"s", 1}, {"ms", 1e3}, {"us", 1e6}, {"ns", 1e9}, {"ps", 1e12}, {"fs", 1e15}}};
  const std::size_t digits = std::min(text.find_first_not_of("0123456789"), text.size());
  const std::string number = text.substr(0, digits);
  for (const auto& [unit, per_second] : units) {
    if (text.substr(digits) != unit) continue;
    if (number == "1") tick_s_ = 1 / per_second;
    if (number == "10") tick_s_ = 10 / per_second;
    if (number == "100") tick_s_ = 100 / per_second;
  }
  if (tick_s_ == 0) words_.refuse("a time scale of 1, 10 or 100 s, ms, us, ns, ps or fs", quoted(text));
}

void Dump::variable() {
  const auto need = [&](const std::string& expected) {
    const std::string word(words_.need(expected));
    if (word == "$end") words_.refuse(expected, quoted(word));
    return word;
  };
  const std::string type = need("a variable type"), size_word = need("a size in bits"), code = need("an identifier code");
  std::string plain = need("a variable name");
  unsigned size = 0;
  const auto parsed = std::from_chars(size_word.data(), size_word.data() + size_word.size(), size);
  if (parsed.ec != std::errc{} || parsed.ptr != size_word.data() + size_word.size() || size == 0)
    words_.refuse("a size in bits", quoted(size_word));
  for (auto word = words_.need("$end of $var"); word != "$end"; word = words_.need("$end of $var")) {
    if (word.starts_with('$')) words_.refuse("$end of $var", quoted(word));
    plain += word;
  }
  if (by_code_.contains(code)) {
    notes_.push_back(printable(plain) + " is another name of a line declared before: skipped");
    return;
  }
  const bool scalar = size == 1 && type != "real" && type != "realtime" && type != "event" && type != "string";
  if (!scalar) {
    skipped_.push_back(plain);
    by_code_[code] = std::nullopt;
    return;
  }
  by_code_[code] = lines_.size();
  plain_names_.push_back(plain);
  Line line;
  line.channel.kind = ChannelKind::logic;
  for (const auto& scope : scopes_) line.channel.name += scope + ".";
  line.channel.name += plain;
  lines_.push_back(std::move(line));
}

void Dump::changes() {
  std::size_t count = 0;
  for (auto word = words_.next(); !word.empty(); word = words_.next()) {
    if (options_.progress && ++count % (1 << 16) == 0) options_.progress(words_.fraction());
    const char first = word.front();
    if (first == '#') {
      time(word.substr(1));
    } else if (first == '$') {
      if (word == "$comment") words_.skip_to_end("$comment");
      else if (word != "$dumpvars" && word != "$dumpall" && word != "$dumpon" && word != "$dumpoff" && word != "$end")
        words_.refuse("a time, a value change or $dumpvars", quoted(word));
    } else if (std::string_view("01xXzZ").find(first) != std::string_view::npos) {
      value(first, word.substr(1));
    } else if (std::string_view("bBrRsS").find(first) != std::string_view::npos) {
      const char state = (first == 'b' || first == 'B') && word.size() > 1 ? word.back() : 'x';
      const auto code = words_.next();
      if (code.empty()) break;
      value(state, code);
    } else {
      words_.refuse("a time or a value change", quoted(word));
    }
  }
}

void Dump::time(std::string_view digits) {
  std::uint64_t ticks = 0;
  const auto parsed = std::from_chars(digits.data(), digits.data() + digits.size(), ticks);
  if (parsed.ec != std::errc{} || parsed.ptr != digits.data() + digits.size())
    words_.refuse("a time in whole ticks after #", quoted(digits));
  if (start_ && ticks < now_)
    words_.refuse("a time of at least #" + std::to_string(now_), "#" + std::to_string(ticks) + ": time runs backwards");
  if (!start_) start_ = ticks;
  now_ = ticks;
  ++stamps_;
}

void Dump::value(char state, std::string_view code) {
  const auto found = by_code_.find(code);
  if (found == by_code_.end()) words_.refuse("an identifier code declared by $var", code.empty() ? "nothing" : quoted(code));
  if (!found->second) return;
  if (!start_) start_ = 0;  // values before the first time stand at time 0
  Line& line = lines_[*found->second];
  if (state != '0' && state != '1') {
    ++line.unknown;
    return;
  }
  const bool high = state == '1';
  auto& changes = line.channel.changes;
  if (changes.empty()) {
    line.late = now_ != *start_;
    changes.push_back({seconds(*start_), high});
    ++stored_;
    return;
  }
  const double time_s = seconds(now_);
  if (changes.back().time_s == time_s && changes.size() > 1) changes.pop_back();  // two values at one time: the last
  if (changes.size() == 1 && changes.back().time_s == time_s) changes.back().high = high;
  if (changes.back().high == high) return;
  changes.push_back({time_s, high});
  if (++stored_ > options_.memory_limit_bytes / sizeof(LogicChange) && options_.memory_limit_bytes != 0)
    words_.refuse("changes within the memory limit of " + std::to_string(options_.memory_limit_bytes) + " bytes", "more");
}

Capture Dump::capture() {
  if (stored_ == 0 || stamps_ == 0) words_.refuse("times and value changes of a one-bit variable", "none");
  Capture result;
  result.dialect = "value change dump, " + std::to_string(lines_.size()) + " one-bit variables";
  result.sample_interval_s = tick_s_;
  result.sample_interval_rule = "$timescale";
  result.start_s = seconds(*start_);
  result.span_s = seconds(now_ - *start_);
  result.samples = stamps_;
  result.notes = std::move(notes_);
  for (std::size_t i = 0; i < lines_.size(); ++i) {
    Line& line = lines_[i];
    if (scopes_seen_ <= 1) line.channel.name = plain_names_[i];
    const std::string shown = printable(line.channel.name);
    if (line.channel.changes.empty()) {
      result.notes.push_back(shown + " has no value of 0 or 1: skipped");
      continue;
    }
    if (line.unknown != 0)
      result.notes.push_back(shown + ": " + std::to_string(line.unknown) +
                             " values x or z, taken as the state before (at the start: as the first known state)");
    else if (line.late)
      result.notes.push_back(shown + " has no value at the start: taken as its first known state");
    result.channels.push_back(std::move(line.channel));
  }
  if (!skipped_.empty())
    result.notes.push_back(std::to_string(skipped_.size()) + " variables of several bits, real or event skipped, the first " +
                           printable(skipped_.front()));
  if (!words_.cut().empty() && words_.cut() != "$end")
    result.notes.push_back("no line end after the last word " + quoted(words_.cut()) + ": it may be cut and was not used");
  return result;
}

Capture read(std::string_view name, const Content& content, const ImportOptions& options) {
  return Dump(name, content, options).read();
}

}  // namespace

const Format vcd_format{"vcd", recognises, read};

}  // namespace pulsewright::importers
