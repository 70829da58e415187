#include "words/realisation_rows.h"

#include <fmt/format.h>

#include "files/names.h"
#include "words/csv_line.h"
#include "words/table.h"

namespace catoptra {

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
