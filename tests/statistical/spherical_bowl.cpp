// A spherical mirror under a point sun overhead. All rays stay in planes through the axis, so a circle of radius R
// tells everything: a ray met at the polar angle u leaves at 2 u from the axis, and crosses the axis at R / (2 cos u)
// from the centre (closed form; W. E. Steward and F. Kreith, Solar Energy 17 (1975), from memory).
#include "statistical/estimates.h"

using namespace catoptra;
using namespace catoptra::test;

namespace {

constexpr double R = 10;

std::string bowl(double inner_m, double outer_m, const std::string& mirror, const std::string& receiver) {
  return head(point_sun, mirror) +
         component("primary", "bowl",
                   fmt::format("shape = {{ kind = \"sphere\", radius_m = {} }}\n"
                               "aperture = {{ kind = \"annulus\", outer_diameter_m = {}, inner_diameter_m = {} }}\n"
                               "finish = \"silver\"\nmount = {{ kind = \"fixed\" }}",
                               R, 2 * outer_m, 2 * inner_m)) +
         component("receiver", "rod", receiver);
}

/// Share of the power met once, twice, ... before the ray comes within `a` of the axis, for polar angles up to
/// `end_rad`. In the plane a ray runs along chords that all turn by pi - 2 th; the first chord to end inside a meets
/// the rod.
std::vector<double> shares_by_reflections(double a, double end_rad) {
  constexpr int rays = 400000;
  std::vector<double> share(8, 0);
  const double from = a * a / (R * R), to = std::pow(std::sin(end_rad), 2);
  for (int k = 0; k < rays; ++k) {
    const double th = std::asin(std::sqrt(from + (to - from) * (k + 0.5) / rays));
    double at = th;
    std::size_t met = 0;
    while (R * std::sin(at) >= a && met < share.size()) {
      ++met;
      at -= 3.14159265358979323846 - 2 * th;
    }
    share.at(met - 1) += (to - from) / rays;
  }
  return share;
}

}  // namespace

TEST_CASE("spherical bowl: power along a thin rod on the axis", "[statistical][bowl]") {
  // The rod's wall stands at x = a: a ray from (R sin u, R - R cos u) in the direction (-sin 2u, cos 2u) meets it at
  // this height, which falls with u from 10 degrees on. Power from within u goes as sin^2 u.
  constexpr double a = 0.01;
  const auto height = [](double u) {
    return R - R * std::cos(u) + (R * std::sin(u) - a) / std::sin(2 * u) * std::cos(2 * u);
  };
  const double from = 10 * degree_rad, to = 50 * degree_rad;
  constexpr double middle_m = 3.5, length_m = 3.4;
  const auto got = traced(bowl(R * std::sin(from), R * std::sin(to), "reflectance = 1",
                               fmt::format("shape = {{ kind = \"cylinder\", radius_m = {}, length_m = {} }}\n"
                                           "finish = \"black\"\nflux = {{ bins = [1, 40] }}\n"
                                           "mount = {{ kind = \"fixed\", position_m = [0, 0, {}] }}",
                                           a, length_m, middle_m)));
  CHECK(got.intercept_factor.value == 1);
  const FluxMap& flux = got.receivers[0].flux;
  const auto angle_at = [&](double z) {  // the u that lands at height z
    double low = from, high = to;
    if (z >= height(from)) return from;
    if (z <= height(to)) return to;
    for (int i = 0; i < 60; ++i) (height((low + high) / 2) > z ? low : high) = (low + high) / 2;
    return low;
  };
  const double area_m2 = got.aperture_area_m2, all = std::pow(std::sin(to), 2) - std::pow(std::sin(from), 2);
  int dark = 0, twin_off = 0;
  for (std::size_t j = 0; j < 40; ++j) {
    const double low_u = angle_at(middle_m + flux.second.edges[j + 1]),
                 high_u = angle_at(middle_m + flux.second.edges[j]);
    const double expected_W = 1000 * area_m2 * (std::pow(std::sin(high_u), 2) - std::pow(std::sin(low_u), 2)) / all;
    const Estimate power_W{flux.flux_W_m2[j] * flux.area_m2[j], flux.standard_error_W_m2[j] * flux.area_m2[j]};
    INFO("bin " << j);
    CHECK_THAT(power_W, WithinSigmas(expected_W, 6));
    if (expected_W == 0) ++dark;
    // Even power along the rod, or power going as u: both wrong by far more than the error bars.
    const double linear_W = 1000 * area_m2 * (high_u - low_u) / (to - from);
    twin_off += !WithinSigmas(linear_W, 6).match(power_W);
  }
  CHECK(dark >= 4);
  CHECK(twin_off > 30);
}

TEST_CASE("spherical bowl: shares by the number of reflections", "[statistical][bowl]") {
  // Closed form for a rod without thickness: k reflections up to th = 180 k / (2 k + 1) degrees: 60, 72, 77.143; shares
  // of a hemisphere's light .75, .154508, .045976 as differences of sin^2.
  const auto thin = shares_by_reflections(1e-6 * R, 77.142 * degree_rad);
  CHECK(thin[0] == Approx(.75).margin(1e-5));
  CHECK(thin[1] == Approx(.154508).margin(1e-5));
  CHECK(thin[2] == Approx(.045976).margin(1e-5));

  constexpr double a = 0.02;
  const double end = 77 * degree_rad;
  const auto shares = shares_by_reflections(a, end);
  const double all = std::pow(std::sin(end), 2) - a * a / (R * R);
  for (const double reflectance : {1.0, 0.8, 0.5}) {
    INFO("reflectance " << reflectance);
    const auto got = traced(bowl(a, R * std::sin(end), fmt::format("reflectance = {}", reflectance),
                                 fmt::format("shape = {{ kind = \"cylinder\", radius_m = {}, length_m = {} }}\n"
                                             "finish = \"black\"\n"
                                             "mount = {{ kind = \"fixed\", position_m = [0, 0, {}] }}",
                                             a, R, R / 2)));
    double expected = 0, left = 1;
    for (const double share : shares) expected += share * (left *= reflectance);
    CHECK_THAT(got.optical_efficiency, WithinSigmas(expected / all, 5));
    CHECK_THAT(term(got, Term::shading), WithinSigmas(0, 5));
    if (reflectance == 1) {
      CHECK(got.intercept_factor.value == Approx(1).epsilon(1e-12));
    } else {
      // One reflection for all light would be this:
      CHECK_THAT(got.optical_efficiency, !WithinSigmas(reflectance, 5));
      CHECK_THAT(got.optical_efficiency, !WithinSigmas(0.99 * expected / all, 5));
    }
  }
}
