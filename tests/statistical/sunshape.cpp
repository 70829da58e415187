// Are sampled sun rays distributed as their sunshape says?
#include <algorithm>
#include <boost/math/distributions/chi_squared.hpp>
#include <catch2/catch.hpp>
#include <cmath>
#include <random>
#include <string>
#include <vector>

#include "numeric/lanes.h"
#include "sun/sampler.h"
#include "unit/sun/reference_law.h"

using namespace catoptra;

namespace {

constexpr std::size_t samples = 1 << 20;
// Five laws share a chance of 1e-5 to fail by bad luck (Sidak): 2e-6 each.
constexpr double significance = 2e-6;

std::vector<double> sampled_angles_rad(const AnySunshape& shape, std::uint64_t seed) {
  const SunSampler sampler(shape);
  std::mt19937_64 random(seed);
  std::vector<double> angles;
  for (std::size_t i = 0; i < samples; ++i) {
    const double u = (static_cast<double>(random() >> 12) + 0.5) * 0x1p-52;
    angles.push_back(std::asin(std::sqrt(sampler.sine_squared(u))));
  }
  return angles;
}

/// Chance of a chi-square as large as that of `angles` sorted into 60 bins, if they follow `law`.
double chance(const std::vector<double>& angles, const reference::Law& law) {
  constexpr std::size_t bins = 60;
  std::vector<double> edges_rad{0};  // finer toward the centre, where the light is
  for (std::size_t i = 1; i <= bins; ++i) {
    edges_rad.push_back(law.extent_rad() * std::pow(static_cast<double>(i) / bins, 1.5));
  }
  std::vector<double> counted(bins, 0);
  for (const double angle : angles) {
    const auto above = std::upper_bound(edges_rad.begin() + 1, edges_rad.end() - 1, angle);
    ++counted[static_cast<std::size_t>(above - edges_rad.begin()) - 1];
  }
  double chi_square = 0, degrees = -1, below = 0, seen = 0, expected = 0;
  for (std::size_t i = 0; i < bins; ++i) {
    const double up_to = i + 1 == bins ? 1 : law.below(edges_rad[i + 1]);
    expected += (up_to - below) * static_cast<double>(samples);
    seen += counted[i];
    below = up_to;
    if (expected < 20 && i + 1 < bins) continue;  // thin bins join the next one
    chi_square += (seen - expected) * (seen - expected) / expected;
    ++degrees;
    seen = expected = 0;
  }
  return boost::math::cdf(boost::math::complement(boost::math::chi_squared(degrees), chi_square));
}

}  // namespace

TEST_CASE("sampled angles follow their sunshape", "[statistical][sun]") {
  const double edge = DiscSun{}.half_angle_rad;
  struct Case {
    std::string name;
    AnySunshape shape;
    reference::Law law, near_miss;
  };
  const TableSun wide{{{0, 1}, {0.8, 1}}};
  // The light of a wide even disc by solid angle, without the cosine that a flat detector sees: a wrong weight.
  const reference::Law without_cosine{[](double t) { return 1 / std::cos(t); }, {0.8}};
  // Buie's near miss takes his chi for the ratio that it delivers.
  const std::vector<Case> cases{
      {"disc", DiscSun{}, reference::even_disc(edge), reference::even_disc(1.01 * edge)},
      {"limb_darkened", LimbDarkenedSun{}, reference::limb_darkened(edge), reference::even_disc(edge)},
      {"gaussian", GaussianSun{2.8e-3}, reference::gaussian(2.8e-3), reference::gaussian(1.01 * 2.8e-3)},
      {"buie", BuieSun{0.05}, reference::buie(BuieProfile(0.05).chi()), reference::buie(0.05)},
      {"table", wide, reference::even_disc(0.8), without_cosine}};
  for (const auto& c : cases) {
    INFO(c.name);
    const auto angles = sampled_angles_rad(c.shape, 7);
    CHECK(chance(angles, c.law) > significance);
    CHECK(chance(angles, c.near_miss) < significance);
  }
}

TEST_CASE("mean square sine per axis is what the sampler states", "[statistical][sun]") {
  for (const AnySunshape& shape : {AnySunshape(DiscSun{}), AnySunshape(LimbDarkenedSun{}),
                                   AnySunshape(GaussianSun{2.8e-3}), AnySunshape(BuieSun{0.05})}) {
    double sum = 0, sum_of_squares = 0;
    for (const double angle : sampled_angles_rad(shape, 11)) {
      const double x = std::pow(std::sin(angle), 2) / 2;
      sum += x;
      sum_of_squares += x * x;
    }
    const double n = samples, mean = sum / n;
    const double standard_error = std::sqrt((sum_of_squares / n - mean * mean) / (n - 1));
    const double stated = std::pow(SunSampler(shape).rms_per_axis_rad(), 2);
    INFO(std::visit([](const auto& s) { return s.kind; }, shape));
    CHECK(std::abs(mean - stated) < 5 * standard_error);
    CHECK(std::abs(mean - 1.03 * stated) > 5 * standard_error);  // it would see a 3 % mistake
  }
}

TEST_CASE("a wide sun carries its cosine: mean of 1 / cos", "[statistical][sun]") {
  // Even radiance to T: solid angle over projected solid angle, 2 (1 - cos T) / sin^2 T = 1 / cos^2(T / 2).
  const double T = 0.8;
  double sum = 0, sum_of_squares = 0;
  for (const double angle : sampled_angles_rad(TableSun{{{0, 1}, {T, 1}}}, 13)) {
    sum += 1 / std::cos(angle);
    sum_of_squares += std::pow(std::cos(angle), -2);
  }
  const double n = samples, mean = sum / n;
  const double standard_error = std::sqrt((sum_of_squares / n - mean * mean) / (n - 1));
  CHECK(std::abs(mean - std::pow(std::cos(T / 2), -2)) < 5 * standard_error);
  // Without the cosine the mean would be -ln(cos T) / (1 - cos T).
  CHECK(std::abs(mean + std::log(std::cos(T)) / (1 - std::cos(T))) > 50 * standard_error);
}
