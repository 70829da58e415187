#include "optics/dielectric.h"

#include <bit>
#include <catch2/catch.hpp>
#include <cmath>

using namespace catoptra;

namespace {

constexpr double degree = pi / 180;

double cosine_of(double angle_deg) {
  return std::cos(angle_deg * degree);
}
double unpolarised(const Interface<double>& face) {
  return (face.s + face.p) / 2;
}

}  // namespace

TEST_CASE("a surface of glass: reflectance over the incidence angle", "[optics][glass]") {
  // Fresnel's equations in their other form, sin^2(i - t)/sin^2(i + t) and tan^2(i - t)/tan^2(i + t): Born and Wolf,
  // Principles of Optics, section 1.5.2; the four six-digit numbers were computed apart.
  for (const auto& [angle_deg, want] : {std::pair{0.0, 0.04}, {45.0, 0.050240}, {60.0, 0.089187}, {75.0, 0.253061}}) {
    CHECK(unpolarised(at_interface(1.5, cosine_of(angle_deg))) == Approx(want).margin(5e-7));
  }
  for (double angle_deg = 1; angle_deg < 90; ++angle_deg) {
    const double i = angle_deg * degree, t = std::asin(std::sin(i) / 1.52);
    const auto face = at_interface(1.52, std::cos(i));
    CHECK(face.cosine == Approx(std::cos(t)).epsilon(1e-14));
    CHECK(face.s == Approx(std::pow(std::sin(i - t) / std::sin(i + t), 2)).epsilon(1e-12));
    CHECK(face.p == Approx(std::pow(std::tan(i - t) / std::tan(i + t), 2)).epsilon(1e-11).margin(1e-15));
    // Back the way that it came: the same shares (Stokes).
    const auto inside = at_interface(1 / 1.52, std::cos(t));
    CHECK(inside.s == Approx(face.s).epsilon(1e-12));
    CHECK(inside.p == Approx(face.p).epsilon(1e-11).margin(1e-15));
  }
}

TEST_CASE("Brewster's angle and the critical angle", "[optics][glass]") {
  CHECK(at_interface(1.5, std::cos(std::atan(1.5))).p < 1e-30);
  CHECK(at_interface(1.5, std::cos(std::atan(1.5) + 1e-4)).p > 1e-10);
  const double critical = std::asin(1 / 1.5);
  const auto beyond = at_interface(1 / 1.5, std::cos(critical + 1e-6));
  CHECK(beyond.s == 1);
  CHECK(beyond.p == 1);
  CHECK(at_interface(1 / 1.5, std::cos(critical - 1e-6)).s < 1);
}

TEST_CASE("a plate is the sum over its internal reflections", "[optics][glass]") {
  // Term by term, each polarisation by itself.
  for (const double absorption : {0.0, 4.0, 32.0, 3000.0}) {
    const Pane pane{1.526, 3e-3, absorption};
    for (const double angle_deg : {0.0, 30.0, 60.0, 85.0, 89.9}) {
      CAPTURE(absorption, angle_deg);
      const double cosine = cosine_of(angle_deg);
      const auto face = at_interface(pane.index, cosine);
      const double left = std::exp(-absorption * 3e-3 / face.cosine);
      const auto got = polarised_shares(pane, cosine);
      for (const auto& [r, shares] : {std::pair{face.s, got.s}, {face.p, got.p}}) {
        double passes = 0, turned = r, inside = (1 - r) * left;
        for (int reflection = 0; reflection < 20000; ++reflection) {
          (reflection % 2 == 0 ? passes : turned) += inside * (1 - r);
          inside *= r * left;
        }
        CHECK(shares.transmitted == Approx(passes).epsilon(1e-12).margin(1e-15));
        CHECK(shares.reflected == Approx(turned).epsilon(1e-12));
        CHECK(shares.transmitted + shares.reflected + shares.absorbed == Approx(1).epsilon(1e-15));
        CHECK(shares.absorbed >= -1e-15);
      }
    }
  }
}

TEST_CASE("a clear pane passes what the closed form says", "[optics][glass]") {
  // (1 - r)/(1 + r) of each polarisation: Duffie and Beckman, Solar Engineering of Thermal Processes, section 5.1; the
  // six-digit numbers were computed apart.
  for (const auto& [angle_deg, want] : {std::pair{0.0, 0.923077}, {45.0, 0.907344}, {60.0, 0.848128}}) {
    CHECK(shares_of(Pane{1.5, 3e-3, 0}, cosine_of(angle_deg)).transmitted == Approx(want).margin(5e-7));
  }
  // Taking the mean of the polarisations after the first face is a mistake that shows: .83623.
  const double mean = unpolarised(at_interface(1.5, cosine_of(60)));
  CHECK(std::fabs((1 - mean) / (1 + mean) - 0.848128) > 0.01);
  const auto grazing = shares_of(Pane{1.5, 3e-3, 0}, 0.0);
  CHECK(grazing.transmitted == 0);
  CHECK(grazing.reflected == 1);
}

TEST_CASE("BK7 from its catalogue's coefficients", "[optics][glass]") {
  // Coefficients and indices at the lines F, d, C: SCHOTT's data sheet of N-BK7.
  constexpr double um2 = 1e-12;
  const Sellmeier bk7{{1.03961212, 0.231792344, 1.01046945},
                      {0.00600069867 * um2, 0.0200179144 * um2, 103.560653 * um2}};
  for (const auto& [wavelength_nm, want] : {std::pair{486.1327, 1.52238}, {587.5618, 1.51680}, {656.2725, 1.51432}}) {
    CHECK(std::sqrt(bk7.squared_index(1e-9 * wavelength_nm)) == Approx(want).margin(5e-6));
  }
}

TEST_CASE("glass in lanes is glass one by one", "[optics][glass]") {
  const Pane pane{1.49, 4e-3, 12};
  for (double cosine = 0; cosine <= 1; cosine += 1 / 128.0) {
    const auto one = shares_of(pane, cosine);
    const auto many = shares_of(pane, Pack(cosine));
    CHECK(std::bit_cast<std::uint64_t>(one.transmitted) == std::bit_cast<std::uint64_t>(many.transmitted.get(1)));
    CHECK(std::bit_cast<std::uint64_t>(one.absorbed) == std::bit_cast<std::uint64_t>(many.absorbed.get(3)));
  }
}
