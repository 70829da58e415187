#include "geometry/words.h"

#include <cmath>
#include <fmt/format.h>

#include "numeric/field.h"

namespace catoptra {

std::string degrees_words(double angle_rad) {
  return fmt::format("{:.1f} degrees", angle_rad / units::degree_rad);
}

std::string conic_words(double curvature_per_m, double q, double rim_m, double rim_height_m) {
  if (curvature_per_m == 0) return "flat";
  const double c = curvature_per_m, radius_m = 1 / c, focus_m = radius_m / 2;
  std::string out = fmt::format("{}, radius of curvature {:.4g} m, paraxial focal length {:.4g} m",
                                c > 0 ? "concave" : "convex", std::fabs(radius_m), std::fabs(focus_m));
  if (q != 1) out += fmt::format(", conic constant {:.4g}", q - 1);
  if (c > 0)
    out += fmt::format(", rim angle {} seen from the paraxial focus",
                       degrees_words(std::atan2(rim_m, focus_m - rim_height_m)));
  return out;
}

}  // namespace catoptra
