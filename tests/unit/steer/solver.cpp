// The solver where the best pose is known in closed form.
#include "steer/solver.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "scenes.h"

using namespace catoptra;

namespace {

/// Where a flat mirror on this mount images the paraboloid's focus.
Vec image_of_focus_m(const SteeredMount& mount) {
  const Vec focus{0, 0, 5}, on_mirror = mount.home_m + mount.offset_m;
  return focus - (2 * dot(focus - on_mirror, mount.axis)) * mount.axis;
}

const Vec target_m{1.2, 0.5, 2.6};

/// The folding mirror's best pose, and one with no light nearby.
struct Solved {
  Scene scene = test::paraboloid_and_fold();
  PoseSolver solver{scene, {.samples = 1 << 12}};
  Solution best = solver.globally(own_moment(scene), *test::workers(2)), lost{{1, 1, 1}, 0, false};
};

TEST_CASE("solver: absorbed power is that of the moment's DNI, which its memory tells from another's", "[steer]") {
  const Solved known;
  const std::vector<std::vector<double>> start{known.best.coordinates};
  SearchMemory memory;
  const PoseSolver solver(known.scene, {.objective = Objective::absorbed_power, .samples = 1 << 10, .memory = &memory});
  Moment bright = own_moment(known.scene), dim = bright;
  dim.dni_W_m2 = bright.dni_W_m2 / 4;  // a power of two, which doubles scale by without rounding
  const double of_bright = solver.nearby(bright, start).value;
  CHECK(of_bright > 0);
  CHECK(solver.nearby(dim, start).value == of_bright / 4);
}

TEST_CASE("solver: a flat mirror folds a paraboloid's focus onto the receiver", "[steer]") {
  // The best plane is the one that halves the way from focus to receiver: the image's centre is its brightest point,
  // and the receiver is smaller than the image. The image is Gaussian with 3 mrad over 5 m and more, w = 15 mm rms or
  // more; off by e, a small receiver gets exp(-(e/w)^2 / 2). The search tells poses apart that differ by some
  // 1/sqrt(8192) of the light, half the rays at the rim of the receiver's part or less: e/w < sqrt(2 * 0.011) = 0.15.
  const Scene scene = test::paraboloid_and_fold();
  const double resolved_m = 0.15 * 0.015;
  SolverOptions options;
  options.objective = Objective::absorbed;
  const PoseSolver solver(scene, options);
  const Solution found = solver.globally(own_moment(scene), *test::workers(2));
  Scene posed = scene;
  solver.freedom().apply(found.coordinates, posed);
  const auto& mount = std::get<SteeredMount>(posed.components[1].mount);
  const Vec image = image_of_focus_m(mount);
  // Along the beam the image has depth: what counts is how far the beam's axis passes from the receiver.
  const Vec beam = unit(image - (mount.home_m + mount.offset_m));
  const double miss_m = length(cross(target_m - image, beam));
  INFO("image at " << image.x << ", " << image.y << ", " << image.z << "; misses by " << miss_m);
  CHECK(miss_m < resolved_m);

  // The closed form, traced with other samples, is no better than the pose found by more than that.
  SteeredMount exact = mount;
  exact.axis = unit(target_m - Vec{0, 0, 5});
  const Vec halfway = 0.5 * (target_m + Vec{0, 0, 5});
  exact.offset_m = {0, 0, halfway.z + (exact.axis.x * halfway.x + exact.axis.y * halfway.y) / exact.axis.z - 3.5};
  CHECK(length(image_of_focus_m(exact) - target_m) < 1e-12);
  TraceOptions trace_options{.samples = 1 << 17, .seed = 99, .paths = 0};
  Scene best = scene;
  best.components[1].mount = exact;
  const double at_best = trace(best, trace_options).optical_efficiency.value;
  const double at_found = trace(posed, trace_options).optical_efficiency.value;
  CHECK(at_found > at_best * 0.985);
  // Negative twin: a mirror turned by a quarter of a degree misses by more, and gets less.
  SteeredMount wrong = exact;
  wrong.axis = unit(exact.axis + 0.0044 * Vec{0, 1, 0});
  CHECK(length(image_of_focus_m(wrong) - target_m) > 5 * resolved_m);
  best.components[1].mount = wrong;
  CHECK_FALSE(trace(best, trace_options).optical_efficiency.value > at_best * 0.985);
}

TEST_CASE("solver: any number of threads finds the same bits", "[steer]") {
  const Scene scene = test::paraboloid_and_fold();
  SolverOptions options;
  options.samples = 1 << 11;
  const PoseSolver solver(scene, options);
  const Solution one = solver.globally(own_moment(scene), *test::workers(1));
  CHECK(solver.globally(own_moment(scene), *test::workers(2)).coordinates == one.coordinates);
  CHECK(solver.globally(own_moment(scene), *test::workers(7)).coordinates == one.coordinates);
}

TEST_CASE("solver: leaves a poor branch for a better one, and says so", "[steer]") {
  const auto& [scene, solver, best, lost] = Solved();
  const Solution next = solver.onward(own_moment(scene), std::vector{lost}, *test::workers(2));
  CHECK(next.branched);
  CHECK(next.value > 0.98 * best.value);
  const Solution same = solver.onward(own_moment(scene), std::vector{best}, *test::workers(2));
  CHECK_FALSE(same.branched);
  CHECK(same.value >= best.value);
}

TEST_CASE("solver: the same hill, climbed a little further, is no branch", "[steer]") {
  // Tilt alone is free: one hill, a tenth of a degree or so wide, where 0.2 of the range, the least way to another, is
  // 8 degrees. Of so few samples each ray is a step of a percent, and climbs end apart in value by more than a branch
  // must gain.
  Scene scene = test::paraboloid_and_fold();
  auto& mount = std::get<SteeredMount>(scene.components[1].mount);
  mount.travel_m = {0, 0, 0};
  mount.offset_m = {0, 0, 0.3};
  for (std::uint64_t seed = 1; seed <= 8; ++seed) {
    CAPTURE(seed);
    const PoseSolver solver(scene, {.samples = 1 << 8, .seed = seed});
    const Solution top = solver.globally(own_moment(scene), *test::workers(2));
    REQUIRE(top.value > 0);
    Solution flank = top;
    for (double& x : flank.coordinates) x += 0.01;
    const Solution next = solver.onward(own_moment(scene), std::vector{flank}, *test::workers(2));
    CHECK_FALSE(PoseSolver::are_apart(next, top));
    CHECK_FALSE(next.branched);
  }
}

TEST_CASE("solver: what a later sun was found on is tried at the one before", "[steer]") {
  const auto& [scene, solver, best, lost] = Solved();
  const auto found = solver.backward(own_moment(scene), lost, best, nullptr);
  REQUIRE(found);
  CHECK(PoseSolver::are_apart(*found, lost));
  CHECK_FALSE(PoseSolver::are_apart(*found, best));
  CHECK(found->value >= best.value);
  CHECK_FALSE(solver.backward(own_moment(scene), best, lost, nullptr));
  CHECK_FALSE(solver.backward(own_moment(scene), *found, best, nullptr));  // the same hill
}

TEST_CASE("solver: nothing free, no room, stopped", "[steer]") {
  Scene scene = test::paraboloid_and_fold();
  auto& mount = std::get<SteeredMount>(scene.components[1].mount);
  mount.clearance_m = 50;
  SolverOptions options;
  options.samples = 1 << 10;
  CHECK_THROWS_AS(PoseSolver(scene, options).globally(own_moment(scene), *test::workers(1)), NoRoom);
  mount.clearance_m = 0;
  Stop stop;
  stop.ask();
  options.stop = &stop;
  CHECK_THROWS_AS(PoseSolver(scene, options).globally(own_moment(scene), *test::workers(1)), Stopped);
  mount = SteeredMount{};
  CHECK_THROWS_AS(PoseSolver(scene, options), std::invalid_argument);
}

}  // namespace
