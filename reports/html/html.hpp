#pragma once
// Building blocks of the pages. What is called `text` is plain and escaped here; what is called `markup` is HTML already.

#include <string>
#include <string_view>
#include <vector>

#include "analyzer/diagnosis.hpp"
#include "reports/figures/figures.hpp"
#include "reports/markup.hpp"
#include "reports/quantity.hpp"

namespace pulsewright::reports::html {

/// <tag class="name">markup</tag>; without class when `name` is empty.
std::string element(std::string_view tag, std::string_view name, std::string_view markup);

/// The same around plain text.
std::string words(std::string_view tag, std::string_view name, std::string_view text);

/// A quantity, kept on one line, or the reason why there is none, marked as such.
std::string figure_of(const analyzer::Measured& measured, std::string_view unit);
std::string figure_of(double value, std::string_view unit);

struct Row {
  std::string name;    ///< plain text
  std::string markup;
  bool whole_line = false;  ///< too long for one of several columns
};

/// Two columns: name and value. Empty without rows.
std::string facts(const std::vector<Row>& rows);

/// A table with a header line; `head` plain text, cells markup. The first cell of a row is its header. A reason
/// that stands in the cell above already is not repeated. Scrolls sideways by itself when it is wider than the page.
std::string table(std::string_view caption, const std::vector<std::string>& head,
                  const std::vector<std::vector<std::string>>& rows);

/// <details>; `summary` markup.
std::string disclosure(std::string_view summary, std::string_view markup, bool open, std::string_view name = {});

/// Plain texts as a list; empty without any.
std::string list(const std::vector<std::string>& texts, std::string_view name = {});

/// A figure with its caption, or the reason why there is none.
std::string figure_block(const figures::Figure& figure, std::string_view name = {});

/// A section with a heading that can be linked to.
std::string section(std::string_view id, std::string_view heading, std::string_view markup);

/// "passes", "fails", "marginal", "cannot tell"
std::string_view said(analyzer::Outcome outcome);

/// Sign and word of an outcome; colour is never the only sign.
std::string badge(analyzer::Outcome outcome);
std::string outcome_sign(analyzer::Outcome outcome);

/// A share of one as a bar with its figure in words.
std::string confidence_bar(double confidence, std::string_view label);

}  // namespace pulsewright::reports::html
