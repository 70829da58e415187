// Paraboloid under a sun of even brightness, flat receiver in the focal plane: no mirror error.
// The sun's half angle here is ts = 4.65 mrad.
#include <fmt/format.h>

#include "estimates.h"

namespace catoptra {

namespace {

using test::traced;

constexpr double half_angle_rad = 4.65e-3;

/// Focal length 1 m; the rim angle sets the aperture: radius = 2 f tan(rim / 2).
std::string dish(double rim_deg, double receiver_radius_m) {
  const double aperture_m = 4 * std::tan(rim_deg * pi / 360);
  return fmt::format(R"(schema = 1
title = "perfect dish"
[sun]
dni_W_m2 = 1000
shape = {{ kind = "disc", half_angle_mrad = 4.65 }}
azimuth_deg = 180
elevation_deg = 90
[finish.perfect]
kind = "mirror"
reflectance = 1
[finish.black]
kind = "absorber"
absorptance = 1
[[primary]]
name = "dish"
shape = {{ kind = "paraboloid", focal_length_m = 1 }}
aperture = {{ kind = "circle", diameter_m = {} }}
finish = "perfect"
mount = {{ kind = "fixed", position_m = [0, 0, 0], axis = [0, 0, 1] }}
[[receiver]]
name = "spot"
shape = {{ kind = "disc", diameter_m = {} }}
finish = "black"
mount = {{ kind = "fixed", position_m = [0, 0, 1], axis = [0, 0, -1] }}
flux = {{ bins = [15, 15] }}
)",
                     aperture_m, 2 * receiver_radius_m);
}

/// From 32 replicates, five standard errors are Student's t with 31 degrees of freedom: p = 2e-5 each.
bool within_sigmas(const Estimate& got, double expected, double sigmas = 5) {
  return std::fabs(got.value - expected) <= sigmas * got.standard_error;
}

}  // namespace

// Values by quadrature over the mirror of the share of each point's elliptical image inside the circle, computed apart
// from the engine; the plateau sin^2(rim) / sin^2(ts) follows from constant radiance (Rabl, Solar Energy 18 (1976) 93,
// from memory).
TEST_CASE("perfect dish: share within the plateau's radius, and the plateau", "[statistical][dish]") {
  struct Case {
    double rim_deg, share;
  };
  for (const Case& c : {Case{30, 0.870519}, Case{45, 0.728563}, Case{60, 0.562510}}) {
    CAPTURE(c.rim_deg);
    const TraceResult got = traced(dish(c.rim_deg, std::tan(half_angle_rad)), 1 << 20, 7);
    CHECK(std::fabs(got.intercept_factor.value - c.share) <= 5 * got.intercept_factor.standard_error + 1e-6);
    CHECK_FALSE(within_sigmas(got.intercept_factor, 1.01 * c.share));
    // The bin in the middle lies wholly on the plateau.
    const double plateau = std::pow(std::sin(c.rim_deg * pi / 180), 2) / std::pow(std::sin(half_angle_rad), 2);
    const FluxMap& flux = got.receivers.front().flux;
    const Estimate middle{flux.flux_W_m2[7 * 15 + 7] / got.dni_W_m2,
                          flux.standard_error_W_m2[7 * 15 + 7] / got.dni_W_m2};
    CHECK(within_sigmas(middle, plateau));
    CHECK_FALSE(within_sigmas(middle, 1.05 * plateau));
  }
}

// No receiver may see more than 1 / sin^2(ts) suns on average, and a flat one no more than the plateau: etendue.
TEST_CASE("perfect dish: concentration stays below the limits of etendue", "[statistical][dish]") {
  const TraceResult got = traced(dish(60, 0.5 * std::tan(half_angle_rad)), 1 << 20, 7);
  const Estimate mean = got.receivers.front().mean_concentration;
  const double plateau = std::pow(std::sin(pi / 3), 2) / std::pow(std::sin(half_angle_rad), 2);
  CHECK(within_sigmas(mean, plateau));
  CHECK_FALSE(within_sigmas(mean, 1.01 * plateau));
  CHECK(mean.value < 1 / std::pow(std::sin(half_angle_rad), 2));
}

}  // namespace catoptra
