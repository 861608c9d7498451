// Delimited text: columns of numbers with or without a header.

#include <algorithm>

#include "importers/format.hpp"
#include "importers/import_error.hpp"

namespace pulsewright::importers {

namespace {

/// Text holds no control characters but blanks and line ends; UTF-16 announces itself or has every other byte zero.
bool recognises(std::string_view bytes) {
  const auto head = bytes.substr(0, 4096);
  if (head.starts_with("\xff\xfe") || head.starts_with("\xfe\xff")) return true;
  const auto is_odd = [](char c) { return c >= 0 && c < 0x20 && c != '\n' && c != '\r' && c != '\t' && c != '\f'; };
  return std::none_of(head.begin(), head.end(), is_odd);
}

Capture read(std::string_view name, const Content&, const ImportOptions&) {
  throw ImportError(ImportError::Kind::unusable_data, std::string(name), {}, "columns of numbers", "other text");
}

}  // namespace

const Format text_format{"text", recognises, read};

}  // namespace pulsewright::importers
