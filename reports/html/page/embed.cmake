# Turns the page's files into string literals: cmake -DOUTPUT=... -DPAGE=... -DPLOT=... -P embed.cmake
set(text "// Written by embed.cmake.\n#include \"reports/html/page_assets.hpp\"\n\nnamespace pulsewright::reports::html::assets {\n\n")
function(embed name file)
  file(READ ${file} hex HEX)
  # One long literal of escapes would exceed what compilers must accept; an array does not.
  string(REGEX REPLACE "([0-9a-f][0-9a-f])" "'\\\\x\\1'," bytes "${hex}")
  string(APPEND text "const char ${name}_bytes[] = {${bytes}'\\0'};\n"
                     "const std::string_view ${name}(${name}_bytes, sizeof ${name}_bytes - 1);\n\n")
  set(text "${text}" PARENT_SCOPE)
endfunction()
embed(page_css ${PAGE}/page.css)
embed(page_js ${PAGE}/page.js)
embed(plot_css ${PLOT}/dist/uPlot.min.css)
embed(plot_js ${PLOT}/dist/uPlot.iife.min.js)
embed(plot_licence ${PLOT}/LICENSE)
string(APPEND text "}  // namespace pulsewright::reports::html::assets\n")
file(WRITE ${OUTPUT} "${text}")
