// Builds with errors of their own.
#include "steer/realisations.h"

#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <cmath>

#include "scenes.h"

using namespace catoptra;

namespace {

/// What is drawn for one component of one build, each in units of its rms: all standard normal, all independent.
constexpr BuildErrors drawn_rms{2e-3, 5e-3, 0.01, 0.004};
std::array<double, 8> standard_draws(std::uint64_t seed, std::size_t build, std::size_t component) {
  const DrawnErrors d = drawn_errors(drawn_rms, seed, build, component);
  return {d.pointing_rad.x / 2e-3, d.pointing_rad.y / 2e-3, d.pointing_rad.z / 2e-3, d.position_m.x / 5e-3,
          d.position_m.y / 5e-3,   d.position_m.z / 5e-3,   d.focus / 0.01,          d.curvature_per_m / 0.004};
}

TEST_CASE("drawn errors: Gaussian of the right size, a function of seed, build and component", "[steer]") {
  constexpr std::size_t builds = 4000;
  std::array<double, 8> sum{}, square{}, fourth{};
  std::size_t beyond_two = 0;
  for (std::size_t b = 0; b < builds; ++b) {
    const auto z = standard_draws(7, b, 1);
    for (std::size_t i = 0; i < 8; ++i) {
      sum[i] += z[i];
      square[i] += z[i] * z[i];
      fourth[i] += std::pow(z[i], 4);
      beyond_two += std::fabs(z[i]) > 2;
    }
  }
  // Of n standard normal numbers: mean +- 1 / sqrt(n), variance +- sqrt(2 / n), fourth moment 3 +- sqrt(96 / n).
  for (std::size_t i = 0; i < 8; ++i) {
    CAPTURE(i);
    CHECK(std::fabs(sum[i] / builds) < 4 / std::sqrt(builds));
    CHECK(std::fabs(square[i] / builds - 1) < 4 * std::sqrt(2.0 / builds));
    CHECK(std::fabs(fourth[i] / builds - 3) < 4 * std::sqrt(96.0 / builds));
  }
  // A share of erfc(2 / sqrt 2) lies beyond two rms.
  const double share = std::erfc(std::sqrt(2.0)), n = 8.0 * builds;
  CHECK(std::fabs(static_cast<double>(beyond_two) / n - share) < 4 * std::sqrt(share * (1 - share) / n));
  CHECK(standard_draws(7, 3, 1) == standard_draws(7, 3, 1));
  CHECK(standard_draws(8, 3, 1) != standard_draws(7, 3, 1));
  CHECK(standard_draws(7, 4, 1) != standard_draws(7, 3, 1));
  CHECK(standard_draws(7, 3, 0) != standard_draws(7, 3, 1));
}

TEST_CASE("drawn errors are independent: of each other, of other components, builds and seeds", "[steer]") {
  constexpr std::size_t builds = 4000;
  // For each build 8 numbers each of: three components, the first of them in the next build, and by the next seed.
  constexpr std::size_t count = 40;
  std::vector<std::array<double, count>> drawn(builds);
  for (std::size_t b = 0; b < builds; ++b) {
    const std::array<double, 8> sets[]{standard_draws(7, b, 0), standard_draws(7, b, 1), standard_draws(7, b, 2),
                                       standard_draws(7, b + 1, 0), standard_draws(8, b, 0)};
    for (std::size_t i = 0; i < count; ++i) drawn[b][i] = sets[i / 8][i % 8];
  }
  // The mean product of two independent standard normal numbers is 0 +- 1 / sqrt(n), and so is that of what their
  // squares differ from 1 by, over 2. Of 780 pairs the worst is rarely beyond 4.5 of these errors.
  const auto worst = [&](const auto& of) {
    double out = 0;
    for (std::size_t i = 0; i < count; ++i)
      for (std::size_t j = 0; j < i; ++j) {
        double sum = 0;
        for (const auto& z : drawn) sum += of(z[i], z[j]);
        out = std::max(out, std::fabs(sum) / std::sqrt(builds));
      }
    return out;
  };
  CHECK(worst([](double a, double b) { return a * b; }) < 4.5);
  CHECK(worst([](double a, double b) { return (a * a - 1) * (b * b - 1) / 2; }) < 6);  // a heavier tail
  // Negative twin: a tenth of another number in one is seen.
  for (auto& z : drawn) z[3] = 0.995 * z[3] + 0.1 * z[30];
  CHECK_FALSE(worst([](double a, double b) { return a * b; }) < 4.5);
}

TEST_CASE("percentiles of the builds: order statistics", "[steer]") {
  Realisations realisations;
  for (int k = 99; k >= 1; --k) {  // shares 0.01 ... 0.99, in any order: k / (n + 1) quantiles of an even law
    Realisation build;
    build.absorbed_share = {k / 100.0, 0};
    realisations.builds.push_back(build);
  }
  for (const double below : {0.05, 0.25, 0.5, 0.9}) {
    const Estimate found = share_percentile(realisations, below);
    CHECK(found.value == Approx(below).epsilon(1e-12));
    // An even law's order statistic k of n: variance k (n + 1 - k) / ((n + 1)^2 (n + 2)), a beta distribution's.
    CHECK(found.standard_error == Approx(std::sqrt(below * (1 - below) / 101)).epsilon(0.02));
  }
  CHECK(mean_share(realisations).value == Approx(0.5));
  CHECK(std::isnan(share_percentile(Realisations{}, 0.5).value));
}

/// A dish that may be built wrongly, its receiver where the focus should be; the sun a Gaussian of 3 mrad.
Scene dish(double receiver_diameter_m, double jitter_mrad = 0) {
  return test::read_or_throw(R"(schema = 1
[sun]
azimuth_deg = 180
elevation_deg = 90
shape = { kind = "gaussian", sigma_mrad = 3 }
)" + test::finishes + R"(
[[primary]]
name = "dish"
shape = { kind = "paraboloid", focal_length_m = 5 }
aperture = { kind = "circle", diameter_m = 3 }
finish = "silver"
mount = { kind = "steered", home_m = [0, 0, 0], home_axis = [0, 0, 1], jitter_mrad = )" +
                             std::to_string(jitter_mrad) + R"( }
[[receiver]]
name = "target"
shape = { kind = "disc", diameter_m = )" +
                             std::to_string(receiver_diameter_m) + R"( }
finish = "black"
mount = { kind = "fixed", position_m = [0, 0, 5], axis = [0, 0, -1] }
)");
}

RealisationOptions options_of(std::size_t builds, const BuildErrors& rms) {
  RealisationOptions options;
  options.builds = builds;
  options.rms = rms;
  options.samples = 1 << 13;
  options.replicates = 8;
  options.workers = test::workers(2);
  return options;
}

Schedule schedule_of(const Scene& scene) {
  ScheduleOptions quick;
  quick.samples = 1 << 13;
  quick.replicates = 8;
  return make_schedule(scene, {own_moment(scene)}, quick);
}

TEST_CASE("realisations: pointing errors drawn for each build cost on average what jitter costs", "[steer]") {
  const Scene scene = dish(0.04);
  const Schedule schedule = schedule_of(scene);
  const Realisations builds = trace_realisations(scene, schedule, options_of(400, {2e-3, 0, 0, 0}));
  REQUIRE(builds.builds.size() == 400);
  const Estimate mean = mean_share(builds);
  // The engine's own jitter, which turns each ray's normal; checked against closed forms in tests/statistical.
  const auto absorbed = [](const Scene& s) {
    return trace(s, {.samples = 1 << 18, .seed = 3, .replicates = 32, .paths = 0}).receivers[0].absorbed_power_W;
  };
  const Estimate still = absorbed(scene), jittered = absorbed(dish(0.04, 2));
  const double expected = jittered.value / still.value;
  const double error = std::hypot(mean.standard_error, expected * std::hypot(jittered.standard_error / jittered.value,
                                                                             still.standard_error / still.value));
  INFO("mean " << mean.value << " +- " << mean.standard_error << ", jitter " << expected);
  CHECK(expected < 0.8);  // it is worth comparing
  // Turned as a whole, the dish also moves its surface; by r x 2 mrad: a ten-thousandth of the way to the focus.
  CHECK(std::fabs(mean.value - expected) < 4 * error + 2e-3);
  // Negative twin: half the error is seen.
  const Realisations half = trace_realisations(scene, schedule, options_of(400, {1e-3, 0, 0, 0}));
  CHECK_FALSE(std::fabs(mean_share(half).value - expected) < 4 * error + 2e-3);
  // The spread of builds is what an average hides.
  CHECK(share_percentile(builds, 0.95).value - share_percentile(builds, 0.05).value > 0.3);
}

TEST_CASE("realisations: a wrong focal length spreads the light as the drawn lengths say", "[steer]") {
  const Scene scene = dish(0.06);
  const Realisations builds = [&] {
    RealisationOptions options = options_of(24, {0, 0, 0.02, 0});
    options.samples = 1 << 15;
    return trace_realisations(scene, schedule_of(scene), options);
  }();
  // Light from radius r crosses the focal plane that was meant at (f' - f) tan(psi) off the axis, psi its angle there,
  // tan(psi / 2) = r / (2 f'); the sun spreads it by sigma times the way there.
  const auto share = [](double focus) {
    const double f = 5 * (1 + focus), a = 0.03;
    double caught = 0;
    constexpr int rings = 60;
    for (int i = 0; i < rings; ++i) {
      const double r = 1.5 * std::sqrt((i + 0.5) / rings), psi = 2 * std::atan(r / (2 * f));
      const double d = std::fabs(f - 5) * std::tan(psi), way = (5 - r * r / (4 * f)) / std::cos(psi);
      const double radial = 3e-3 * way / std::cos(psi), across = 3e-3 * way;
      double within = 0;
      constexpr int n = 120;
      for (int j = 0; j < n; ++j)
        for (int k = 0; k < n; ++k) {
          const double p = a * std::sqrt((j + 0.5) / n), t = 2 * pi * (k + 0.5) / n;
          const double x = (p * std::cos(t) - d) / radial, y = p * std::sin(t) / across;
          within += std::exp(-(x * x + y * y) / 2);
        }
      caught += within * a * a / (2 * radial * across) / (n * n) / rings;
    }
    return caught;
  };
  const double sound = share(0);
  int seen = 0;
  for (const Realisation& build : builds.builds) {
    const double focus = build.drawn.at(0).focus, expected = share(focus) / sound;
    INFO("focus " << focus << ": " << build.absorbed_share.value << " +- " << build.absorbed_share.standard_error
                  << ", expected " << expected);
    CHECK(std::fabs(build.absorbed_share.value - expected) < 5 * build.absorbed_share.standard_error + 2e-3);
    if (expected < 0.9) {
      ++seen;
      // Negative twin: the same with a focal length that errs by a quarter more.
      CHECK_FALSE(std::fabs(build.absorbed_share.value - share(1.25 * focus) / sound) <
                  5 * build.absorbed_share.standard_error + 2e-3);
    }
  }
  CHECK(seen > 3);
}

TEST_CASE("realisations: any number of threads gives the same bits; a stop keeps the first builds", "[steer]") {
  const Scene scene = dish(0.05);
  const Schedule schedule = schedule_of(scene);
  RealisationOptions options = options_of(6, {1e-3, 2e-3, 0.01, 0});
  options.samples = 1 << 10;
  options.workers = test::workers(1);
  const Realisations one = trace_realisations(scene, schedule, options);
  options.workers = test::workers(7);
  const Realisations seven = trace_realisations(scene, schedule, options);
  REQUIRE(one.builds.size() == 6);
  for (std::size_t b = 0; b < 6; ++b) {
    CHECK(one.builds[b].absorbed_share.value == seven.builds[b].absorbed_share.value);
    CHECK(one.builds[b].intercept_factor.standard_error == seven.builds[b].intercept_factor.standard_error);
  }
  options.workers = test::workers(1);
  Stop stop;
  options.stop = &stop;
  options.progress = [&](std::size_t done) {
    if (done == 3) stop.ask();
  };
  const Realisations stopped = trace_realisations(scene, schedule, options);
  CHECK(stopped.interrupted());
  REQUIRE(stopped.builds.size() == 3);
  CHECK(stopped.builds[2].absorbed_share.value == one.builds[2].absorbed_share.value);
}

}  // namespace
