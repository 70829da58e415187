// Is a standard error what it says? Many short runs of a scene whose answer is known.
#include <algorithm>
#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>

#include "statistical/dish_image.h"
#include "statistical/estimates.h"

using namespace catoptra;
using namespace catoptra::test;

namespace {

constexpr double focal_m = 10, hole_m = 0.2, rim_deg = 60;

/// A dish whose focal disc is as large as the sun's paraxial image.
Scene small_disc() {
  const double r = focal_m * std::tan(sun_rad);
  return scene_of(
      head(disc_sun) +
      component("primary", "dish",
                fmt::format("shape = {{ kind = \"paraboloid\", focal_length_m = {} }}\nfinish = \"silver\"\n"
                            "aperture = {{ kind = \"annulus\", outer_diameter_m = {}, inner_diameter_m = {} }}\n"
                            "mount = {{ kind = \"fixed\" }}",
                            focal_m, 4 * focal_m * std::tan(rim_deg * degree_rad / 2), 2 * hole_m)) +
      component("receiver", "target",
                fmt::format("shape = {{ kind = \"disc\", diameter_m = {} }}\nfinish = \"black\"\n"
                            "mount = {{ kind = \"fixed\", position_m = [0, 0, {}], axis = [0, 0, -1] }}",
                            2 * r, focal_m)));
}

}  // namespace

TEST_CASE("standard errors of the intercept factor are honest", "[statistical][errors]") {
  const double r = focal_m * std::tan(sun_rad);
  const double truth = reference::dish_intercept(rim_deg * degree_rad, focal_m, hole_m, r, reference::Stray::disc_sun,
                                                 std::sin(sun_rad));
  const Scene scene = small_disc();
  constexpr int seeds = 40;
  for (const int replicates : {8, 32}) {
    INFO(replicates << " replicates");
    // (value - truth) / error follows Student's t; each is turned into a standard Gaussian of the same rank, so their
    // squares add up to a chi-square of 40 degrees.
    const boost::math::students_t student(replicates - 1);
    std::vector<Estimate> runs;
    for (int seed = 1; seed <= seeds; ++seed) {
      TraceOptions options;
      options.samples = 256ull * static_cast<unsigned>(replicates);
      options.replicates = replicates;
      options.seed = static_cast<std::uint64_t>(seed);
      options.paths = 0;
      runs.push_back(trace(scene, options).intercept_factor);
    }
    const auto chi_square = [&](double factor) {
      double sum = 0;
      for (const Estimate& got : runs) {
        const double t = std::fabs(got.value - truth) / (factor * got.standard_error);
        const double tail = std::max(boost::math::cdf(boost::math::complement(student, t)), 1e-300);
        sum += std::pow(boost::math::quantile(boost::math::complement(boost::math::normal(), tail)), 2);
      }
      return sum;
    };
    const boost::math::chi_squared law(seeds);
    const auto chance = [&](double sum) {
      const double below = boost::math::cdf(law, sum);
      return 2 * std::min(below, 1 - below);
    };
    CHECK(chance(chi_square(1)) > 1e-4);
    CHECK(chance(chi_square(0.5)) < 1e-4);  // errors that claim half
    CHECK(chance(chi_square(3)) < 1e-4);    // or three times as much
  }
}

TEST_CASE("pseudo-random numbers give the same mean, at more samples for the same error", "[statistical][errors]") {
  const Scene scene = small_disc();
  const TraceOptions sobol{.samples = 1 << 18, .paths = 0};
  const TraceOptions plain{.samples = 1 << 18, .numbers = Numbers::pseudo_random, .paths = 0};
  const Estimate a = trace(scene, sobol).intercept_factor, b = trace(scene, plain).intercept_factor;
  CHECK(std::fabs(a.value - b.value) < 5 * std::hypot(a.standard_error, b.standard_error));
  // Two variances from 31 degrees of freedom each differ by chance by a factor above 2.5 once in 100 (the F
  // distribution); nine tenths of Sobol's gain would be lost before this fails.
  CHECK(b.standard_error * b.standard_error > 1.5 * a.standard_error * a.standard_error);
}
