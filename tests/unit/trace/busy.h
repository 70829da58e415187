#pragma once
// Scenes in which all goes on that could tell two runs apart, one for each kind of search; and a result as bits.
#include <bit>
#include <catch2/catch.hpp>
#include <cstdint>
#include <fmt/format.h>
#include <oneapi/tbb/global_control.h>
#include <string>
#include <utility>
#include <vector>

#include "scene/read.h"
#include "trace/numbers.h"
#include "trace/result.h"

namespace catoptra::test {

/// Seven threads also where the machine has fewer.
inline const tbb::global_control crowd(tbb::global_control::max_allowed_parallelism, 7);

// Roulette, Philox's numbers after many bounces, light straight from the sun, two receivers, copies: all of it at once.
inline const std::string busy = R"(schema = 1
[sun]
shape = { kind = "buie", circumsolar_ratio = 0.1 }
azimuth_deg = 165
elevation_deg = 48
[finish.silver]
kind = "mirror"
reflectance = 0.9
slope_error_mrad = [2, 3]
specularity_error_mrad = 1
[finish.grey]
kind = "absorber"
absorptance = 0.4
[[primary]]
name = "heliostat"
shape = { kind = "sphere", radius_m = 40 }
aperture = { kind = "rectangle", width_m = 2, length_m = 2 }
finish = "silver"
mount = { kind = "heliostat", position_m = [0, 12, 1.2], aim = "drum", jitter_mrad = 1 }
array = { kind = "grid", count = [6, 5], spacing_m = [2.4, 2.6] }
[[primary]]
name = "bowl"
shape = { kind = "sphere", radius_m = 4 }
aperture = { kind = "circle", diameter_m = 7.4 }
finish = "silver"
mount = { kind = "fixed", position_m = [-14, 0, 0] }
[[receiver]]
name = "drum"
shape = { kind = "cylinder", radius_m = 0.6, length_m = 1.5, front = "inside" }
finish = "grey"
back = "grey"
mount = { kind = "fixed", position_m = [0, 0, 12] }
flux = { bins = [16, 8] }
[[receiver]]
name = "rod"
shape = { kind = "cylinder", radius_m = 0.2, length_m = 2 }
finish = "grey"
mount = { kind = "fixed", position_m = [-14, 0, 2.5] }
)";

// The same with one heliostat in place of thirty: so few instances are tried in turn.
inline const std::string few = [] {
  std::string text = busy;
  const std::string key = "count = [6, 5]";
  return text.replace(text.find(key), key.size(), "count = [1, 1]");
}();

// More masts than lists are made beside: the whole scene stands in Embree's tree.
inline std::string among_masts(std::string text) {
  for (int i = 0; i < 30; ++i)
    text += fmt::format(
        "[[obstacle]]\nname = \"mast {0}\"\nshape = {{ kind = \"cylinder\", radius_m = 0.1, length_m = 4 }}\n"
        "mount = {{ kind = \"fixed\", position_m = [{1}, {2}, 2] }}\n",
        i, -8 + 0.55 * i, 4 + 0.6 * (i % 7));
  return text;
}
inline const std::string many_kinds = among_masts(busy);

inline Scene scene_of(const std::string& text) {
  auto outcome = read_scene_text(text, "busy.toml");
  REQUIRE(outcome.scene);
  return std::move(*outcome.scene);
}

/// Every number of a result, as bits; the time that it took is not one of them.
inline std::vector<std::uint64_t> bits(const TraceResult& r) {
  std::vector<std::uint64_t> out{r.seed, r.samples, static_cast<std::uint64_t>(r.replicates)};
  const auto add = [&](double x) { out.push_back(std::bit_cast<std::uint64_t>(x)); };
  const auto add_estimate = [&](const Estimate& e) { add(e.value), add(e.standard_error); };
  const auto add_all = [&](const std::vector<double>& v) {
    for (const double x : v) add(x);
  };
  add(r.dni_W_m2);
  for (const auto& number : result_numbers) add_estimate(number.at(r));
  for (const Estimate& e : r.budget) add_estimate(e);
  for (const auto& row : r.budget_by_replicate) {
    for (const double x : row) add(x);
  }
  for (const ReceiverResult& one : r.receivers) {
    for (const auto& number : receiver_numbers) add_estimate(number.at(one));
    add(one.peak_at[0]), add(one.peak_at[1]);
    add_all(one.flux.flux_W_m2), add_all(one.flux.standard_error_W_m2), add_all(one.flux.area_m2);
    add_all(one.enclosed.radius_m), add_all(one.enclosed.fraction), add_all(one.enclosed.standard_error);
  }
  for (const RayPath& path : r.paths) {
    add(path.power_W), out.push_back(static_cast<std::uint64_t>(path.fate));
    for (const Vec& v : path.vertices_m) add(v.x), add(v.y), add(v.z);
  }
  return out;
}

}  // namespace catoptra::test
