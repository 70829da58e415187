// The same bits for any number of threads, other bits for another seed, and threads that do work: for every kind of
// search, with covers, arrays and laws, light from the sun and light by way of others.
#include <bit>
#include <catch2/catch.hpp>
#include <chrono>
#include <fmt/format.h>
#include <oneapi/tbb/global_control.h>
#include <set>
#include <stdexcept>
#include <thread>

#include "busy.h"
#include "scene/read.h"
#include "source_dir.h"
#include "trace/numbers.h"
#include "trace/plan.h"
#include "trace/search.h"
#include "trace/trace.h"

using namespace catoptra;
using namespace catoptra::test;

namespace {

std::string with(std::string text, const std::string& old, const std::string& now) {
  REQUIRE(text.find(old) != std::string::npos);
  return text.replace(text.find(old), old.size(), now);
}

Scene shipped(const std::string& name) {
  auto outcome = read_scene(std::string(CATOPTRA_SOURCE_DIR) + "/scenes/" + name);
  REQUIRE(outcome.scene);
  return std::move(*outcome.scene);
}

/// Panes in the heliostats' beam, before the drum, and a tube of glass round the rod.
std::string glazed(const std::string& text) {
  return text + R"([finish.clear]
kind = "glass"
refractive_index = 1.5
thickness_m = 0.004
absorption_per_m = 10
[[cover]]
name = "envelope"
shape = { kind = "cylinder", radius_m = 0.4, length_m = 2.2 }
finish = "clear"
mount = { kind = "fixed", position_m = [-14, 0, 2.5] }
[[cover]]
name = "pane"
shape = { kind = "plane" }
aperture = { kind = "rectangle", width_m = 0.5, length_m = 0.5 }
finish = "clear"
mount = { kind = "fixed", position_m = [0, 2, 11], axis = [0, 1, -1] }
array = { kind = "grid", count = [6, 5], spacing_m = [0.6, 0.6] }
)";
}

/// Dishes that turn to the sun by themselves, each with a receiver behind a window.
const std::string dishes = R"(schema = 1
[sun]
shape = { kind = "disc" }
azimuth_deg = 165
elevation_deg = 20
[finish.silver]
kind = "mirror"
reflectance = 0.9
slope_error_mrad = 2
[finish.grey]
kind = "absorber"
absorptance = 0.8
[finish.clear]
kind = "glass"
refractive_index = 1.5
thickness_m = 0.004
[[primary]]
name = "dish"
shape = { kind = "paraboloid", focal_length_m = 2 }
aperture = { kind = "circle", diameter_m = 3 }
finish = "silver"
mount = { kind = "two_axis", pivot_m = [0, 0, 3], jitter_mrad = 1 }
array = { kind = "grid", count = [6, 5], spacing_m = [4, 5] }
[[receiver]]
name = "spot"
shape = { kind = "disc", diameter_m = 0.1 }
finish = "grey"
mount = { kind = "carried", by = "dish", position_m = [0, 0, 2], axis = [0, 0, -1] }
[[cover]]
name = "window"
shape = { kind = "disc", diameter_m = 0.3 }
finish = "clear"
mount = { kind = "carried", by = "dish", position_m = [0, 0, 1.9], axis = [0, 0, -1] }
)";

/// Rows on one drive, which follow its law each in its way.
std::string rows(int count) {
  return with(dishes.substr(0, dishes.find("[[primary]]")), "elevation_deg = 20", "elevation_deg = 60") +
         fmt::format(R"([[primary]]
name = "rows"
shape = {{ kind = "plane" }}
aperture = {{ kind = "rectangle", width_m = 0.6, length_m = 10 }}
finish = "silver"
mount = {{ kind = "shared_drive", position_m = [0, 0, 1], rotation_axis = [0, 1, 0], aim = "line", jitter_mrad = 1 }}
array = {{ kind = "grid", count = [{}, 1], spacing_m = [0.9, 1] }}
[[receiver]]
name = "line"
shape = {{ kind = "cylinder", radius_m = 0.2, length_m = 10 }}
finish = "grey"
mount = {{ kind = "fixed", position_m = [0, 0, 8], axis = [0, 1, 0] }}
)",
                     count);
}

struct Kind {
  const char *name, *search;
  Scene scene;
  std::uint64_t samples = 1 << 16;
};
constexpr const char *in_turn = "each instance in turn", *lists = "lists of neighbours", *tree = "Embree";

std::vector<Kind> cases() {
  std::vector<Kind> out;
  const auto add = [&](const char* name, const char* search, Scene scene, std::uint64_t samples = 1 << 16) {
    out.push_back({name, search, std::move(scene), samples});
  };
  add("few", in_turn, scene_of(few), 1 << 21);  // several passes
  add("field", lists, scene_of(busy), 1 << 19);
  add("field among masts", tree, scene_of(among_masts(busy)), 1 << 19);
  add("few, glazed", lists, scene_of(glazed(few)));
  add("field, glazed", lists, scene_of(glazed(busy)));
  add("field among masts, glazed", tree, scene_of(glazed(among_masts(busy))));
  add("dishes with windows", lists, scene_of(dishes));
  add("dishes with windows among masts", tree, scene_of(among_masts(dishes)));
  add("few rows on one drive", in_turn, scene_of(rows(9)));
  add("rows on one drive", lists, scene_of(rows(41)));
  for (const char* name : {"bowl.toml", "bowl-line-absorber.toml", "centre-cup.toml", "centre-trough.toml", "dish.toml",
                           "dish-window.toml", "trough.toml", "trough-glass.toml"})
    add(name, in_turn, shipped(name));
  add("tower.toml", lists, shipped("tower.toml"));
  add("cpc-trough.toml", lists, shipped("cpc-trough.toml"));
  return out;
}

TraceResult run(const Kind& one, int threads, std::uint64_t seed = 1) {
  Workers workers(threads);
  return trace(one.scene, {.samples = one.samples, .seed = seed, .workers = &workers});
}

/// The threads that do work of a trace on two, most of which is not asked for: it ends with the second, or after many
/// seconds without one. Each is told of with a lock held; as it waits, the other is the next to be told of.
std::size_t threads_at_work(const Scene& scene) {
  std::set<std::thread::id> seen;
  int told = 0;
  Workers two(2);
  Stop stop;
  TraceOptions options{.samples = std::uint64_t{1} << 34, .workers = &two, .paths = 0};
  options.stop = &stop;
  options.progress = [&](const Progress&) {
    seen.insert(std::this_thread::get_id());
    std::this_thread::sleep_for(std::chrono::milliseconds(110));  // longer than the time between two tellings
    if (seen.size() > 1 || ++told == 150) stop.ask();
  };
  try {
    trace(scene, options);
  } catch (const StoppedEarly&) {
    // As a rule.
  }
  return seen.size();
}

}  // namespace

TEST_CASE("every number of a result is the same for 1, 2 and 7 threads, whatever finds the hits", "[trace]") {
  for (const Kind& one : cases()) {
    INFO(one.name);
    const TraceResult result = run(one, 1);
    CHECK(result.search.starts_with(one.search));
    REQUIRE(result.paths.size() == 200);
    const auto expected = bits(result);
    CHECK(expected == bits(run(one, 2)));
    CHECK(expected == bits(run(one, 7)));
    CHECK(expected != bits(run(one, 2, 2)));
  }
  CHECK(run(cases().front(), 2).receivers[0].direct_power_W.value > 0);
}

TEST_CASE("two threads share the work, whatever finds the hits", "[trace]") {
  for (const Kind& one : cases()) {
    INFO(one.name);
    CHECK(threads_at_work(one.scene) == 2);
  }
}

TEST_CASE("no search and no trace limits the threads of the process", "[trace]") {
  using tbb::global_control;
  const global_control four(global_control::max_allowed_parallelism, 4);
  Workers one(1);
  for (const auto& text : {few, busy, many_kinds}) {
    TraceOptions options{.samples = 1 << 10, .replicates = 2, .workers = &one, .paths = 0};
    options.progress = [](const Progress&) {
      CHECK(global_control::active_value(global_control::max_allowed_parallelism) == 4);
    };
    trace(scene_of(text), options);
    CHECK(global_control::active_value(global_control::max_allowed_parallelism) == 4);
  }
}
