#include "files/names.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <fmt/chrono.h>
#include <fmt/format.h>

#include "trace/darkness.h"

namespace catoptra {

std::vector<std::string> remarks(const TraceResult& result) {
  std::vector<std::string> words = result.warnings;
  if (auto dark = why_dark(result)) words.push_back(std::move(*dark));
  if (result.interrupted)
    words.push_back("stopped before the end; the numbers rest on the samples done");
  else if (!result.precision_reached)
    words.push_back("the precision asked for was not reached within the samples allowed");
  return words;
}

std::vector<std::string> remarks(const Schedule& schedule) {
  std::vector<std::string> out;
  for (const auto& row : schedule.rows)
    for (const auto& warning : row.result.warnings)
      if (std::ranges::find(out, warning) == out.end()) out.push_back(warning);
  if (schedule.rows.size() < schedule.asked)
    out.push_back(
        fmt::format("stopped before the end: {} of {} sun positions are done", schedule.rows.size(), schedule.asked));
  else if (schedule.stopped)
    out.push_back("stopped during the second pass over the day: some poses may still improve");
  return out;
}

std::string time_text(const Scene& scene, const Moment& sun, bool local) {
  if (std::isnan(sun.posix_s)) return scene.sun.at;
  const int offset = local ? sun.utc_offset_minutes : 0;
  const auto seconds = std::chrono::seconds(std::llround(sun.posix_s) + 60 * offset);
  const std::string text = fmt::format("{:%Y-%m-%dT%H:%M:%S}", std::chrono::sys_seconds(seconds));
  if (!local) return text + "Z";
  return fmt::format("{}{}{:02}:{:02}", text, offset < 0 ? '-' : '+', std::abs(offset) / 60, std::abs(offset) % 60);
}

CurveName name_of(const ToleranceCurve& curve) {
  switch (curve.kind) {
    case ErrorKind::pointing:
      return {"pointing_" + curve.axis, "mrad", "mrad", 1e-3};
    case ErrorKind::position:
      return {"position_" + curve.axis, "mm", "mm", 1e-3};
    case ErrorKind::slope:
      return {"slope", "mrad", "mrad", 1e-3};
    case ErrorKind::focus:
      return {"focus", "percent", "percent", 1e-2};
    case ErrorKind::curvature:
      return {"curvature", "km-1", "per_km", 1e-3};
  }
  return {};
}

std::vector<DrawnName> drawn_names(const BuildErrors& rms) {
  std::vector<DrawnName> out;
  const auto add = [&](const char* name, const char* unit, const char* suffix, double to_si, double rms_si, bool axes,
                       Vec (*drawn)(const DrawnErrors&)) {
    if (rms_si > 0) out.push_back({name, unit, suffix, to_si, rms_si / to_si, axes, drawn});
  };
  add("pointing", "mrad", "mrad", 1e-3, rms.pointing_rad, true, [](const DrawnErrors& d) { return d.pointing_rad; });
  add("position", "mm", "mm", 1e-3, rms.position_m, true, [](const DrawnErrors& d) { return d.position_m; });
  add("focus", "percent", "percent", 1e-2, rms.focus, false, [](const DrawnErrors& d) { return Vec{d.focus, 0, 0}; });
  add("curvature", "km-1", "per_km", 1e-3, rms.curvature_per_m, false, [](const DrawnErrors& d) {
    return Vec{d.curvature_per_m, 0, 0};
  });
  return out;
}

}  // namespace catoptra
