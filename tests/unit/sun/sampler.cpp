#include "sun/sampler.h"

#include <catch2/catch.hpp>
#include <cstring>
#include <string>

#include "sun/radial_law.h"
#include "support/broken_promise.h"
#include "unit/sun/reference_law.h"

using namespace catoptra;

namespace {

struct Case {
  std::string name;
  AnySunshape shape;
  reference::Law law;
};

std::vector<Case> cases() {
  const TableSun stepped{
      {{0, 1}, {4.0e-3, 0.9}, {4.001e-3, 0.02}, {9e-3, 0.01}, {10e-3, 0}, {12e-3, 0}, {13e-3, 0.01}}};
  const TableSun wide{{{0, 1}, {0.8, 1}}};
  return {{"disc", DiscSun{}, reference::even_disc(DiscSun{}.half_angle_rad)},
          {"limb_darkened", LimbDarkenedSun{}, reference::limb_darkened(LimbDarkenedSun{}.half_angle_rad)},
          {"gaussian", GaussianSun{2.8e-3}, reference::gaussian(2.8e-3)},
          {"buie 0.01", BuieSun{0.01}, reference::buie(BuieProfile(0.01).chi())},
          {"buie 0.05", BuieSun{0.05}, reference::buie(BuieProfile(0.05).chi())},
          {"buie 0.7", BuieSun{0.7}, reference::buie(BuieProfile(0.7).chi())},
          {"stepped table", stepped, {[=](double t) { return stepped.radiance(t); }, stepped.breaks_rad()}},
          {"wide table", wide, reference::even_disc(0.8)}};
}

double angle_rad(double sine_squared) {
  return std::asin(std::sqrt(sine_squared));
}

}  // namespace

TEST_CASE("sampler: the inverse of the DNI-weighted law to 1e-5", "[sun]") {
  for (const auto& c : cases()) {
    INFO(c.name);
    const SunSampler sampler(c.shape);
    const double all = c.law.integral(c.law.extent_rad());
    double worst = 0;
    const auto look = [&](double u) {
      const double below = c.law.integral(angle_rad(sampler.sine_squared(u))) / all;
      worst = std::max(worst, std::abs(below - u));
    };
    for (int i = 0; i < 1000; ++i) look((i + 0.37) / 1000);
    for (int k = 2; k < 50; ++k) {  // both ends
      look(std::ldexp(1.0, -k));
      look(1 - std::ldexp(1.0, -k));
    }
    CHECK(worst < 1e-5);
  }
}

TEST_CASE("sampler: moments agree with quadrature", "[sun]") {
  for (const auto& c : cases()) {
    INFO(c.name);
    const SunSampler sampler(c.shape);
    const double mean = c.law.mean([](double t) { return std::pow(std::sin(t), 2); });
    CHECK(sampler.rms_per_axis_rad() == Approx(std::sqrt(mean / 2)).epsilon(1e-9));
    const double centre = c.law.integral(c.law.extent_rad()) / (0.5 * c.law.radiance(0));  // integral of L ds / L(0)
    const double largest = std::pow(std::sin(sampler.largest_angle_rad()), 2);
    CHECK(sampler.mean_over_centre() * largest == Approx(centre).epsilon(1e-9));
  }
}

TEST_CASE("sampler: a double and a lane give the same bits", "[sun]") {
  for (const auto& c : cases()) {
    INFO(c.name);
    const SunSampler sampler(c.shape);
    int different = 0;
    for (int i = 0; i < 4096; i += static_cast<int>(Pack::size)) {
      double u[Pack::size], lanes_out[Pack::size];
      for (std::size_t lane = 0; lane < Pack::size; ++lane)
        u[lane] = std::fmod((i + static_cast<double>(lane) + 0.5) * 0.6180339887498949, 1);
      store(sampler.sine_squared(load<Pack>(u)), lanes_out);
      for (std::size_t lane = 0; lane < Pack::size; ++lane) {
        const double alone = sampler.sine_squared(u[lane]);
        different += std::memcmp(&alone, &lanes_out[lane], sizeof alone) != 0;
      }
    }
    CHECK(different == 0);
  }
}

TEST_CASE("sampler: increasing and continuous from 0 to the largest angle", "[sun]") {
  for (const auto& c : cases()) {
    INFO(c.name);
    const SunSampler sampler(c.shape);
    const double largest = std::pow(std::sin(sampler.largest_angle_rad()), 2);
    double before = 0;
    bool increasing = true;
    for (int i = 1; i < 200000; ++i) {
      const double s = sampler.sine_squared(i / 200000.0);
      increasing = increasing && s >= before;
      before = s;
    }
    CHECK(increasing);
    const double smallest_u = std::ldexp(1.0, -53), largest_u = 1 - smallest_u;
    CHECK(sampler.sine_squared(smallest_u) == Approx(0).margin(1e-9 * largest));
    CHECK(sampler.sine_squared(largest_u) == Approx(largest).epsilon(1e-9));
    double jump = 0;
    for (int i = 1; i < 512 * 512; ++i) {  // every seam of the tables
      const double u = i / (512.0 * 512.0);
      jump = std::max(jump, sampler.sine_squared(u) - sampler.sine_squared(std::nextafter(u, 0)));
    }
    CHECK(jump < 1e-9 * largest);
  }
}

TEST_CASE("sampler: a point sun has no angle", "[sun]") {
  const SunSampler sampler{PointSun{}};
  CHECK(sampler.is_point());
  CHECK(sampler.sine_squared(0.7) == 0);
  CHECK(sampler.largest_angle_rad() == 0);
  CHECK(sampler.rms_per_axis_rad() == 0);
  CHECK_FALSE(SunSampler(DiscSun{}).is_point());
}

TEST_CASE("sampler: a disc's rms per axis is half its half-angle", "[sun]") {
  // Projected on a line an even disc has a semicircle law; its rms is half the radius (closed form).
  CHECK(SunSampler(DiscSun{4.65e-3}).rms_per_axis_rad() == Approx(std::sin(4.65e-3) / 2).epsilon(1e-14));
}

TEST_CASE("sampler: a share beyond 0 and 1 breaks a promise", "[sun][expects]") {
  const RadialLaw law([](double) { return 1.0; }, {4e-3});
  for (const double u : {-1e-3, 1.001, std::nan("")}) {
    CHECK(catoptra::test::is_refused([&] { (void)law.sine_squared(u); }));
  }
  CHECK_NOTHROW(law.sine_squared(1));
}
