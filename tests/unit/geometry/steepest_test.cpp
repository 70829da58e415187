// How steep surfaces are inside their outlines.
#include <catch2/catch.hpp>
#include <cmath>

#include "geometry/surface.h"

using namespace catoptra;

TEST_CASE("a trough is steepest at its edge, however long it is", "[geometry]") {
  // A circle's slope at x has the sine |x| / R, a parabola's x^2 / 4f the tangent |x| / 2f.
  const auto is = [](double x) { return Approx(x).epsilon(1e-14); };
  for (const double half_length : {0.1, 2.0, 500.0}) {
    CAPTURE(half_length);
    CHECK(Trough{1 / 3.0, 1}.steepest_sine(Rectangle{2.8, half_length, {}}) == is(2.8 / 3));
    CHECK(Trough{-1 / 3.0, 1}.steepest_sine(Rectangle{1, half_length, {-1.5, 7}}) == is(2.5 / 3));
    CHECK(Trough{1 / 4.0, 0}.steepest_sine(Rectangle{3, half_length, {}}) == is(0.6));
  }
  CHECK(Trough{1 / 3.0, 1}.steepest_sine(Ring{0, 2, {0.5, 40}}) == is(2.5 / 3));
  CHECK(std::isnan(Trough{1 / 3.0, 1}.steepest_sine(Rectangle{3.1, 1, {}})));  // wider than its circle
}
