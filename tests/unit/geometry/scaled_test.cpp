// A surface made larger: similar figures.
#include "geometry/scaled.h"

#include <catch2/catch.hpp>

using namespace catoptra;

namespace {

TEST_CASE("a scaled conic is the similar figure about its vertex", "[geometry]") {
  for (const double q : {-2.0, 0.0, 0.4, 1.0}) {
    const Conic small{0.1, q};
    const Conic large = std::get<Conic>(*scaled(AnySurface(small), 1.25));
    for (const double r : {0.5, 2.0, 6.0}) {
      CHECK(large.sag(1.25 * r, 0.0) == Approx(1.25 * small.sag(r, 0.0)).epsilon(1e-14));
      const Vec here = small.normal(Vec{r, 0, small.sag(r, 0.0)});
      const Vec there = large.normal(1.25 * Vec{r, 0, small.sag(r, 0.0)});
      CHECK(length(here - there) < 1e-14);
    }
  }
  const Trough trough = std::get<Trough>(*scaled(AnySurface(Trough{0.1, 1}), 1.25));
  CHECK(trough.sag(1.25 * 3, 7.0) == Approx(1.25 * Trough{0.1, 1}.sag(3.0, 0.0)).epsilon(1e-14));
}

TEST_CASE("a scaled corrector is the similar figure about its focus", "[geometry]") {
  // A bowl of radius 1 with the focus at its centre: check value derived in docs/theory/correctors.md.
  const CorrectorDesign design{1, 1, 1, 1.05, 0.45};
  for (const bool round : {true, false}) {
    const FocalProfile profile(design, round);
    const double factor = 1.1;
    const FocalProfile larger = profile.scaled(factor);
    CHECK(larger.measure() == Approx(profile.measure() * (round ? factor * factor : factor)).epsilon(1e-14));
    CHECK(larger.vertex_m() == Approx(factor * profile.vertex_m()).epsilon(1e-14));
    CHECK(larger.rim_cosine() == profile.rim_cosine());
    for (const double c : {-0.9, -0.2, 0.5, 0.99})
      if (c > profile.rim_cosine())
        CHECK(factor * larger.inverse(c).value == Approx(profile.inverse(c).value).epsilon(1e-14));
  }
  // Sound as a surface too: a ray from the focus meets it `factor` times as far away, and its light comes back to a
  // point only where the primary's beam stays what it was, which is another matter.
  const Corrector cup(std::make_shared<const FocalProfile>(design, true));
  const auto large = std::get<Corrector>(*scaled(AnySurface(cup), 1.1));
  const Vec up = unit(Vec{0.2, -0.1, 1});
  const double near_m = cup.first_hit_m(Vec{0, 0, 0}, up, false), far_m = large.first_hit_m(Vec{0, 0, 0}, up, false);
  CHECK(far_m == Approx(1.1 * near_m).epsilon(1e-12));
  CHECK(length(cup.normal(near_m * up) - large.normal(far_m * up)) < 1e-11);
  CHECK(large.box(Whole{}).high.z == Approx(1.1 * cup.box(Whole{}).high.z).epsilon(1e-5));
}

TEST_CASE("what has no focal length, and how small a sphere can be", "[geometry]") {
  CHECK_FALSE(scaled(AnySurface(Plane{}), 2));
  CHECK_FALSE(scaled(AnySurface(Ball{}), 2));
  CHECK_FALSE(scaled(AnySurface(Cylinder{}), 2));
  CHECK(least_scale(Conic{0.1, 1}, Ring{0, 6, {0, 0}}) == Approx(0.6));  // r / R
  CHECK(least_scale(Trough{0.1, 1}, Rectangle{4, 50, {0, 0}}) == Approx(0.4));
  CHECK(least_scale(Conic{0.1, 0}, Ring{0, 60, {0, 0}}) == 0);
}

}  // namespace
