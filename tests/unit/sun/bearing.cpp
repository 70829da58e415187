// Directions by azimuth and elevation, there and back.
#include "sun/bearing.h"

#include <catch2/catch.hpp>
#include <cmath>

using namespace catoptra;

TEST_CASE("azimuths count from north by east, elevations from the horizon", "[sun]") {
  constexpr double degree = 3.14159265358979323846 / 180;
  const auto is = [](const Vec& got, const Vec& wanted) { CHECK(length(got - wanted) < 1e-15); };
  is(direction_of(0, 0), {0, 1, 0});
  is(direction_of(90 * degree, 0), {1, 0, 0});
  is(direction_of(180 * degree, 45 * degree), {0, -std::sqrt(0.5), std::sqrt(0.5)});
  is(direction_of(30 * degree, 60 * degree), {0.25, std::sqrt(3.0) / 4, std::sqrt(3.0) / 2});
  for (const double azimuth : {0.0, 30.0, 150.0, 210.0, 359.0}) {
    for (const double elevation : {-80.0, 0.0, 12.5, 89.0}) {
      const Vec there = 3.0 * direction_of(azimuth * degree, elevation * degree);
      CHECK(azimuth_deg(there) == Approx(azimuth).margin(1e-12));
      CHECK(elevation_deg(there) == Approx(elevation).margin(1e-12));
    }
  }
  CHECK(azimuth_deg({-1, 0, 0}) == Approx(270));
}
