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

/// How the best variant's numbers are called beside the scene's as it was.
std::string_view now_word(const Design& design) {
  return design.original_kept ? "in the best variant" : "now";
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
  for (std::size_t i = 0; i < design.parameters.size(); ++i) {
    const FreeParameter& p = design.parameters[i];
    const double best = design.variants[design.best].values[i];
    out += fmt::format("  {}\n    {} {}, {} before; {} to {} allowed\n", p.path, number_text(best), now_word(design),
                       number_text(p.original), number_text(p.low), number_text(p.high));
  }
  const auto& [gain, error] = design.gain;
  out +=
      fmt::format("{}, {}: {}{} {}, {}{} before\n", objective_word(design), suns_words(design), compact(design.found),
                  unit_of(design), now_word(design), compact(design.original), unit_of(design));
  out += fmt::format("gain {}{}", compact(design.gain), unit_of(design));
  if (error > 0) out += fmt::format(": {:.1f} standard errors", gain / error);
  out += "\n";
  if (design.original_kept) return out + "no variant is better in this comparison: the scene stays as it was\n";
  if (error > 0 && std::fabs(gain) < 3 * error) out += "note: a gain as small as this may be chance\n";
  for (std::size_t i = 0; i < design.parameters.size(); ++i) {
    const FreeParameter& p = design.parameters[i];
    const double best = design.variants[design.best].values[i];
    if (best == p.low || best == p.high)
      out += fmt::format("note: {} is at the end of its range, {}; a wider range may contain a better value\n", p.path,
                         number_text(best));
  }
  return out;
}

std::string best_scene_text(const Design& design) {
  const std::string& text = design.scene.text;
  const std::string scene_text = "\n" + (text.starts_with("\xEF\xBB\xBF") ? text.substr(3) : text);
  if (design.original_kept)
    return fmt::format(
               "# The scene as it was: catoptra steer --free tried {} variants and found none better. {}, {}:\n"
               "# {}{} as it was, {}{} in the best variant (± one standard error, from samples that the search had not "
               "seen).\n",
               design.variants.size(), objective_word(design), suns_words(design), compact(design.original),
               unit_of(design), compact(design.found), unit_of(design)) +
           scene_text;
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
  return out + scene_text;
}

}  // namespace catoptra
