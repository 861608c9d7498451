#pragma once
// Many captures judged at once: what the summary tells of each. Small, so that thousands fit into memory.

#include <array>
#include <cstddef>
#include <string>
#include <vector>

#include "analyzer/diagnosis.hpp"

namespace pulsewright::reports {

/// One capture. Texts are untrusted: files and their contents name themselves.
struct SurveyEntry {
  std::string file;       ///< as given, or folder and name
  std::string complaint;  ///< why there is no verdict; empty when there is one. Without verdict, only `status` follows.
  int status = 0;         ///< exit status of this capture alone

  analyzer::Outcome result = analyzer::Outcome::cannot_tell;
  std::string headline;
  std::string cause;      ///< id of the most likely one
  std::string action;     ///< a few words: "Fit 75 Ω"
  std::string advice;     ///< one to three sentences
  analyzer::Measured margin;  ///< smallest normalised margin over the deciding checks; below 0 fails
  std::string margin_check;   ///< name of the check that gives it
  analyzer::Measured rise_duration_10_90_s, high_v, series_ohm_now, series_ohm;
  std::string sha256;
  std::string page;       ///< name of its HTML report beside the summary; empty without

  bool judged() const { return complaint.empty(); }
};

/// What the summary tells of a diagnosis; `file`, `status` and `page` are the caller's.
SurveyEntry survey_entry(const analyzer::Diagnosis& diagnosis);

/// 0 fail, 1 not judged, 2 marginal, 3 cannot tell, 4 pass.
std::size_t severity(const SurveyEntry& entry);
inline constexpr std::array<const char*, 5> severity_words{"fail", "not judged", "marginal", "cannot tell", "pass"};

/// Worst first: by severity, then by smallest margin, then by name.
void sort_worst_first(std::vector<SurveyEntry>& entries);

/// "6 files: 3 fail, 1 marginal, 2 pass"
std::string counts_in_words(const std::vector<SurveyEntry>& entries);

}  // namespace pulsewright::reports
