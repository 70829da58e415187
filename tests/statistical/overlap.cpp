// Shading and blocking between flat mirrors, against exact overlaps of rectangles. Under a point sun the only chance is
// where on the mirrors samples start.
#include <algorithm>

#include "statistical/estimates.h"

using namespace catoptra;
using namespace catoptra::test;

namespace {

constexpr double width_m = 2, height_m = 1.5;

/// A rectangle on the rear mirror's face, by its middle (right, up): where the front one's shadow falls, all of size
/// width_m x height_m.
struct Shadow {
  double right_m, up_m;
};

/// The front mirror's middle stands at d from the rear one's; both have the normal n. Along the direction s it falls on
/// the rear one's plane at q = d - (d . n / s . n) s (closed form).
Shadow shadow_along(const Vec& s, const Vec& d, const Vec& n) {
  const Vec q = d - (dot(d, n) / dot(s, n)) * s;
  const Vec right = unit(cross(Vec{0, 0, 1}, n));
  return {dot(q, right), dot(q, cross(n, right))};
}

/// Area that the rear mirror and all the shadows share.
double common_m2(std::initializer_list<Shadow> shadows) {
  double low_r = -width_m / 2, high_r = width_m / 2, low_u = -height_m / 2, high_u = height_m / 2;
  for (const Shadow& s : shadows) {
    low_r = std::max(low_r, s.right_m - width_m / 2), high_r = std::min(high_r, s.right_m + width_m / 2);
    low_u = std::max(low_u, s.up_m - height_m / 2), high_u = std::min(high_u, s.up_m + height_m / 2);
  }
  return std::max(0.0, high_r - low_r) * std::max(0.0, high_u - low_u);
}

std::string mirror(std::string_view name, const Vec& at_m, const Vec& normal) {
  return component("primary", name,
                   fmt::format("shape = {{ kind = \"plane\" }}\n"
                               "aperture = {{ kind = \"rectangle\", width_m = {}, length_m = {} }}\n"
                               "finish = \"silver\"\nmount = {{ kind = \"fixed\", position_m = {}, axis = {} }}",
                               width_m, height_m, text_of(at_m), text_of(normal)));
}

}  // namespace

TEST_CASE("shading and blocking of one flat mirror by another", "[statistical][overlap]") {
  const Vec n = unit(Vec{0.1, -0.6, 0.8});
  const Vec d{0.4, -1.0, 0.9};
  int shaded = 0, blocked = 0;
  for (const double azimuth_deg : {120.0, 160.0, 175.0, 200.0, 230.0}) {
    for (const double elevation_deg : {25.0, 45.0, 60.0, 80.0}) {
      INFO("sun at azimuth " << azimuth_deg << ", elevation " << elevation_deg);
      const double az = azimuth_deg * degree_rad, el = elevation_deg * degree_rad;
      const Vec s{std::cos(el) * std::sin(az), std::cos(el) * std::cos(az), std::sin(el)};
      const Vec r = 2 * dot(s, n) * n - s;  // where the light goes
      const auto got = traced(head(point_sun, "reflectance = 0.9", {azimuth_deg, elevation_deg}) +
                                  mirror("rear", {0, 0, 5}, n) + mirror("front", Vec{0, 0, 5} + d, n),
                              1 << 18);
      const Shadow of_sun = shadow_along(s, d, n), of_reflection = shadow_along(r, d, n);
      const double shaded_m2 = common_m2({of_sun}), blocked_m2 = common_m2({of_reflection});
      const double unlit_and_blocked_m2 = common_m2({of_sun, of_reflection});
      const double irradiance_W_m2 = 1000 * dot(s, n), area_m2 = 2 * width_m * height_m;
      const double blocking_W = 0.9 * irradiance_W_m2 * (blocked_m2 - unlit_and_blocked_m2);

      CHECK(got.incident_power_W == Approx(irradiance_W_m2 * area_m2).epsilon(1e-12));
      CHECK(term(got, Term::cosine).value == Approx(1000 * area_m2 * (1 - dot(s, n))).epsilon(1e-12));
      CHECK_THAT(term(got, Term::shading), WithinSigmas(irradiance_W_m2 * shaded_m2, 5));
      CHECK_THAT(term(got, Term::blocking), WithinSigmas(blocking_W, 5));
      CHECK_THAT(term(got, Term::primary_absorption), WithinSigmas(0.1 * irradiance_W_m2 * (area_m2 - shaded_m2), 5));
      if (shaded_m2 > 0.1) {
        ++shaded;
        CHECK_THAT(term(got, Term::shading), !WithinSigmas(0.97 * irradiance_W_m2 * shaded_m2, 5));
      }
      if (blocked_m2 - unlit_and_blocked_m2 > 0.1) {
        ++blocked;
        CHECK_THAT(term(got, Term::blocking), !WithinSigmas(0.97 * blocking_W, 5));
      }
    }
  }
  CHECK(shaded >= 4);
  CHECK(blocked >= 4);
}

TEST_CASE("heliostats that aim at a far point have parallel beams", "[statistical][overlap]") {
  // Both normals bisect the same two directions, to 1e-6: the same overlaps hold, and cos i = sqrt((1 + s . t) / 2).
  const double el = 50 * degree_rad;
  const Vec s{0, -std::cos(el), std::sin(el)}, t = unit(Vec{0, 1, 0.8}), d{0.3, 1.2, 0};
  const auto heliostat = [&](std::string_view name, const Vec& at_m) {
    return component(
        "primary", name,
        fmt::format("shape = {{ kind = \"plane\" }}\n"
                    "aperture = {{ kind = \"rectangle\", width_m = {}, length_m = {} }}\nfinish = \"silver\"\n"
                    "mount = {{ kind = \"heliostat\", position_m = {}, aim_m = {} }}",
                    width_m, height_m, text_of(at_m), text_of(9e5 * t)));
  };
  const Vec n = unit(s + t);
  const auto got =
      traced(head(point_sun, "reflectance = 1", {180, 50}) + heliostat("a", {0, 0, 0}) + heliostat("b", d), 1 << 18);
  const double cosine = std::sqrt((1 + dot(s, t)) / 2);
  CHECK(got.incident_power_W == Approx(1000 * cosine * 2 * width_m * height_m).epsilon(2e-6));
  // Whichever stands in front along n is in the other's way.
  const Vec ahead = dot(d, n) > 0 ? d : -d;
  const double shaded_W = 1000 * cosine * common_m2({shadow_along(s, ahead, n)});
  const double blocked_W =
      1000 * cosine *
      (common_m2({shadow_along(t, ahead, n)}) - common_m2({shadow_along(t, ahead, n), shadow_along(s, ahead, n)}));
  CHECK_THAT(term(got, Term::shading), WithinSigmas(shaded_W, 5));
  CHECK_THAT(term(got, Term::blocking), WithinSigmas(blocked_W, 5));
  CHECK(shaded_W > 100);
  CHECK(blocked_W > 100);
  CHECK_THAT(term(got, Term::shading), !WithinSigmas(0.97 * shaded_W, 5));
  CHECK_THAT(term(got, Term::blocking), !WithinSigmas(0.97 * blocked_W, 5));
}
