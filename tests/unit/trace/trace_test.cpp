// What must hold to the bit, or exactly: budgets close, threads and searches make no difference.
#include "trace/trace.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <random>

#include "scene/read.h"
#include "source_dir.h"
#include "support/broken_promise.h"
#include "trace/plan.h"
#include "trace/search.h"

namespace catoptra {

namespace {

Scene shipped(const std::string& name) {
  ReadOutcome outcome = read_scene(std::string(CATOPTRA_SOURCE_DIR) + "/scenes/" + name + ".toml");
  REQUIRE(outcome.scene);
  return std::move(*outcome.scene);
}

constexpr const char* closed_box = R"(schema = 1
title = "flat mirror over which a box of grey walls is closed"
[sun]
dni_W_m2 = 1000
shape = { kind = "point" }
azimuth_deg = 180
elevation_deg = 90
[finish.perfect]
kind = "mirror"
reflectance = 1
[finish.grey]
kind = "absorber"
absorptance = 0.3
[[primary]]
name = "floor"
shape = { kind = "plane" }
aperture = { kind = "circle", diameter_m = 1 }
finish = "perfect"
mount = { kind = "fixed", position_m = [0, 0, 0], axis = [0, 0, 1] }
[[receiver]]
name = "wall"
shape = { kind = "ball", radius_m = 5 }
finish = "grey"
back = "grey"
mount = { kind = "fixed", position_m = [0, 0, 30] }
)";

}  // namespace

TEST_CASE("the largest bin of a map stands where the peak is told, however small the bins that the rim cuts",
          "[trace]") {
  // Light spread evenly over a disc, few rays a bin: were a sliver's own mean to count, that of some would be the
  // largest of all.
  auto outcome = read_scene_text(R"(schema = 1
[sun]
shape = { kind = "disc" }
azimuth_deg = 180
elevation_deg = 60
[finish.rough]
kind = "mirror"
reflectance = 1
slope_error_mrad = 60
[finish.black]
kind = "absorber"
absorptance = 1
[[primary]]
name = "mirror"
shape = { kind = "plane" }
aperture = { kind = "rectangle", width_m = 1, length_m = 1 }
finish = "rough"
mount = { kind = "heliostat", position_m = [0, 0, 0], aim = "pot" }
[[receiver]]
name = "pot"
shape = { kind = "disc", diameter_m = 1.5 }
finish = "black"
mount = { kind = "fixed", position_m = [0, 20, 4], axis = [0, -1, 0] }
flux = { bins = [60, 60] }
)",
                                 "sliver.toml");
  REQUIRE(outcome.scene);
  const TraceResult got = trace(*outcome.scene, {.samples = 1 << 18, .paths = 0});
  const ReceiverResult& pot = got.receivers.front();
  const FluxMap& map = pot.flux;
  const double full_m2 = 1.5 * 1.5 / 3600;
  double largest = 0, power_W = 0;
  int slivers = 0;
  for (std::size_t b = 0; b < map.flux_W_m2.size(); ++b) {
    CHECK((map.area_m2[b] > 0) == !std::isnan(map.flux_W_m2[b]));
    if (!(map.area_m2[b] > 0)) continue;
    largest = std::fmax(largest, map.flux_W_m2[b]);
    power_W += map.flux_W_m2[b] * map.area_m2[b];
    slivers += map.area_m2[b] < 0.25 * full_m2;
  }
  CHECK(slivers > 20);
  const auto bin_of = [](const FluxAxis& axis, double middle) {
    return std::upper_bound(axis.edges.begin(), axis.edges.end(), middle) - axis.edges.begin() - 1;
  };
  const auto row = bin_of(map.first, pot.peak_at[0]), column = bin_of(map.second, pot.peak_at[1]);
  CHECK(map.flux_W_m2[row * 60 + column] == largest);
  CHECK(map.area_m2[row * 60 + column] > 0.25 * full_m2);
  // The largest of 2800 bins of a few rays each is noise; the light's own peak is near its mean.
  const double mean_W_m2 = power_W / pot.area_m2;
  CHECK(largest > 2 * mean_W_m2);
  CHECK(std::fabs(pot.peak_concentration.value * got.dni_W_m2 - mean_W_m2) <
        3 * pot.peak_concentration.standard_error * got.dni_W_m2);
  // Nothing is lost: all that arrives, as no light comes twice to black.
  CHECK(power_W == Approx(pot.arriving_power_W.value).epsilon(1e-9));
  CHECK_FALSE(power_W * (1 + 1e-8) == Approx(pot.arriving_power_W.value).epsilon(1e-9));
}

TEST_CASE("every shipped scene's budget closes", "[trace]") {
  for (const char* name : {"bowl", "bowl-line-absorber", "centre-cup", "centre-trough", "trough", "dish", "tower",
                           "cpc-trough", "trough-glass", "dish-window", "torus"}) {
    CAPTURE(name);
    const TraceResult got = trace(shipped(name), {.samples = 1 << 17, .paths = 0});
    CHECK(std::fabs(got.closure.value) <= 5 * got.closure.standard_error);
    CHECK(got.closure.standard_error < 1e-3 * got.dni_W_m2 * got.aperture_area_m2);
    CHECK(got.warnings.empty());
    CHECK(got.intercept_factor.value > 0);
    CHECK(got.intercept_factor.value <= 1 + 1e-12);
  }
}

TEST_CASE("grey receiver: absorbed and reflected shares follow from its absorptance", "[trace]") {
  ReadOutcome outcome = read_scene_text(closed_box, "box.toml");
  REQUIRE(outcome.scene);
  const TraceResult got = trace(*outcome.scene, {.samples = 1 << 16, .paths = 0});
  // The ball keeps the sun off the floor wholly: it is wider, and straight above.
  CHECK(got.budget[static_cast<std::size_t>(Term::shading)].value == Approx(got.incident_power_W));
  CHECK(got.budget[static_cast<std::size_t>(Term::absorbed)].value == 0);
  // What falls on the ball straight from the sun is tallied apart: absorptance x DNI x pi r^2.
  const Estimate direct = got.receivers.front().direct_power_W;
  CHECK(std::fabs(direct.value - 0.3 * 1000 * pi * 25) <= 5 * direct.standard_error);
  CHECK(std::fabs(direct.value - 0.33 * 1000 * pi * 25) > 5 * direct.standard_error);
}

TEST_CASE("one, two and seven threads give the same bits", "[trace]") {
  for (const char* name : {"bowl", "tower"}) {
    const Scene scene = shipped(name);
    const auto run = [&](int threads) {
      Workers workers(threads);
      return trace(scene, {.samples = 1 << 18, .workers = &workers, .paths = 0});
    };
    const TraceResult one = run(1);
    for (const int threads : {2, 7}) {
      const TraceResult many = run(threads);
      CAPTURE(name, threads);
      CHECK(one.budget_by_replicate == many.budget_by_replicate);
      for (std::size_t r = 0; r < one.receivers.size(); ++r) {
        const auto &a = one.receivers[r].flux.flux_W_m2, &b = many.receivers[r].flux.flux_W_m2;
        REQUIRE(a.size() == b.size());
        for (std::size_t i = 0; i < a.size(); ++i) CHECK((a[i] == b[i] || (std::isnan(a[i]) && std::isnan(b[i]))));
      }
    }
  }
}

TEST_CASE("Embree and trying in turn find the same hits", "[trace][search]") {
  for (const char* name : {"bowl", "trough", "dish", "tower", "centre-cup", "centre-trough", "cpc-trough"}) {
    const Scene scene = shipped(name);
    const Plan plan = make_plan(scene);
    const std::unique_ptr<Search> tree = make_embree_search(plan), turn = make_direct_search(plan);
    std::mt19937_64 random(3);
    std::uniform_real_distribution<double> place(-1, 1);
    RayBlock rays;
    HitBlock a, b;
    for (int block = 0; block < 40; ++block) {
      rays.count = bundle_size;
      for (int i = 0; i < rays.count; ++i) {
        const Vec d = unit(Vec{place(random), place(random), place(random)});
        const double size = plan.extent_m;
        rays.px[i] = size * place(random), rays.py[i] = size * place(random), rays.pz[i] = size * place(random);
        rays.dx[i] = d.x, rays.dy[i] = d.y, rays.dz[i] = d.z;
        rays.from[i] = -1;
      }
      tree->nearest(rays, a);
      turn->nearest(rays, b);
      for (int i = 0; i < rays.count; ++i) {
        CHECK(a.instance[i] == b.instance[i]);
        CHECK(a.distance[i] == b.distance[i]);
      }
      tree->occluded(rays, a);
      turn->occluded(rays, b);
      for (int i = 0; i < rays.count; ++i) CHECK(a.distance[i] == b.distance[i]);
    }
  }
}

TEST_CASE("precision is reached, or its absence is said", "[trace]") {
  const Scene scene = shipped("dish");
  const TraceResult got = trace(scene, {.precision = 1e-3, .paths = 0});
  CHECK(got.precision_reached);
  CHECK(got.intercept_factor.standard_error <= 1e-3 * got.intercept_factor.value);
  const TraceResult cut = trace(scene, {.precision = 1e-9, .max_samples = 1 << 18, .paths = 0});
  CHECK_FALSE(cut.precision_reached);
}

TEST_CASE("a sun of no unit length breaks a promise of the tracer's", "[trace][expects]") {
  Scene scene = shipped("dish");
  scene.sun.toward = 1.01 * scene.sun.toward;
  CHECK(test::is_refused([&] { (void)trace(scene, {.samples = 1 << 8, .paths = 0}); }));
}

}  // namespace catoptra
