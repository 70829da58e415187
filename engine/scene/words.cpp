#include "scene/words.h"

#include <algorithm>
#include <array>
#include <fmt/format.h>
#include <limits>

namespace catoptra {
namespace {

/// Optimal string alignment distance: insert, delete, replace, swap neighbours.
std::size_t edit_distance(std::string_view a, std::string_view b) {
  std::vector<std::size_t> before, above(b.size() + 1), row(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j) above[j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    row[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t replace = above[j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
      row[j] = std::min({above[j] + 1, row[j - 1] + 1, replace});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) row[j] = std::min(row[j], before[j - 2] + 1);
    }
    before = above;
    above = row;
  }
  return above[b.size()];
}

std::string_view without_unit(std::string_view key) {
  // Those of the keys, the longer of two alike first; then what people write in their place.
  static constexpr std::array endings{units::watt_per_square_metre_kelvin.suffix,
                                      units::watt_per_square_metre.suffix,
                                      units::per_m3.suffix,
                                      units::per_m5.suffix,
                                      units::per_m7.suffix,
                                      units::per_m9.suffix,
                                      units::per_metre.suffix,
                                      units::square_micrometre.suffix,
                                      units::nanometre.suffix,
                                      units::milliradian.suffix,
                                      units::degree.suffix,
                                      units::kelvin.suffix,
                                      units::metre.suffix,
                                      std::string_view("_hPa"),
                                      std::string_view("_degC"),
                                      std::string_view("_kW_m2"),
                                      std::string_view("_rad"),
                                      std::string_view("_degrees"),
                                      std::string_view("_mm"),
                                      std::string_view("_cm"),
                                      std::string_view("_km"),
                                      std::string_view("_meter"),
                                      std::string_view("_metres"),
                                      std::string_view("_mbar"),
                                      std::string_view("_Pa"),
                                      std::string_view("_C")};
  for (const auto ending : endings) {
    if (key.size() > ending.size() && key.ends_with(ending)) return key.substr(0, key.size() - ending.size());
  }
  return key;
}

std::string lower(std::string_view word) {
  std::string out(word);
  for (char& c : out) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    if (c == '-') c = '_';
  }
  return out;
}

struct Synonym {
  std::string_view typed, meant;
  std::string_view remark{};
};

/// What the trade and its textbooks say, small letters and without a unit, for what the keys here are called: common
/// practice, no source. Keys come before kinds; a word may stand for several, of which the table at hand knows one.
constexpr std::array synonyms{
    Synonym{"lat", "latitude_deg"},
    Synonym{"lon", "longitude_deg"},
    Synonym{"long", "longitude_deg"},
    Synonym{"lng", "longitude_deg"},
    Synonym{"elevation", "altitude_m"},
    Synonym{"height", "altitude_m"},
    Synonym{"time", "at"},
    Synonym{"date", "at"},
    Synonym{"datetime", "at"},
    Synonym{"date_time", "at"},
    Synonym{"when", "at"},
    Synonym{"irradiance", "dni_W_m2"},
    Synonym{"sunshape", "shape"},
    Synonym{"sun_shape", "shape"},
    Synonym{"mirror", "primary"},
    Synonym{"mirrors", "primary"},
    Synonym{"reflector", "primary"},
    Synonym{"concentrator", "primary"},
    Synonym{"collector", "primary"},
    Synonym{"heliostat", "primary"},
    Synonym{"heliostats", "primary"},
    Synonym{"subreflector", "secondary"},
    Synonym{"target", "receiver"},
    Synonym{"absorber", "receiver"},
    Synonym{"detector", "receiver"},
    Synonym{"window", "cover"},
    Synonym{"glass", "cover"},
    Synonym{"envelope", "cover"},
    Synonym{"blocker", "obstacle"},
    Synonym{"material", "finish"},
    Synonym{"materials", "finish"},
    Synonym{"coating", "finish"},
    Synonym{"optics", "finish"},
    Synonym{"reflectivity", "reflectance"},
    Synonym{"rho", "reflectance"},
    Synonym{"absorptivity", "absorptance"},
    Synonym{"absorption", "absorptance"},
    Synonym{"alpha", "absorptance"},
    Synonym{"emissivity", "emittance"},
    Synonym{"epsilon", "emittance"},
    Synonym{"slope", "slope_error_mrad"},
    Synonym{"surface_error", "slope_error_mrad"},
    Synonym{"specularity", "specularity_error_mrad"},
    Synonym{"roughness", "specularity_error_mrad"},
    Synonym{"focus", "focal_length_m"},
    Synonym{"focal", "focal_length_m"},
    Synonym{"curvature_radius", "radius_m"},
    Synonym{"radius_of_curvature", "radius_m"},
    Synonym{"roc", "radius_m"},
    Synonym{"conic", "conic_constant"},
    Synonym{"k", "conic_constant"},
    Synonym{"outline", "aperture"},
    Synonym{"geometry", "shape"},
    Synonym{"surface", "shape"},
    Synonym{"location", "position_m"},
    Synonym{"origin", "position_m"},
    Synonym{"pos", "position_m"},
    Synonym{"normal", "axis"},
    Synonym{"direction", "axis"},
    Synonym{"orientation", "axis"},
    Synonym{"tracking", "mount"},
    Synonym{"type", "kind"},
    Synonym{"hyperboloid", "conic", "a hyperboloid is a conic with conic_constant below -1"},
    Synonym{"hyperbola", "conic", "a hyperboloid is a conic with conic_constant below -1"},
    Synonym{"hyperbolic", "conic", "a hyperboloid is a conic with conic_constant below -1"},
    Synonym{"ellipsoid", "conic", "an ellipsoid is a conic with conic_constant between -1 and 0"},
    Synonym{"ellipse", "conic", "an ellipsoid is a conic with conic_constant between -1 and 0"},
    Synonym{"parabola", "paraboloid"},
    Synonym{"parabolic", "paraboloid"},
    Synonym{"dish", "paraboloid"},
    Synonym{"spherical", "sphere"},
    Synonym{"bowl", "sphere"},
    Synonym{"trough", "parabolic_trough"},
    Synonym{"flat", "plane"},
    Synonym{"tube", "cylinder"},
    Synonym{"pipe", "cylinder"},
    Synonym{"winston", "cpc"},
    Synonym{"square", "rectangle"},
    Synonym{"ring", "annulus"},
    Synonym{"hexagon", "regular_polygon"},
    Synonym{"pillbox", "disc"},
    Synonym{"uniform", "disc"},
    Synonym{"black", "absorber"},
    Synonym{"blackbody", "absorber"},
    Synonym{"static", "fixed"},
    Synonym{"azimuth_elevation", "two_axis"},
    Synonym{"dual_axis", "two_axis"},
    Synonym{"one_axis", "single_axis"},
};

const Synonym* synonym_of(std::string_view typed, std::span<const std::string_view> words) {
  const std::string plain = lower(without_unit(typed));
  for (const auto& synonym : synonyms) {
    if (synonym.typed == plain && std::ranges::find(words, synonym.meant) != words.end()) return &synonym;
  }
  return nullptr;
}

}  // namespace

std::string joined(std::span<const std::string_view> words) {
  constexpr std::size_t most = 60;
  if (words.size() <= most) return fmt::format("{}", fmt::join(words, ", "));
  return fmt::format("{} and {} more", fmt::join(words.first(most), ", "), words.size() - most);
}

std::vector<std::string> word_notes(std::string_view typed, std::span<const std::string_view> words) {
  std::vector<std::string> out{"allowed: " + joined(words)};
  const auto nearest = nearest_word(typed, words);
  if (!nearest) return out;
  out.push_back(fmt::format("did you mean '{}'?", *nearest));
  const Synonym* synonym = synonym_of(typed, words);
  if (synonym != nullptr && synonym->meant == *nearest && !synonym->remark.empty()) out.emplace_back(synonym->remark);
  return out;
}

std::optional<std::string_view> nearest_word(std::string_view typed, std::span<const std::string_view> words) {
  if (typed.size() > 64) return std::nullopt;
  std::optional<std::string_view> best;
  std::size_t least = std::numeric_limits<std::size_t>::max();
  for (const auto word : words) {
    if (word.size() > 64) continue;
    std::size_t distance = edit_distance(lower(typed), lower(word));
    // A third of the word may be wrong before it is another word.
    const bool near = distance <= std::max<std::size_t>(1, std::max(typed.size(), word.size()) / 3);
    const bool same_stem = lower(without_unit(typed)) == lower(without_unit(word));
    if (same_stem) distance = 0;
    if ((near || same_stem) && distance < least) {
      least = distance;
      best = word;
    }
  }
  if (least == 0) return best;
  const Synonym* synonym = synonym_of(typed, words);
  return synonym == nullptr ? best : *std::ranges::find(words, synonym->meant);
}

std::string shortened(std::string_view word) {
  std::size_t characters = 0;
  for (std::size_t at = 0; at < word.size(); ++at) {
    const bool starts = (static_cast<unsigned char>(word[at]) & 0xC0U) != 0x80U;
    if (starts && ++characters > 60) return std::string(word.substr(0, at)) + "...";
  }
  return std::string(word);
}

std::string number_text(double x) {
  return fmt::format("{:.12g}", x);
}

std::string range_text(const Range& range) {
  constexpr double unbounded = std::numeric_limits<double>::infinity();
  std::string out;
  if (range.low > -unbounded && range.high < unbounded) {
    out = fmt::format("{} {} {} {}", range.low_open ? "more than" : "from", number_text(range.low),
                      range.high_open ? "to less than" : "to", number_text(range.high));
  } else if (range.low > -unbounded) {
    out = range.low_open ? "more than " + number_text(range.low) : number_text(range.low) + " or more";
  } else if (range.high < unbounded) {
    out = range.high_open ? "less than " + number_text(range.high) : number_text(range.high) + " or less";
  }
  if (range.zero_excluded) out += out.empty() ? "not 0" : ", not 0";
  return out;
}

}  // namespace catoptra
