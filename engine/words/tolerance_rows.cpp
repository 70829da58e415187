#include "words/tolerance_rows.h"

#include <fmt/format.h>

#include "files/names.h"
#include "words/csv_line.h"
#include "words/table.h"

namespace catoptra {

std::string tolerance_text(const std::vector<ToleranceCurve>& curves) {
  std::string text, component;
  bool any_missing = false;
  for (const auto& curve : curves) {
    if (curve.component != component) {
      component = curve.component;
      text += fmt::format("\n'{}': size of error that costs this share of the absorbed power\n  {:<16}", component, "");
      for (const double share : lost_shares) text += fmt::format("{:>15}", fmt::format("{:g} %", 100 * share));
      text += "\n";
    }
    const CurveName name = name_of(curve);
    std::string line = fmt::format("  {:<16}", name.name);
    for (const auto& at : curve.error_at_loss) {
      any_missing = any_missing || !at;
      const std::string cell = at ? compact(times(*at, 1 / name.to_si)) : "-";
      line += to_right(cell, 15);
    }
    text += line + " " + name.unit + "\n";
  }
  if (any_missing) text += "  - no error that was tried costs so much\n";
  return text;
}

std::string tolerance_csv(const std::vector<ToleranceCurve>& curves) {
  std::string text =
      "component,error,unit,size,intercept_factor,intercept_factor_standard_error,absorbed_share,"
      "absorbed_share_standard_error\n";
  for (const auto& curve : curves) {
    const CurveName name = name_of(curve);
    for (const auto& point : curve.points) {
      CsvLine line;
      line << curve.component << name.name << name.unit << point.error / name.to_si << point.intercept_factor
           << point.absorbed_share;
      text += line.text();
    }
  }
  return text;
}

}  // namespace catoptra
