// Schedules of what follows a law: the law's own poses, and what they bring.
#include <catch2/catch.hpp>
#include <cmath>
#include <set>

#include "scene/steered_pose.h"
#include "scenes.h"
#include "steer/schedule.h"
#include "steer/spoil.h"

using namespace catoptra;

namespace {

/// A bowl of 10 m radius, more than wide enough for a cup that turns about its centre with the sun.
const std::string cup_scene = R"(schema = 1
[site]
latitude_deg = 31.2
longitude_deg = -7.9
[sun]
at = 2026-06-21T13:30:00+01:00
shape = { kind = "disc" }
)" + test::finishes + R"(
[[primary]]
name = "bowl"
shape = { kind = "sphere", radius_m = 10 }
aperture = { kind = "circle", diameter_m = 18 }
finish = "silver"
mount = { kind = "fixed", position_m = [1, 2, 3] }
[[secondary]]
name = "cup"
shape = { kind = "corrector", primary = "bowl", focus_m = 10, through_m = 10.4, beam_diameter_m = 8 }
finish = "silver"
mount = { kind = "turn_about_centre", primary = "bowl" }
[[receiver]]
name = "ball"
shape = { kind = "ball", radius_m = 0.2 }
finish = "black"
mount = { kind = "fixed", position_m = [1, 2, 13] }
)";

ScheduleOptions quick() {
  ScheduleOptions options;
  options.samples = 1 << 15;
  options.replicates = 8;
  options.workers = test::workers(2);
  return options;
}

TEST_CASE("a law's schedule: the centre cup turns with the sun and brings the same all day", "[steer]") {
  const Scene scene = test::read_or_throw(cup_scene);
  const auto suns = moments_of_day(station_of(scene), {2026, 6, 21, 60}, 1800, 55 * units::degree_rad);
  REQUIRE(suns.size() > 6);
  const Schedule schedule = make_schedule(scene, suns, quick());
  REQUIRE(schedule.rows.size() == suns.size());
  CHECK_FALSE(schedule.searched);
  CHECK(schedule.search_samples == 0);
  CHECK(schedule.components == std::vector<std::string>{"cup"});
  CHECK(schedule.by_law == 1);
  const auto absorbed_W = [&](std::size_t i) { return schedule.rows[i].result.receivers[0].absorbed_power_W; };
  for (std::size_t i = 0; i < suns.size(); ++i) {
    const ScheduledPose& pose = schedule.rows[i].poses.at(0);
    // About the centre of curvature, 10 m above the bowl's vertex, along the sun's axis.
    CHECK(length(pose.position_m - Vec{1, 2, 13}) < 1e-12);
    CHECK(length(pose.axis - suns[i].to_sun) < 1e-12);
    CHECK(pose.offset_m == Vec{0, 0, 0});
    // The whole beam of the cup lies in the bowl (its half angle is 23.6 degrees, the bowl's 64.2, the sun 35 from the
    // zenith at most): spherical symmetry says that it catches the same, but for light from outside the beam.
    const Estimate here = absorbed_W(i), noon = absorbed_W(suns.size() / 2);
    INFO(here.value << " +- " << here.standard_error << ", noon " << noon.value << " +- " << noon.standard_error);
    CHECK(std::fabs(here.value - noon.value) < 5 * std::hypot(here.standard_error, noon.standard_error));
    if (i > 0)  // the sun's own rate: 15 degrees an hour about the pole, times the cosine of its declination
      CHECK(pose.turn_rate_rad_s == Approx(2 * pi / 86400 * std::cos(23.44 * units::degree_rad)).epsilon(2e-3));
  }
  // Negative twin: with the cup held as it stands at noon, the first sun of these brings far less.
  Scene stuck = scene;
  stuck.sun.toward = suns[suns.size() / 2].to_sun;
  stuck = held(stuck);
  const auto first =
      trace_schedule(stuck, {suns.front()}, {{}}, quick()).rows.at(0).result.receivers[0].absorbed_power_W;
  CHECK(first.value < 0.5 * absorbed_W(0).value);
}

TEST_CASE("a schedule says the samples that were traced, and each sun has its own", "[steer]") {
  const Scene scene = test::read_or_throw(cup_scene);
  ScheduleOptions options = quick();
  options.samples = 1;
  const auto suns = moments_of_day(station_of(scene), {2026, 6, 21, 60}, 3600, 55 * units::degree_rad);
  const Schedule schedule = make_schedule(scene, suns, options);
  REQUIRE(schedule.rows.size() > 2);
  CHECK(schedule.samples == 8 * 256);  // a bundle of 256 in each of eight replicates
  std::set<std::uint64_t> seeds;
  for (const auto& row : schedule.rows) {
    CHECK(row.result.samples == schedule.samples);
    seeds.insert(row.result.seed);
  }
  CHECK(seeds.size() == schedule.rows.size());
  CHECK(schedule.rows.front().result.seed == options.solver.seed + 1);
}

TEST_CASE("errors of two suns are independent", "[steer]") {
  // By symmetry the centre cup brings the same at any of these suns (see above), so equal samples would make equal
  // errors: the spread of the suns' estimates about their mean must be that of their standard errors. chi-square of 24
  // suns, 23 degrees of freedom; 0.999 quantile 49.73, 0.001 quantile 8.0 (scipy.stats.chi2.ppf).
  const Scene scene = test::read_or_throw(cup_scene);
  ScheduleOptions options = quick();
  options.replicates = 32;
  const auto suns = moments_of_day(station_of(scene), {2026, 6, 21, 60}, 600, 55 * units::degree_rad);
  REQUIRE(suns.size() >= 24);
  const auto spread = [&](auto seed_of) {
    double sum = 0, square = 0, variance = 0;
    for (std::size_t i = 0; i < 24; ++i) {
      Scene here = scene;
      here.sun.toward = {0, 0, 1};
      const Estimate e = trace(here, {.samples = 1 << 13, .seed = seed_of(i), .replicates = 32, .paths = 0})
                             .receivers[0]
                             .absorbed_power_W;
      sum += e.value, square += e.value * e.value, variance += e.standard_error * e.standard_error;
    }
    return (square - sum * sum / 24) / (variance / 24);
  };
  const double apart = spread([](std::size_t i) { return sun_seed(5, i); });
  CHECK(apart > 8.0);
  CHECK(apart < 49.73);
  CHECK(spread([](std::size_t) { return std::uint64_t{5}; }) < 1e-6);  // negative twin: a seed for all
}

TEST_CASE("rates hold from sun to sun of a day, not over nights and months", "[steer]") {
  const Scene scene = test::read_or_throw(cup_scene);
  auto suns = moments_of_day(station_of(scene), {2026, 6, 21, 60}, 3600, 55 * units::degree_rad);
  const std::size_t a_day = suns.size();
  REQUIRE(a_day > 2);
  const auto next = moments_of_day(station_of(scene), {2026, 7, 21, 60}, 3600, 55 * units::degree_rad);
  suns.insert(suns.end(), next.begin(), next.end());
  const Schedule schedule = make_schedule(scene, suns, quick());
  for (std::size_t i = 0; i < schedule.rows.size(); ++i) {
    CAPTURE(i);
    const bool first = i == 0 || i == a_day;
    CHECK(std::isnan(schedule.rows[i].poses.at(0).turn_rate_rad_s) == first);
    CHECK(std::isnan(schedule.rows[i].poses.at(0).velocity_m_s.x) == first);
  }
  // Two suns of one day with a night between: some hours after midnight in the high north, and the evening.
  std::vector<Moment> night{{unit(Vec{1, 0, 0.5}), 1000, 0}, {unit(Vec{-1, 0, 0.5}), 40000, 0}};
  CHECK(std::isnan(make_schedule(scene, night, quick()).rows.at(1).poses.at(0).turn_rate_rad_s));
}

TEST_CASE("held: what follows a law stands where the law has it, and can be moved", "[steer]") {
  const std::string mounts[] = {
      R"(mount = { kind = "turn_about_centre", primary = "bowl", position_m = [0.1, 0.2, 0.3], axis = [0, 0.1, 1], roll_deg = 20 })",
      R"(mount = { kind = "two_axis", pivot_m = [1, 2, 13], bias_mrad = [3, 1] })",
      R"(mount = { kind = "single_axis", pivot_m = [1, 2, 13], rotation_axis = [0, 1, 0], jitter_mrad = 2 })",
      R"(mount = { kind = "heliostat", position_m = [1, 2, 13], aim = "ball" })",
  };
  const std::string was = R"(mount = { kind = "turn_about_centre", primary = "bowl" })";
  for (const auto& mount : mounts) {
    INFO(mount);
    std::string text = cup_scene;
    text.replace(text.find(was), was.size(), mount);
    if (mount.find("heliostat") != mount.npos) {  // it must not aim at where it stands
      const std::string place = "position_m = [1, 2, 13] }\n";
      text.replace(text.rfind(place), place.size(), "position_m = [5, 2, 16] }\n");
    }
    Scene scene = test::read_or_throw(text);
    scene.sun.toward = unit(Vec{0.3, -0.4, 0.8});
    const Scene still = held(scene);
    REQUIRE(std::holds_alternative<SteeredMount>(still.components[1].mount));
    CHECK(std::holds_alternative<FixedMount>(still.components[0].mount));
    const Frame law = place(scene, scene.sun.toward).placed[1].frame;
    for (const Vec& sun : {scene.sun.toward, Vec{0, 0, 1}}) {  // whatever the sun does
      const Frame frame = place(still, sun).placed[1].frame;
      CHECK(length(frame.origin - law.origin) < 1e-12);
      CHECK(length(frame.ex - law.ex) < 1e-12);
      CHECK(length(frame.ez - law.ez) < 1e-12);
    }
    const PerAxis jitter = tracking_jitter(scene.components[1].mount);
    CHECK(tracking_jitter(still.components[1].mount).x == jitter.x);
    CHECK(tracking_jitter(still.components[1].mount).y == jitter.y);
    // Errors: a turn about its own axes by 1 mrad, a shift by 1 mm.
    for (int axis = 0; axis < 3; ++axis) {
      Scene wrong = still;
      point_wrongly(wrong, 1, axis, 1e-3);
      const Frame turned = place(wrong, {0, 0, 1}).placed[1].frame;
      const Vec about[] = {law.ex, law.ey, law.ez};
      CHECK(length(turned.ex - law.ex - 1e-3 * cross(about[axis], law.ex)) < 1e-6);
      CHECK(length(turned.ez - law.ez - 1e-3 * cross(about[axis], law.ez)) < 1e-6);
      move_wrongly(wrong, 1, axis, 1e-3);
      const Vec shift = place(wrong, {0, 0, 1}).placed[1].frame.origin - law.origin;
      CHECK(length(shift - 1e-3 * Vec{axis == 0 ? 1.0 : 0.0, axis == 1 ? 1.0 : 0.0, axis == 2 ? 1.0 : 0.0}) < 1e-12);
    }
  }
}

}  // namespace
