// The same bits whatever the number of threads; other bits for another seed; when a run stops.
#include <bit>
#include <catch2/catch.hpp>
#include <cstring>
#include <fmt/format.h>
#include <oneapi/tbb/global_control.h>
#include <utility>

#include "scene/read.h"
#include "trace/plan.h"
#include "trace/search.h"
#include "trace/trace.h"

using namespace catoptra;

namespace {

// Roulette, Philox's numbers after many bounces, light straight from the sun, two receivers, copies: all of it at once.
const std::string busy = R"(schema = 1
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
const std::string few = [] {
  std::string text = busy;
  const std::string key = "count = [6, 5]";
  return text.replace(text.find(key), key.size(), "count = [1, 1]");
}();

// More masts than lists are made beside: the whole scene stands in Embree's tree.
const std::string many_kinds = [] {
  std::string text = busy;
  for (int i = 0; i < 30; ++i)
    text += fmt::format(
        "[[obstacle]]\nname = \"mast {0}\"\nshape = {{ kind = \"cylinder\", radius_m = 0.1, length_m = 4 }}\n"
        "mount = {{ kind = \"fixed\", position_m = [{1}, {2}, 2] }}\n",
        i, -8 + 0.55 * i, 4 + 0.6 * (i % 7));
  return text;
}();

Scene scene_of(const std::string& text) {
  auto outcome = read_scene_text(text, "busy.toml");
  REQUIRE(outcome.scene);
  return std::move(*outcome.scene);
}
Scene scene() {
  return scene_of(busy);
}

/// Every number of a result, as bits; the time that it took is not one of them.
std::vector<std::uint64_t> bits(const TraceResult& r) {
  std::vector<std::uint64_t> out{r.seed, r.samples, static_cast<std::uint64_t>(r.replicates)};
  const auto add = [&](double x) { out.push_back(std::bit_cast<std::uint64_t>(x)); };
  const auto add_estimate = [&](const Estimate& e) { add(e.value), add(e.standard_error); };
  const auto add_all = [&](const std::vector<double>& v) {
    for (const double x : v) add(x);
  };
  add(r.dni_W_m2), add(r.aperture_area_m2), add(r.incident_power_W);
  for (const Estimate& e : r.budget) add_estimate(e);
  for (const auto& row : r.budget_by_replicate) {
    for (const double x : row) add(x);
  }
  add_estimate(r.optical_efficiency);
  add_estimate(r.intercept_factor);
  for (const ReceiverResult& one : r.receivers) {
    for (const Estimate& e : {one.intercept_factor, one.arriving_power_W, one.absorbed_power_W, one.direct_power_W,
                              one.peak_concentration, one.mean_concentration}) {
      add_estimate(e);
    }
    add(one.area_m2), add(one.peak_at[0]), add(one.peak_at[1]);
    add_all(one.flux.flux_W_m2), add_all(one.flux.standard_error_W_m2), add_all(one.flux.area_m2);
    add_all(one.enclosed.radius_m), add_all(one.enclosed.fraction), add_all(one.enclosed.standard_error);
  }
  for (const RayPath& path : r.paths) {
    add(path.power_W), out.push_back(static_cast<std::uint64_t>(path.fate));
    for (const Vec& v : path.vertices_m) add(v.x), add(v.y), add(v.z);
  }
  return out;
}

TraceResult run(const Scene& scene, int threads, std::uint64_t seed = 1, std::uint64_t samples = 1 << 19) {
  TraceOptions options;
  options.samples = samples;
  options.threads = threads;
  options.seed = seed;
  return trace(scene, options);
}

}  // namespace

TEST_CASE("every number of a result is the same for 1, 2 and 7 threads, whatever finds the hits", "[trace]") {
  const std::pair<const std::string&, const char*> searches[] = {
      {few, "each instance in turn"}, {busy, "lists of neighbours"}, {many_kinds, "Embree"}};
  for (const auto& [text, search] : searches) {
    INFO(search);
    const Scene scene = scene_of(text);
    const auto one = run(scene, 1);
    CHECK(one.search.starts_with(search));
    REQUIRE(one.paths.size() == 200);
    REQUIRE(one.receivers[0].direct_power_W.value > 0);
    const auto expected = bits(one);
    CHECK(expected == bits(run(scene, 2)));
    CHECK(expected == bits(run(scene, 7)));
    CHECK(expected != bits(run(scene, 2, 2)));
  }
}

TEST_CASE("no search limits the threads of the process", "[trace]") {
  using tbb::global_control;
  const global_control four(global_control::max_allowed_parallelism, 4);
  for (const auto& text : {few, busy, many_kinds}) {
    const Plan plan = make_plan(scene_of(text));
    const auto search = make_search(plan);
    CHECK(global_control::active_value(global_control::max_allowed_parallelism) == 4);
  }
}

TEST_CASE("samples are rounded up to whole bundles of every replicate", "[trace]") {
  TraceOptions options;
  options.paths = 0;
  options.replicates = 5;
  for (const std::uint64_t wanted : {1u, 1280u, 1281u, 100000u}) {
    options.samples = wanted;
    const auto got = trace(scene(), options);
    CHECK(got.samples >= wanted);
    CHECK(got.samples % (5 * 256) == 0);
    CHECK(got.replicates == 5);
    CHECK(got.budget_by_replicate.size() == 5);
  }
  options.replicates = 1;
  CHECK_THROWS_AS(trace(scene(), options), std::invalid_argument);
}

TEST_CASE("a precise run stops when its error is small enough", "[trace]") {
  TraceOptions options;
  options.paths = 0;
  options.precision = 2e-3;
  const auto easy = trace(scene(), options);
  CHECK(easy.precision_reached);
  CHECK(easy.intercept_factor.standard_error <= 2e-3 * easy.intercept_factor.value);

  options.precision = 1e-4;
  const auto hard = trace(scene(), options);
  CHECK(hard.precision_reached);
  CHECK(hard.intercept_factor.standard_error <= 1e-4 * hard.intercept_factor.value);
  CHECK(hard.samples > easy.samples);

  options.precision = 1e-7;
  options.max_samples = 1 << 19;
  const auto cut = trace(scene(), options);
  CHECK_FALSE(cut.precision_reached);
  CHECK(cut.samples <= (1 << 19) + 32 * 256 * 32);
  CHECK(cut.intercept_factor.standard_error > 1e-7 * cut.intercept_factor.value);
}

TEST_CASE("progress can stop a run", "[trace]") {
  TraceOptions options;
  options.paths = 0;
  options.samples = std::uint64_t{1} << 30;
  int calls = 0;
  options.progress = [&](const Progress& progress) {
    CHECK(progress.samples_done <= progress.samples_expected);
    return progress.samples_done < (1 << 20) || ++calls < 2;
  };
  const auto got = trace(scene(), options);
  CHECK(got.interrupted);
  CHECK_FALSE(got.precision_reached);
  CHECK(got.samples < options.samples);
  CHECK(std::fabs(got.closure.value) <= 5 * got.closure.standard_error);
  CHECK(got.closure.standard_error < 1e-4 * 1000 * got.aperture_area_m2);
}
