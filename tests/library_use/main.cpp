// Prints the verdict and the rising transition duration of a capture, with nothing but the installed package.

#include <analyzer/diagnose.hpp>
#include <cstdio>
#include <importers/import.hpp>
#include <importers/import_error.hpp>

int main(int count, char** words) {
  if (count != 2) return std::fputs("usage: edge_report CAPTURE\n", stderr), 64;
  try {
    const auto capture = pulsewright::importers::import_file(words[1]);
    const auto diagnosis = pulsewright::analyzer::diagnose(capture, {});
    const auto verdict = pulsewright::analyzer::to_string(diagnosis.verdict.result);
    std::printf("verdict %.*s\n", static_cast<int>(verdict.size()), verdict.data());
    const auto& rise = diagnosis.rising.duration_10_90_s;
    if (rise) {
      std::printf("rising 10-90 %% %.3g s, standard uncertainty %.2g s\n", *rise, rise.u);
    } else {
      std::printf("rising 10-90 %% unknown: %s\n", rise.missing.c_str());
    }
  } catch (const pulsewright::importers::ImportError& error) {
    return std::fprintf(stderr, "%s\n", error.what()), 65;
  }
  return 0;
}
