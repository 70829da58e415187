#include "words/design_rows.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>

#include "scene/words.h"
#include "words/table.h"

namespace catoptra {
namespace {

std::string_view objective_word(const Design& design) {
  return objective_words[static_cast<std::size_t>(design.schedule.objective)];
}

std::string unit_of(const Design& design) {
  return design.schedule.objective == Objective::absorbed_power ? " W" : "";
}

std::string suns_words(const Design& design) {
  const std::size_t n = design.schedule.rows.size();
  return n == 1 ? "at one sun position" : fmt::format("mean over {} sun positions", n);
}

}  // namespace

std::string design_text(const Design& design) {
  const auto refused = std::ranges::count_if(design.variants, [](const Variant& v) { return std::isnan(v.objective); });
  std::string out =
      fmt::format("search: {} variants tried at {} of the sun positions", design.variants.size(), design.searched_suns);
  if (refused > 0) out += fmt::format("; {} impossible", refused);
  out += "\n";
  bool at_end = false;
  for (std::size_t i = 0; i < design.parameters.size(); ++i) {
    const FreeParameter& p = design.parameters[i];
    const double best = design.variants[design.best].values[i];
    at_end = at_end || best == p.low || best == p.high;
    out += fmt::format("  {}\n    {} now, {} before; {} to {} allowed\n", p.path, number_text(best),
                       number_text(p.original), number_text(p.low), number_text(p.high));
  }
  const double gain = design.found.value - design.original.value;
  const double error = std::hypot(design.found.standard_error, design.original.standard_error);
  out += fmt::format("{}, {}: {}{} now, {}{} before\n", objective_word(design), suns_words(design),
                     compact(design.found), unit_of(design), compact(design.original), unit_of(design));
  out += fmt::format("gain {}{}", compact({gain, error}), unit_of(design));
  if (error > 0) out += fmt::format(": {:.1f} standard errors", gain / error);
  out += "\n";
  if (error > 0 && std::fabs(gain) < 3 * error) out += "note: a gain as small as this may be chance\n";
  if (at_end) out += "note: a value is at the end of its range; a wider range may contain a better one\n";
  return out;
}

std::string best_scene_text(const Design& design) {
  std::string out = fmt::format(
      "# Found by catoptra steer --free, the best of {} variants. {}, {}:\n# {}{} now, {}{} before (± one standard "
      "error, "
      "from samples that the search had not seen).\n",
      design.variants.size(), objective_word(design), suns_words(design), compact(design.found), unit_of(design),
      compact(design.original), unit_of(design));
  for (std::size_t i = 0; i < design.parameters.size(); ++i) {
    const FreeParameter& p = design.parameters[i];
    out += fmt::format("#   {} = {} (before: {}; allowed: {} to {})\n", p.path,
                       number_text(design.variants[design.best].values[i]), number_text(p.original), number_text(p.low),
                       number_text(p.high));
  }
  if (!design.schedule.components.empty()) out += "# Poses are those for the sun of this scene.\n";
  const std::string& text = design.scene.text;
  return out + "\n" + (text.starts_with("\xEF\xBB\xBF") ? text.substr(3) : text);
}

}  // namespace catoptra
