#include "sun/sunshape.h"

#include <catch2/catch.hpp>
#include <stdexcept>

#include "sun/radial_law.h"
#include "sun/sampler.h"
#include "unit/sun/reference_law.h"

using namespace catoptra;
using Catch::Matchers::Contains;

TEST_CASE("the sun's half-angle is asin(R / 1 au)", "[sun]") {
  // IAU 2015 resolution B3: R = 695,700 km. IAU 2012 resolution B2: 1 au = 149,597,870,700 m.
  CHECK(DiscSun{}.half_angle_rad == Approx(std::asin(695700e3 / 149597870700.0)).epsilon(1e-15));
}

TEST_CASE("every sunshape has a kind of its own", "[sun]") {
  std::vector<std::string_view> kinds;
  for (const AnySunshape& shape : {AnySunshape(DiscSun{}), AnySunshape(PointSun{}), AnySunshape(LimbDarkenedSun{}),
                                   AnySunshape(GaussianSun{}), AnySunshape(BuieSun{}), AnySunshape(TableSun{})}) {
    kinds.push_back(std::visit([](const auto& s) { return s.kind; }, shape));
  }
  REQUIRE(kinds.size() == std::variant_size_v<AnySunshape>);
  std::sort(kinds.begin(), kinds.end());
  CHECK(std::adjacent_find(kinds.begin(), kinds.end()) == kinds.end());
}

TEST_CASE("limb darkening: radiance and its mean", "[sun]") {
  const LimbDarkenedSun sun;
  CHECK(sun.radiance(0) == Approx(1).epsilon(1e-15));  // 0.30 + 0.93 - 0.23
  CHECK(sun.radiance(sun.half_angle_rad * (1 - 1e-15)) == Approx(0.30).margin(1e-6));
  CHECK(sun.radiance(1.0001 * sun.half_angle_rad) == 0);
  // Mean over the disc in closed form: mu = sqrt(1 - x) and x even, so 0.30 + 0.93 x 2/3 - 0.23 x 1/2 = 0.805.
  CHECK(SunSampler(sun).mean_over_centre() == Approx(0.805).epsilon(1e-12));
  CHECK(SunSampler(DiscSun{}).mean_over_centre() == 1);
}

TEST_CASE("buie: the profile is the published one", "[sun]") {
  const BuieProfile profile(0.1);
  const auto published = reference::buie(profile.chi());
  for (const double t_mrad : {0.0, 1.0, 3.0, 4.6, 4.7, 8.0, 20.0, 43.5}) {
    CHECK(profile.radiance(1e-3 * t_mrad) == Approx(published.radiance(1e-3 * t_mrad)).epsilon(1e-13));
  }
  CHECK(profile.radiance(43.7e-3) == 0);
}

TEST_CASE("buie: the circumsolar ratio delivered is the one asked for", "[sun]") {
  for (const double ratio : {1e-4, 0.01, 0.05, 0.2, 0.4, 0.6, 0.79}) {
    const auto law = reference::buie(BuieProfile(ratio).chi());
    CHECK(1 - law.below(4.65e-3) == Approx(ratio).epsilon(1e-9));
  }
  // What chi itself delivers, by scipy.integrate.quad of the published equations with the weight cos t sin t.
  CHECK(BuieProfile(0.04312536878346179).chi() == Approx(0.05).epsilon(1e-9));
  CHECK(BuieProfile(0.18711460506022834).chi() == Approx(0.20).epsilon(1e-9));
}

TEST_CASE("buie: no aureole at ratio 0, and next to none just above", "[sun]") {
  CHECK(BuieProfile(0).chi() == 0);
  CHECK(SunSampler(BuieSun{0}).largest_angle_rad() == Approx(4.65e-3));
  CHECK(BuieProfile(1e-300).chi() == 0);
  CHECK(1 - reference::buie(BuieProfile(1e-10).chi()).below(4.65e-3) == Approx(1e-10).epsilon(1e-4));
}

TEST_CASE("table: linear between rows, even before the first, dark after the last", "[sun]") {
  const TableSun sun{{{1e-3, 2}, {3e-3, 1}, {4e-3, 0}, {9e-3, 0}}};
  CHECK(sun.radiance(0) == 2);
  CHECK(sun.radiance(2e-3) == Approx(1.5));
  CHECK(sun.radiance(3.5e-3) == Approx(0.5));
  CHECK(sun.radiance(10e-3) == 0);
  CHECK(SunSampler(sun).largest_angle_rad() == 4e-3);  // dark rows do not widen the sun
}

TEST_CASE("radial law: light of an even disc is sin^2 of its half-angle, and the inverse inverts", "[sun]") {
  const double half_angle_rad = 0.3;
  const RadialLaw law([](double) { return 1.0; }, {half_angle_rad});
  const double all = std::pow(std::sin(half_angle_rad), 2);
  CHECK(law.light() == Approx(all).epsilon(1e-14));
  CHECK(law.mean_sine_squared() == Approx(all / 2).epsilon(1e-14));
  for (const double u : {0.0, 1e-6, 0.1, 0.5, 0.9, 0.999999}) {
    CHECK(law.sine_squared(u) == Approx(u * all).epsilon(1e-10).margin(1e-16));
    CHECK(law.below(u * all) == Approx(u).epsilon(1e-10).margin(1e-16));
  }
}

TEST_CASE("sunshapes out of range are refused in words", "[sun]") {
  const auto refused = [](const AnySunshape& shape, const std::string& words) {
    CHECK_THROWS_AS(SunSampler(shape), std::invalid_argument);
    CHECK_THROWS_WITH(SunSampler(shape), Contains(words));
  };
  refused(DiscSun{0}, "sunshape disc: half_angle_mrad is 0, allowed is more than 0 and at most 100");
  refused(DiscSun{0.2}, "half_angle_mrad is 200");
  refused(LimbDarkenedSun{-1e-3}, "half_angle_mrad is -1");
  refused(GaussianSun{}, "sigma_mrad is nan");
  refused(BuieSun{0.8}, "circumsolar_ratio is 0.8, allowed is at least 0 and less than 0.8");
  refused(BuieSun{-0.1}, "circumsolar_ratio is -0.1");
  refused(TableSun{}, "at least two rows");
  refused(TableSun{{{0, 1}, {0, 1}}}, "row 2: the angle must be larger");
  refused(TableSun{{{-1e-3, 1}, {1e-3, 1}}}, "row 1: the angle must lie between");
  refused(TableSun{{{0, 1}, {2, 1}}}, "row 2: the angle must lie between 0 and 1570 mrad");
  refused(TableSun{{{0, 1}, {1e-3, -1}}}, "row 2: the radiance must be 0 or more");
  refused(TableSun{{{0, 0}, {1e-3, 0}}}, "at least one radiance must be above 0");
  refused(TableSun{{{0, 1}, {1e-3, std::nan("")}}}, "row 2: the radiance");
  CHECK_THROWS_AS(BuieProfile(0.9), std::invalid_argument);
}
