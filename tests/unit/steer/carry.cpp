// Poses carried from one sun to another in a scene that is alike all round.
#include "steer/carry.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "scene/moment.h"
#include "scenes.h"
#include "steer/solver.h"
#include "trace/trace.h"

using namespace catoptra;

namespace {

Vec sun_at(double azimuth_deg, double elevation_deg) {
  const double a = azimuth_deg * units::degree_rad, e = elevation_deg * units::degree_rad;
  return {std::sin(a) * std::cos(e), std::cos(a) * std::cos(e), std::sin(e)};
}

Estimate traced(Scene scene, const Vec& to_sun, const Freedom& freedom, const std::vector<double>& at) {
  scene.sun.toward = to_sun;
  freedom.apply(at, scene);
  return trace(scene, {.samples = 1 << 17, .seed = 5, .paths = 0}).optical_efficiency;
}

TEST_CASE("carry: a bowl about the vertical is worth the same at every azimuth", "[steer]") {
  const Scene scene = test::read_or_throw(test::small_bowl);
  const Freedom freedom(scene);
  const Carry carry(scene, freedom);
  const Vec south = sun_at(180, 70), west = sun_at(230, 70);
  // Out of the plane of the axis and the sun, so that turned and mirrored differ.
  const std::vector<double> at = {0.1, 0.3, -0.25, 0.05};
  REQUIRE(freedom.size() == at.size());
  const Estimate here = traced(scene, south, freedom, at);
  CHECK(here.value > 0.04);
  const auto differs_by = [&](const std::vector<double>& other) {
    const Estimate there = traced(scene, west, freedom, other);
    return std::fabs(there.value - here.value) / std::hypot(there.standard_error, here.standard_error);
  };
  CHECK(differs_by(carry.turned(at, south, west)) < 4);
  CHECK(differs_by(carry.mirrored(at, south, west)) < 4);
  CHECK(differs_by(carry.mirrored(carry.turned(at, south, west), west, west)) < 4);
  // Negative twins: as it stands, and turned the other way.
  CHECK(differs_by(at) > 10);
  CHECK(differs_by(carry.turned(at, west, south)) > 10);
}

TEST_CASE("carry: there and back is the same pose; the mirror image of a place is known", "[steer]") {
  const Scene scene = test::read_or_throw(test::small_bowl);
  const Freedom freedom(scene);
  const Carry carry(scene, freedom);
  const std::vector<double> at = {0.1, 0.3, -0.25, 0.05};
  const Vec morning = sun_at(110, 40), evening = sun_at(250, 40);
  const auto check_same = [&](const std::vector<double>& one, const std::vector<double>& other) {
    for (std::size_t k = 0; k < one.size(); ++k) CHECK(one[k] == Approx(other[k]).margin(1e-12));
  };
  check_same(carry.turned(carry.turned(at, morning, evening), evening, morning), at);
  check_same(carry.mirrored(carry.mirrored(at, morning, evening), evening, morning), at);
  check_same(carry.turned(at, morning, morning), at);
  // At the meridian plane east and west change places, and with them the turn about north.
  check_same(carry.mirrored(at, morning, evening), {-0.1, 0.3, -0.25, -0.05});
  CHECK(carry.off_axis_rad(morning) == Approx(50 * units::degree_rad));
}

TEST_CASE("carry: what does not fit into the limits is brought back to them", "[steer]") {
  std::string text = test::small_bowl;
  const std::string wide = "travel_m = [2.5, 2.5, 0]";
  text.replace(text.find(wide), wide.size(), "travel_m = [0.5, 2.5, 0]");
  const Scene scene = test::read_or_throw(text);
  const Freedom freedom(scene);
  const auto moved = Carry(scene, freedom).turned(std::vector<double>{0, 0.8, 0, 0}, sun_at(180, 60), sun_at(270, 60));
  CHECK(moved[0] == 1);  // 2 m to the north become 2 m to the east
  CHECK(moved[1] == Approx(0).margin(1e-12));
}

}  // namespace
