// Parabolic trough of rim angle 90 degrees with a tube, Gaussian beam: intercept over total spread x concentration.
#include <fmt/format.h>

#include "estimates.h"

namespace catoptra {

namespace {

using test::traced;

/// Focal length 1 m, aperture 4 m, long enough that no light leaves at the ends under a sun overhead. All of the spread
/// is the sun's own, or the mirror's slope, which counts twice.
std::string trough(double spread_rad, double concentration, bool by_slope) {
  const double tube_radius_m = 4 / (2 * pi * concentration);
  const std::string sun =
      by_slope ? "{ kind = \"point\" }" : fmt::format("{{ kind = \"gaussian\", sigma_mrad = {} }}", 1e3 * spread_rad);
  return fmt::format(R"(schema = 1
title = "perfect trough"
[sun]
dni_W_m2 = 1000
shape = {}
azimuth_deg = 180
elevation_deg = 90
[finish.perfect]
kind = "mirror"
reflectance = 1
slope_error_mrad = [{}, 0]
[finish.black]
kind = "absorber"
absorptance = 1
[[primary]]
name = "trough"
shape = {{ kind = "parabolic_trough", focal_length_m = 1 }}
aperture = {{ kind = "rectangle", width_m = 4, length_m = 20 }}
finish = "perfect"
mount = {{ kind = "fixed", position_m = [0, 0, 0], axis = [0, 0, 1] }}
[[receiver]]
name = "tube"
shape = {{ kind = "cylinder", radius_m = {}, length_m = 40 }}
finish = "black"
mount = {{ kind = "fixed", position_m = [0, 0, 1], axis = [0, 1, 0] }}
)",
                     sun, by_slope ? 1e3 * spread_rad / 2 : 0.0, tube_radius_m);
}

}  // namespace

// The universal variable is sigma x C (Bendt, Rabl, Gaul and Reed, SERI/TR-34-092, 1979, from memory). Expected:
// mean over x of erf(asin(r / rho) / (sigma sqrt 2)), rho = 2 f / (1 + cos psi), x = 2 f tan(psi / 2), by quadrature
// here.
TEST_CASE("trough with a tube: intercept factor under a Gaussian beam", "[statistical][trough]") {
  constexpr double concentration = 20;
  struct Row {
    double sigma_c, whole_mean;
  };
  // The known values of the mean over the whole aperture, found by another quadrature.
  for (const auto& [sigma_c, whole_mean] :
       {Row{0.10, 0.99988}, Row{0.20, 0.97394}, Row{0.30, 0.88476}, Row{0.50, 0.67267}}) {
    const double sigma = sigma_c / concentration, radius = 4 / (2 * pi * concentration);
    double expected = 0;
    constexpr int steps = 20000;
    for (int i = 0; i < steps; ++i) {
      const double x = 2 * (i + 0.5) / steps, rho = 1 + x * x / 4;
      expected += std::erf(std::asin(radius / rho) / (sigma * std::sqrt(2.0))) / steps;
    }
    CHECK(std::fabs(expected - whole_mean) < 2e-4);  // asin(r / rho) there is r / rho
    for (const bool by_slope : {false, true}) {
      CAPTURE(sigma_c, by_slope);
      const TraceResult got = traced(trough(sigma, concentration, by_slope), 1 << 19, 7);
      // Shaded by the tube itself is a strip below it, which the mean over x above counts: compare what the unshaded
      // mirror sends, whose mean leaves that strip out.
      double open = 0, open_share = 0;
      for (int i = 0; i < steps; ++i) {
        const double x = 2 * (i + 0.5) / steps, rho = 1 + x * x / 4;
        if (x < radius) continue;
        open += 1;
        open_share += std::erf(std::asin(radius / rho) / (sigma * std::sqrt(2.0)));
      }
      CAPTURE(open_share / open, got.intercept_factor.value, got.intercept_factor.standard_error);
      // The penumbra of a wide sun at the strip's edge moves the mean by less than 2e-4; the strip itself by 2e-2.
      CHECK(std::fabs(got.intercept_factor.value - open_share / open) <=
            5 * got.intercept_factor.standard_error + 2e-4);
      CHECK(std::fabs(got.intercept_factor.value - 0.98 * open_share / open) >
            5 * got.intercept_factor.standard_error + 2e-4);
    }
  }
}

}  // namespace catoptra
