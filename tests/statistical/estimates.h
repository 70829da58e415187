#pragma once
// Short scenes, their traces, and the comparison of a Monte Carlo number with a closed form.
#include <catch2/catch.hpp>
#include <cmath>
#include <fmt/format.h>
#include <stdexcept>
#include <string>
#include <string_view>

#include "scene/read.h"
#include "trace/trace.h"

namespace catoptra::test {

/// Within so many standard errors of the expected value. The error comes from the spread of 32 replicates, so it
/// follows Student's t with 31 degrees of freedom: five of them are passed by chance with p = 2.1e-5, six with 1.2e-6
/// (scipy.stats.t), not with a Gaussian's 5.7e-7. All seeds are fixed. A number that comes out without any spread
/// (every replicate alike) still has rounding: 1e-9 of the expected value.
class WithinSigmas : public Catch::MatcherBase<Estimate> {
 public:
  WithinSigmas(double expected, double sigmas) : expected_(expected), sigmas_(sigmas) {}
  bool match(const Estimate& got) const override {
    return std::fabs(got.value - expected_) <= sigmas_ * got.standard_error + 1e-9 * std::fabs(expected_);
  }
  std::string describe() const override { return fmt::format("is within {} sigma of {:.9g}", sigmas_, expected_); }

 private:
  double expected_, sigmas_;
};

inline Scene scene_of(const std::string& text) {
  auto outcome = read_scene_text(text, "test.toml");
  if (!outcome.scene) {
    std::string all;
    for (const auto& problem : outcome.problems) all += problem.text() + "\n";
    throw std::logic_error(all);
  }
  return std::move(*outcome.scene);
}

inline TraceResult traced(const std::string& text, std::uint64_t samples = 1 << 20, std::uint64_t seed = 1) {
  TraceOptions options;
  options.samples = samples;
  options.seed = seed;
  options.paths = 0;
  return trace(scene_of(text), options);
}

inline const Estimate& term(const TraceResult& result, Term which) {
  return result.budget[static_cast<std::size_t>(which)];
}

/// The budget closes within its error, and the error is small enough to see a hundredth part of the light go missing.
inline void check_closes(const TraceResult& got) {
  CHECK_THAT(got.closure, WithinSigmas(0, 5));
  const double full_W = got.dni_W_m2 * got.aperture_area_m2;
  CHECK_THAT((Estimate{got.closure.value + 0.01 * full_W, got.closure.standard_error}), !WithinSigmas(0, 5));
  double sum_W = got.closure.value;
  for (const Estimate& e : got.budget) sum_W += e.value;
  CHECK(sum_W == Approx(full_W).epsilon(1e-12));
}

struct SunAt {
  double azimuth_deg = 180, elevation_deg = 90;
};

/// The sun, a finish "silver" with the given keys beside its kind, and a black one that absorbs all.
inline std::string head(std::string_view sun_shape, std::string_view mirror = "reflectance = 1", SunAt at = {}) {
  return fmt::format(R"(schema = 1
[sun]
dni_W_m2 = 1000
shape = {{ {} }}
azimuth_deg = {}
elevation_deg = {}
[finish.silver]
kind = "mirror"
{}
[finish.black]
kind = "absorber"
absorptance = 1
)",
                     sun_shape, at.azimuth_deg, at.elevation_deg, mirror);
}

/// One component; `keys` holds the rest of its lines.
inline std::string component(std::string_view role, std::string_view name, std::string_view keys) {
  return fmt::format("[[{}]]\nname = \"{}\"\n{}\n", role, name, keys);
}

/// A vector as scenes write it.
inline std::string text_of(const Vec& v) {
  return fmt::format("[{}, {}, {}]", v.x, v.y, v.z);
}

constexpr double degree_rad = 3.14159265358979323846 / 180;
constexpr double sun_rad = 4.65e-3;  // half-angle of the even disc that these scenes name
inline const std::string disc_sun = R"(kind = "disc", half_angle_mrad = 4.65)";
inline const std::string point_sun = R"(kind = "point")";

}  // namespace catoptra::test

// In Catch's own namespace, where its stringifier looks.
namespace Catch {
template <>
struct StringMaker<catoptra::Estimate> {
  static std::string convert(const catoptra::Estimate& e) {
    return fmt::format("{:.9g} +- {:.3g}", e.value, e.standard_error);
  }
};
}  // namespace Catch
