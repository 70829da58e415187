#include "results/realisation_rows.h"

#include <fmt/format.h>

#include "results/csv_line.h"
#include "results/table.h"

namespace catoptra {

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

std::string realisations_text(const Realisations& realisations) {
  std::string drawn;
  for (const DrawnName& error : drawn_names(realisations.rms))
    drawn += fmt::format("{}{} {:g} {}", drawn.empty() ? "" : ", ", error.name, error.rms, error.unit);
  std::string text =
      fmt::format("\n{} builds, each with its own random errors; rms:\n  {}\n", realisations.builds.size(), drawn);
  text +=
      fmt::format("absorbed power, relative to a build without errors: mean {}\n", compact(mean_share(realisations)));
  for (const double below : quoted_percentiles)
    text += fmt::format("  {:2.0f} % of the builds are below {}\n", 100 * below,
                        compact(share_percentile(realisations, below)));
  if (realisations.interrupted())
    text += fmt::format("warning: stopped before the end: {} of {} builds are done\n", realisations.builds.size(),
                        realisations.asked);
  return text;
}

std::string realisations_csv(const Realisations& realisations) {
  const auto names = drawn_names(realisations.rms);
  CsvLine head;
  head << std::string("build");
  for (const auto& component : realisations.components)
    for (const DrawnName& error : names)
      for (const char* axis : {"_x", "_y", "_z"}) {
        head << fmt::format("{}.{}{}_{}", component, error.name, error.has_axes ? axis : "", error.suffix);
        if (!error.has_axes) break;
      }
  for (const char* name : {"intercept_factor", "absorbed_share"})
    head << std::string(name) << fmt::format("{}_standard_error", name);
  std::string text = head.text();
  for (std::size_t b = 0; b < realisations.builds.size(); ++b) {
    const Realisation& build = realisations.builds[b];
    CsvLine line;
    line << std::to_string(b + 1);
    for (const DrawnErrors& drawn : build.drawn)
      for (const DrawnName& error : names) {
        const Vec v = (1 / error.to_si) * error.drawn(drawn);
        error.has_axes ? line << v : line << v.x;
      }
    line << build.intercept_factor << build.absorbed_share;
    text += line.text();
  }
  return text;
}

}  // namespace catoptra
