// The guide that leads a search to light: its worth where the best pose is known in closed form.
#include "steer/guide.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "scenes.h"
#include "steer/solver.h"
#include "trace/trace.h"

using namespace catoptra;

namespace {

const Vec focus_m{0, 0, 5}, target_m{1.2, 0.5, 2.6};

/// The plane that halves the way from the paraboloid's focus to the target at a right angle, so every ray of the sun's
/// centre meets the target's middle.
SteeredMount folded(const Scene& scene) {
  auto mount = std::get<SteeredMount>(scene.components[1].mount);
  mount.axis = unit(target_m - focus_m);
  const Vec halfway = 0.5 * (target_m + focus_m);
  mount.offset_m = {0, 0, dot(mount.axis, halfway) / mount.axis.z - mount.home_m.z};
  return mount;
}

double guide_at(Scene scene, const SteeredMount& mount) {
  scene.components[1].mount = mount;
  return Guide(scene)(place(scene, scene.sun.toward));
}

TEST_CASE("guide: 1 where every ray meets the receiver's middle, less the further it passes", "[steer]") {
  const Scene scene = test::paraboloid_and_fold();
  const SteeredMount exact = folded(scene);
  CHECK(guide_at(scene, exact) == Approx(1).margin(1e-9));
  // Turned by e about x, the mirror sends the image 2 e d aside, d its distance; worth r / (r + miss) of 0.9 then, r
  // half the diagonal of the 4 cm disc's bounds, a tenth for having met the mirror.
  const double d = length(focus_m - (exact.home_m + exact.offset_m));
  double last = 1;
  for (const double e : {0.01, 0.05, 0.2}) {
    SteeredMount turned = exact;
    const Vec side = unit(cross(exact.axis, unit(focus_m)));
    turned.axis = std::cos(e) * exact.axis + std::sin(e) * side;
    const double r = 0.02 * std::sqrt(2.0), miss = d * std::sin(2 * e);
    const double found = guide_at(scene, turned);
    INFO(e << ": " << found << ", of one ray along the axis " << 0.1 + 0.9 * r / (r + miss));
    CHECK(found < last);
    CHECK(found > 0.1);
    // The mean over a cone of rays of a convex function of the miss, all of which pass within a tenth of the axis' own.
    CHECK(found == Approx(0.1 + 0.9 * r / (r + miss)).epsilon(0.1));
    last = found;
  }
}

TEST_CASE("guide: a mirror beside the light is worth up to a tenth, more the nearer it stands", "[steer]") {
  Scene scene = test::paraboloid_and_fold();
  auto& travel = std::get<SteeredMount>(scene.components[1].mount).travel_m;
  travel = {50, 50, 0.5};
  SteeredMount mount = folded(scene);
  double last = 0.1;
  for (const double east : {4.0, 10.0, 40.0}) {
    mount.offset_m.x = east;
    const double found = guide_at(scene, mount);
    CHECK(found < last);
    CHECK(found > 0);
    last = found;
  }
}

TEST_CASE("guide: nothing where no primary faces the sun", "[steer]") {
  Scene scene = test::paraboloid_and_fold();
  Layout layout = place(scene, scene.sun.toward);
  layout.to_sun = {0, 0, -1};
  CHECK(Guide(scene)(layout) == 0);
}

TEST_CASE("solver: finds a spot of light that no survey of the box meets", "[steer]") {
  // A receiver of 4 mm in a sun of 0.1 mrad: each tilt must be right to a milliradian, of 60 degrees to either side,
  // the height to millimetres. The dish is written as a shape that the bisector does not know, so that start is
  // missing: without the guide nothing was found, with any number of samples.
  const Scene scene = test::paraboloid_and_fold(
      "0.1", "0.004", "60",
      "shape = { kind = \"asphere\", radius_of_curvature_m = 10, conic_constant = -1, diameter_m = 3 }");
  SolverOptions options;
  options.samples = 1 << 11;
  const PoseSolver solver(scene, options);
  const auto absorbed = [&](const Scene& posed) {
    return trace(posed, {.samples = 1 << 15, .seed = 99, .paths = 0}).optical_efficiency.value;
  };
  Scene best = scene, found = scene;
  best.components[1].mount = folded(scene);
  solver.freedom().apply(solver.globally(own_moment(scene), *test::workers(2)).coordinates, found);
  CHECK(absorbed(scene) == 0);
  CHECK(absorbed(best) > 0.5);  // all but the fold's own shadow
  CHECK(absorbed(found) > 0.98 * absorbed(best));
}

}  // namespace
