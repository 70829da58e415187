#include "steer/way.h"

#include <algorithm>
#include <cmath>

#include "numeric/field.h"

namespace catoptra {
namespace {

constexpr double night_rad = 60 * units::degree_rad;  // suns further apart than this have a night between them

}  // namespace

double angle_between_rad(const Vec& a, const Vec& b) {
  return std::acos(std::clamp(dot(a, b), -1.0, 1.0));
}

bool on_one_way(const Moment& a, const Moment& b) {
  const auto day = [](const Moment& m) { return std::floor((m.posix_s + 60.0 * m.utc_offset_minutes) / 86400); };
  return day(a) == day(b) && angle_between_rad(a.to_sun, b.to_sun) <= night_rad;
}

std::vector<Moment> way_points(const Moment& from, const Moment& to) {
  constexpr double longest_step_rad = 8 * units::degree_rad;
  std::vector<Moment> out;
  if (!on_one_way(from, to)) return out;
  const int steps = static_cast<int>(std::ceil(angle_between_rad(from.to_sun, to.to_sun) / longest_step_rad));
  for (int k = 1; k < steps; ++k) {
    const double share = static_cast<double>(k) / steps;
    out.push_back({.to_sun = unit((1 - share) * from.to_sun + share * to.to_sun),
                   .posix_s = from.posix_s + share * (to.posix_s - from.posix_s),
                   .utc_offset_minutes = from.utc_offset_minutes,
                   .dni_W_m2 = from.dni_W_m2 + share * (to.dni_W_m2 - from.dni_W_m2)});
  }
  return out;
}

}  // namespace catoptra
