#include "reports/html/html_report.hpp"

#include "reports/html/html.hpp"
#include "reports/html/page_shell.hpp"
#include "reports/html/sections.hpp"

namespace pulsewright::reports {

namespace {

constexpr std::string_view kJumps =
    R"(<nav aria-label="Sections"><ul><li><a href="#why">Why</a></li><li><a href="#receiver">What the receiver sees</a></li><li><a href="#edges">Edges</a></li><li><a href="#ringing">Ringing</a></li><li><a href="#explorer">Other resistors</a></li><li><a href="#record">Whole record</a></li><li><a href="#frames">Frames</a></li><li><a href="#checks">Checks</a></li><li><a href="#capture">Capture</a></li><li><a href="#cautions">Cautions</a></li><li><a href="#repeat">Repeat</a></li></ul></nav>)";

}  // namespace

std::string html_report(const analyzer::Diagnosis& diagnosis, const ReportContext& context) {
  using namespace html;
  std::string main = verdict_section(diagnosis, context);
  main += kJumps;
  main += why_section(diagnosis);
  main += receiver_section(diagnosis);
  main += edges_section(diagnosis);
  main += ringing_section(diagnosis);
  main += explorer_section(diagnosis);
  main += line_section(diagnosis);
  main += near_far_section(diagnosis);
  main += record_section(diagnosis);
  main += frames_section(diagnosis);
  main += checks_section(diagnosis);
  main += capture_section(diagnosis);
  main += cautions_section();
  main += forum_section(context);
  main += repeat_section(diagnosis, context);
  const std::string name = context.title.empty() ? diagnosis.capture.file : context.title;
  return page({.title = "Verdict: " + std::string(analyzer::to_string(diagnosis.verdict.result)) + " · " + name,
               .body = element("main", "", main),
               .data_json = page_data(diagnosis)});
}

}  // namespace pulsewright::reports
