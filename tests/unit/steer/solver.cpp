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
  Solution best = solver.globally(own_moment(scene), *test::workers(2)), lost{{1, 1, 1}, 0};
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

TEST_CASE("solver: of the poses around, the better branch is taken", "[steer]") {
  const auto& [scene, solver, best, lost] = Solved();
  const Moment sun = own_moment(scene);
  const Solution found = solver.between(sun, std::vector{lost, best});
  CHECK(found.value >= best.value);
  CHECK_FALSE(solver.leaps(sun, best, sun, found));
  CHECK(solver.leaps(sun, lost, sun, found));
  // Where no pose around has light, it stays dark: a look over the whole range is not made here.
  CHECK(solver.between(sun, std::vector{lost}).value == 0);
}

TEST_CASE("solver: moving on, what travel costs is weighed", "[steer]") {
  const Solved known;
  const Moment sun = own_moment(known.scene);
  // Half a degree off: the light moves by 1.3 m x 2 x 9 mrad = 23 mm, more than the disc's half width of 20 mm.
  Solution off = known.best;
  for (std::size_t k : {1, 2}) off.coordinates[k] -= 0.5 / 40;
  const auto moved = [&](double cost_per_m) {
    const PoseSolver solver(known.scene, {.samples = 1 << 12, .travel_cost_per_m = cost_per_m});
    return solver.onward(sun, known.best, off);
  };
  CHECK(moved(0).value >= 0.99 * known.best.value);
  CHECK(moved(1e6).coordinates == off.coordinates);
  const double stays = moved(1e6).value;
  CHECK(stays < 0.9 * known.best.value);
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
