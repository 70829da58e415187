#include "steer/schedule.h"

#include <algorithm>
#include <atomic>
#include <catch2/catch.hpp>
#include <cmath>

#include "scenes.h"

using namespace catoptra;
using Catch::Matchers::Contains;

namespace {

constexpr double degree = units::degree_rad;

ScheduleOptions quick() {
  ScheduleOptions options;
  options.solver.samples = 1 << 11;
  options.samples = 1 << 14;
  options.replicates = 8;
  options.workers = test::workers(2);
  return options;
}

/// Five suns about noon, half an hour apart.
std::vector<Moment> about_noon(const Scene& scene) {
  std::vector<Moment> out;
  for (const auto& sun : moments_of_day(station_of(scene), {2026, 6, 21, 60}, 1800, 70 * degree)) out.push_back(sun);
  return out;
}

TEST_CASE("schedule: the same bits for 1, 2 and 7 threads; rates and final numbers", "[steer]") {
  const Scene scene = test::read_or_throw(test::small_bowl);
  const auto suns = about_noon(scene);
  REQUIRE(suns.size() == 5);
  ScheduleOptions options = quick();
  std::atomic<std::size_t> most_done = 0;
  options.progress = [&](std::size_t done) { most_done = std::max(most_done.load(), done); };
  const Schedule two = make_schedule(scene, suns, options);
  CHECK(most_done == 5);
  REQUIRE(two.rows.size() == 5);
  CHECK_FALSE(two.interrupted());
  CHECK(two.components == std::vector<std::string>{"pilot"});
  for (const int threads : {1, 7}) {
    options.workers = test::workers(threads);
    const Schedule other = make_schedule(scene, suns, options);
    for (std::size_t i = 0; i < 5; ++i) {
      CHECK(other.rows[i].poses[0].offset_m == two.rows[i].poses[0].offset_m);
      CHECK(other.rows[i].poses[0].axis == two.rows[i].poses[0].axis);
      CHECK(other.rows[i].result.optical_efficiency.value == two.rows[i].result.optical_efficiency.value);
    }
  }
  CHECK(std::isnan(two.rows[0].poses[0].velocity_m_s.x));
  for (std::size_t i = 1; i < 5; ++i) {
    const ScheduledPose &here = two.rows[i].poses[0], &before = two.rows[i - 1].poses[0];
    CHECK(length(1800.0 * here.velocity_m_s - (here.offset_m - before.offset_m)) < 1e-12);
    CHECK(std::cos(1800 * here.turn_rate_rad_s) == Approx(dot(here.axis, before.axis)).epsilon(1e-12));
    CHECK(length(here.position_m - here.offset_m - Vec{0, 0, 3.4}) < 1e-12);
    // The sun goes from east to west, its image the other way, and the mirror after it.
    CHECK(here.offset_m.x > before.offset_m.x);
  }
  // The final numbers are those of a trace of the pose with the sun's own seed; the first sun's is the next one.
  CHECK(two.rows[0].result.seed == options.solver.seed + 1);
  const TraceResult again =
      trace(scene_at(scene, two, 3),
            {.samples = 1 << 14, .seed = sun_seed(options.solver.seed + 1, 3), .replicates = 8, .paths = 0});
  CHECK(two.samples == again.samples);
  CHECK(again.optical_efficiency.value == two.rows[3].result.optical_efficiency.value);
  CHECK(again.intercept_factor.standard_error == two.rows[3].result.intercept_factor.standard_error);
}

TEST_CASE("schedule: smooth motion travels less and costs little", "[steer]") {
  const Scene scene = test::read_or_throw(test::small_bowl);
  const auto suns = about_noon(scene);
  ScheduleOptions options = quick();
  const auto way_m = [](const Schedule& schedule) {
    double sum_m = 0;
    for (std::size_t i = 1; i < schedule.rows.size(); ++i)
      sum_m += length(schedule.rows[i].poses[0].offset_m - schedule.rows[i - 1].poses[0].offset_m);
    return sum_m;
  };
  const Schedule free = make_schedule(scene, suns, options);
  options.solver.travel_cost_per_m = 0.2;
  const Schedule smooth = make_schedule(scene, suns, options);
  CHECK(way_m(smooth) < way_m(free));
  options.solver.travel_cost_per_m = 100;  // no move is worth it
  CHECK(way_m(make_schedule(scene, suns, options)) == 0);
}

TEST_CASE("schedule: a stop keeps the suns that are done", "[steer]") {
  const Scene scene = test::read_or_throw(test::small_bowl);
  const auto suns = about_noon(scene);
  ScheduleOptions options = quick();
  options.workers = test::workers(1);
  Stop stop;
  options.solver.stop = &stop;
  options.progress = [&](std::size_t done) {
    if (done == 3) stop.ask();
  };
  const Schedule part = make_schedule(scene, suns, options);
  CHECK(part.interrupted());
  REQUIRE(part.rows.size() == 3);
  CHECK(part.rows[0].sun.posix_s < part.rows[1].sun.posix_s);
  options.progress = {};
  CHECK(make_schedule(scene, suns, options).rows.empty());
}

TEST_CASE("schedule: suns between the knots are those of a search, and cost no more than a look", "[steer]") {
  const Scene scene = test::read_or_throw(test::small_bowl);
  ScheduleOptions options = quick();
  const auto suns = about_noon(scene);
  const auto often = moments_of_day(station_of(scene), {2026, 6, 21, 60}, 300, 70 * degree);
  const Schedule half_hours = make_schedule(scene, suns, options), minutes = make_schedule(scene, often, options);
  REQUIRE(minutes.rows.size() == often.size());
  std::size_t met = 0;
  for (const ScheduleRow& row : half_hours.rows) {
    const auto same =
        std::ranges::find(minutes.rows, row.sun.posix_s, [](const ScheduleRow& r) { return r.sun.posix_s; });
    REQUIRE(same != minutes.rows.end());
    ++met;
    const Estimate &one = row.result.optical_efficiency, &other = same->result.optical_efficiency;
    CHECK(other.value > one.value * 0.99 - 4 * std::hypot(one.standard_error, other.standard_error));
  }
  CHECK(met == suns.size());
  for (std::size_t i = 1; i < minutes.rows.size(); ++i)
    CHECK(length(minutes.rows[i].poses[0].offset_m - minutes.rows[i - 1].poses[0].offset_m) < 0.3);
}

TEST_CASE("schedule: a scene that is alike on both sides of the meridian has a day that is so too", "[steer]") {
  // The best of the morning, mirrored, is as good in the afternoon: what the one finds, the other must find.
  const Scene scene = test::read_or_throw(test::small_bowl);
  std::vector<Moment> suns;
  for (int hour = -5; hour <= 5; ++hour) {
    const double angle = hour * 13 * degree;  // about the axis of a day at the equinox, at 40 degrees of latitude
    const double c = std::cos(40 * degree), s = std::sin(40 * degree);
    suns.push_back(
        {.to_sun = {std::sin(angle), -s * std::cos(angle), c * std::cos(angle)}, .posix_s = 3600.0 * hour + 43200});
  }
  for (const std::uint64_t seed : {1, 2, 3}) {
    CAPTURE(seed);
    ScheduleOptions options = quick();
    options.solver.seed = seed;
    options.samples = 1 << 16;
    options.replicates = 16;
    const Schedule day = make_schedule(scene, suns, options);
    REQUIRE(day.rows.size() == suns.size());
    double best = 0;
    for (const ScheduleRow& row : day.rows) best = std::max(best, row.result.optical_efficiency.value);
    for (std::size_t i = 0; i < suns.size() / 2; ++i) {
      CAPTURE(i);
      const Estimate &morning = day.rows[i].result.optical_efficiency,
                     &evening = day.rows[suns.size() - 1 - i].result.optical_efficiency;
      if (std::max(morning.value, evening.value) < 0.02 * best) continue;
      const double error = std::hypot(morning.standard_error, evening.standard_error);
      CHECK(std::fabs(morning.value - evening.value) < 0.01 * best + 4 * error);
    }
  }
}

TEST_CASE("schedule: the scene's own sun needs no site", "[steer]") {
  const Scene scene = test::paraboloid_and_fold();
  const Schedule schedule = make_schedule(scene, {own_moment(scene)}, quick());
  REQUIRE(schedule.rows.size() == 1);
  CHECK(std::isnan(schedule.rows[0].sun.posix_s));
  CHECK(schedule.rows[0].result.intercept_factor.value > 0.5);
}

}  // namespace
