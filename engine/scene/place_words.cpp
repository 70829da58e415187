#include "scene/place_words.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>

#include "geometry/bounds.h"
#include "sun/bearing.h"

namespace catoptra {

std::string point_text(const Vec& p) {
  // Rounding must not print a minus before a zero.
  const auto tidy = [](double x) { return std::fabs(x) < 5e-4 ? 0.0 : x; };
  return fmt::format("[{:.3f}, {:.3f}, {:.3f}] m", tidy(p.x), tidy(p.y), tidy(p.z));
}

std::string heading(const Vec& axis) {
  if (std::hypot(axis.x, axis.y) < 1e-6) return axis.z > 0 ? "straight up" : "straight down";
  return fmt::format("azimuth {:.1f}, elevation {:.1f} degrees", azimuth_deg(axis), elevation_deg(axis));
}

/// Of a mirror that is made of panels: how wide they are together, and how far they are turned from its axis.
std::string facets_words(const Component& component) {
  const Box one = bounds_of(component.surface, component.outline);
  Box all;
  double least = 1, most = -1;
  for (const Frame& facet : component.facets) {
    const Box box = one.to_world(facet);
    all.include(box.low);
    all.include(box.high);
    least = std::fmin(least, facet.ez.z);
    most = std::fmax(most, facet.ez.z);
  }
  const auto mrad = [](double cosine) { return 1e3 * std::acos(std::clamp(cosine, -1.0, 1.0)); };
  return fmt::format("{} facets, {:.4g} m (x) by {:.4g} m (y) in all, {}", component.facets.size(),
                     all.high.x - all.low.x, all.high.y - all.low.y,
                     least == 1
                         ? "not canted"
                         : fmt::format("canted by {:.4g} to {:.4g} mrad against their axis", mrad(most), mrad(least)));
}

std::string place_words(const Component& component, std::span<const Placed> copies) {
  if (copies.size() == 1) {
    const Frame& frame = copies.front().frame;
    return fmt::format("stands at {}, faces {}", point_text(frame.origin), heading(frame.ez));
  }
  Box bounds;
  Vec least = copies.front().frame.ez, most = least;
  double apart = 0;
  for (const Placed& copy : copies) {
    bounds.include(copy.frame.origin);
    if (copy.frame.ez.z < least.z) least = copy.frame.ez;
    if (copy.frame.ez.z > most.z) most = copy.frame.ez;
    apart = std::fmax(apart, length(copy.frame.ez - copies.front().frame.ez));
  }
  const std::string facing = apart < 1e-6
                                 ? "all face " + heading(copies.front().frame.ez)
                                 : fmt::format("facing different directions, elevation {:.1f} to {:.1f} degrees",
                                               elevation_deg(least), elevation_deg(most));
  std::string number = fmt::format("{} copies", component.mounts());
  if (component.facets.size() > 1)
    number = component.mounts() > 1 ? number + fmt::format(" of {} facets", component.facets.size()) : "facets";
  return fmt::format("{} between {} and {}, {}", number, point_text(bounds.low), point_text(bounds.high), facing);
}

}  // namespace catoptra
