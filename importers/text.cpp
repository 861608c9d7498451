// Delimited text: columns of numbers with or without a header.

#include "importers/format.hpp"
#include "importers/import_error.hpp"
#include "importers/text/assemble.hpp"
#include "importers/text/encoding.hpp"

namespace pulsewright::importers {

namespace {

using namespace text;

/// UTF-16 announces itself or has every other byte zero.
bool recognises(std::string_view bytes) {
  Decoded decoded;
  decode({}, Content(bytes.substr(0, 4096)), 0, decoded);
  return first_control_byte(decoded.content.head().substr(0, 4096)) == std::string_view::npos;
}

/// Every channel could be a logic line: a table of two-valued columns.
bool only_two_valued(const Layout& layout) {
  return std::none_of(layout.columns.begin(), layout.columns.end(), [](const Column& column) { return column.role == Role::value; });
}

Capture read(std::string_view name, const Content& content, const ImportOptions& given) {
  const std::string file(name);
  Decoded decoded;
  decode(file, content, given.memory_limit_bytes, decoded);
  const ImportOptions options = with_memory_left(given, decoded.held.size());
  LayoutHints hints;
  for (;;) {
    const Layout layout = make_layout(file, decoded.content, options, hints);
    LayoutHints as_changes = hints;
    as_changes.as_changes = true;
    try {
      Rows rows = read_rows(file, decoded.content, layout, options);
      const auto may_be_changes = [&] { return !hints.as_changes && only_two_valued(make_layout(file, decoded.content, options, as_changes)); };
      Capture capture = assemble(file, decoded.content, layout, std::move(rows), options, may_be_changes);
      if (!decoded.note.empty()) capture.dialect = decoded.note + ", " + capture.dialect;
      return capture;
    } catch (const NotBits& found) {
      hints.not_bits.push_back(found.odd);
    } catch (const UnevenTimes&) {
      hints = as_changes;
    }
  }
}

}  // namespace

const Format text_format{"text", recognises, read};

}  // namespace pulsewright::importers
