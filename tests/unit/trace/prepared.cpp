// A prepared scene that was moved gives, to the bit, what the moved scene gives made ready anew.
#include "trace/prepared.h"

#include <atomic>
#include <catch2/catch.hpp>
#include <cmath>
#include <functional>
#include <set>
#include <stdexcept>
#include <thread>

#include "busy.h"
#include "source_dir.h"
#include "trace/search.h"
#include "trace/trace.h"

using namespace catoptra;
using namespace catoptra::test;

namespace {

Scene shipped(const std::string& name) {
  return *read_scene(std::string(CATOPTRA_SOURCE_DIR) + "/scenes/" + name + ".toml").scene;
}

/// The same scene for a sun that stands `turn_rad` further west, and a third as bright again.
Scene later(const Scene& scene, double turn_rad) {
  Scene out = scene;
  const Vec s = scene.sun.toward;
  const double c = std::cos(turn_rad), d = std::sin(turn_rad);
  out.sun.toward = unit(Vec{c * s.x - d * s.z, s.y, d * s.x + c * s.z});
  out.sun.dni_W_m2 *= 4.0 / 3;
  return out;
}

/// In a CHECK, without thousands of numbers where it fails.
bool same(const std::vector<std::uint64_t>& one, const std::vector<std::uint64_t>& other) {
  return one == other;
}

TraceOptions quick(Workers& workers) {
  return {.samples = 1 << 12, .seed = 3, .replicates = 4, .workers = &workers, .paths = 20};
}

void check_moves(const Scene& here, const Scene& there) {
  Workers alone(1);
  const auto at_first = bits(trace(here, quick(alone))), after = bits(trace(there, quick(alone)));
  REQUIRE_FALSE(same(at_first, after));
  for (const int count : {1, 2, 7}) {
    INFO(count << " workers");
    Workers workers(count);
    PreparedScene prepared(here);
    CHECK(same(bits(trace(prepared, quick(workers))), at_first));
    CHECK(same(bits(trace(prepared, quick(workers))), at_first));  // nothing of the last one is left over
    prepared.move(stand_of(there));
    CHECK(same(bits(trace(prepared, quick(workers))), after));
    PreparedScene copy(prepared);
    prepared.move(stand_of(here));
    CHECK(same(bits(trace(prepared, quick(workers))), at_first));
    CHECK(same(bits(trace(copy, quick(workers))), after));
  }
}

TEST_CASE("prepared: another sun and DNI, whatever finds the hits", "[trace][prepared]") {
  std::set<std::string> searches;
  for (const auto& text : {few, busy, many_kinds}) {
    const Scene scene = scene_of(text);
    searches.insert(make_search(make_plan(scene))->name().substr(0, 5));
    check_moves(scene, later(scene, 0.2));
  }
  CHECK(searches.size() == 3);
}

TEST_CASE("prepared: another sun, for every shipped scene: laws, covers, entrances, arrays", "[trace][prepared]") {
  for (const char* name : {"bowl", "bowl-line-absorber", "centre-cup", "centre-trough", "cpc-trough", "dish",
                           "dish-window", "tower", "trough", "trough-glass"}) {
    INFO(name);
    const Scene scene = shipped(name);
    check_moves(scene, later(scene, -0.1));
  }
}

TEST_CASE("prepared: other poses under the same sun", "[trace][prepared]") {
  const Scene bowl = shipped("bowl");
  Scene posed = bowl;
  for (Component& component : posed.components) {
    if (auto* mount = std::get_if<SteeredMount>(&component.mount)) {
      mount->offset_m = mount->offset_m + Vec{0.1, -0.05, 0.02};
      mount->roll_rad += 0.3;
    }
  }
  check_moves(bowl, posed);
}

TEST_CASE("prepared: of a field, only what moved is looked at anew", "[trace][prepared]") {
  // The receiver, the bowl or a fence moves, the heliostats stand; and the other way round. Lists and trees must
  // follow.
  const std::string fence = R"(
[[obstacle]]
name = "fence"
shape = { kind = "cylinder", radius_m = 0.15, length_m = 4 }
mount = { kind = "fixed", position_m = [0, 7, 2] }
array = { kind = "grid", count = [8, 1], spacing_m = [2, 1] }
)";
  for (const auto& text : {busy, many_kinds}) {
    const Scene scene = scene_of(text + fence);
    for (const std::string name : {"drum", "bowl", "fence", "heliostat"}) {
      INFO(name);
      Scene moved = scene;
      for (Component& component : moved.components) {
        if (component.name != name) continue;
        if (auto* fixed = std::get_if<FixedMount>(&component.mount)) fixed->position_m.x += 1.5;
        if (auto* heliostat = std::get_if<HeliostatMount>(&component.mount)) heliostat->position_m.y += 40;  // extent
      }
      check_moves(scene, moved);
    }
  }
}

TEST_CASE("prepared: the DNI alone", "[trace][prepared]") {
  const Scene scene = scene_of(few);
  Scene bright = scene;
  bright.sun.dni_W_m2 *= 1.25;
  check_moves(scene, bright);
}

TEST_CASE("prepared: options change from trace to trace", "[trace][prepared]") {
  Workers workers(2);
  const Scene scene = scene_of(busy);
  PreparedScene prepared(scene);
  for (const int replicates : {2, 5, 3}) {
    for (const Numbers numbers : {Numbers::pseudo_random, Numbers::scrambled_sobol}) {
      TraceOptions options = quick(workers);
      options.replicates = replicates;
      options.numbers = numbers;
      CHECK(same(bits(trace(prepared, options)), bits(trace(scene, options))));
    }
  }
}

TEST_CASE("prepared: another scene's layout is refused, and nothing has moved", "[trace][prepared]") {
  Workers workers(1);
  const Scene scene = scene_of(busy);
  PreparedScene prepared(scene);
  const auto before = bits(trace(prepared, quick(workers)));
  CHECK_THROWS_AS(prepared.move(stand_of(scene_of(few))), std::invalid_argument);
  Stand swapped = stand_of(scene);
  std::swap(swapped.layout.placed.front(), swapped.layout.placed.back());
  CHECK_THROWS_AS(prepared.move(swapped), std::invalid_argument);
  CHECK(same(bits(trace(prepared, quick(workers))), before));
}

TEST_CASE("prepared: two callers with workers of their own, at once", "[trace][prepared]") {
  const Scene one = scene_of(busy), other = scene_of(many_kinds);
  Workers alone(1);
  const auto of_one = bits(trace(one, quick(alone))), of_other = bits(trace(other, quick(alone)));
  std::atomic<int> wrong = 0;
  {
    const auto caller = [&](const Scene& scene, const std::vector<std::uint64_t>& expected) {
      Workers own(2);
      PreparedScene prepared(scene);
      for (int i = 0; i < 5; ++i) {
        prepared.move(stand_of(later(scene, 0.1)));
        prepared.move(stand_of(scene));
        if (bits(trace(prepared, quick(own))) != expected) ++wrong;
      }
    };
    const std::jthread first([&] { caller(one, of_one); });
    const std::jthread second([&] { caller(other, of_other); });
  }
  CHECK(wrong == 0);
}

TEST_CASE("many cases in one call: each as a trace of its own, side by side or one after the other",
          "[trace][prepared]") {
  const Scene scene = scene_of(busy);
  Workers alone(1);
  std::vector<SeededStand> cases;
  std::vector<std::vector<std::uint64_t>> expected;
  for (int i = 0; i < 9; ++i) {
    const Scene moved = later(scene, 0.02 * i);
    cases.push_back({stand_of(moved), static_cast<std::uint64_t>(10 + i)});
    TraceOptions options = quick(alone);
    options.seed = cases.back().seed;
    expected.push_back(bits(trace(moved, options)));
  }
  const PreparedScene prepared(scene);
  for (const int count : {1, 2, 7}) {
    Workers workers(count);
    const auto found = trace_each(prepared, cases, quick(workers));
    REQUIRE(found.size() == cases.size());
    for (std::size_t i = 0; i < cases.size(); ++i) CHECK(same(bits(found[i].value()), expected[i]));
  }
  TraceOptions with_progress = quick(alone);
  with_progress.progress = [](const Progress&) {};
  CHECK_THROWS_AS(trace_each(prepared, cases, with_progress), std::invalid_argument);
}

TEST_CASE("stop: from another thread; what is done stays, and before anything is done it is told", "[trace][stop]") {
  const Scene scene = scene_of(few);
  Workers workers(2);
  PreparedScene prepared(scene);
  Stop stop;
  TraceOptions options{.samples = std::uint64_t{1} << 36, .workers = &workers, .paths = 0, .stop = &stop};
  std::atomic<bool> begun = false;
  options.commit = [&](const std::function<RunState()>&) { begun = true; };
  const std::jthread other([&] {
    while (!begun) std::this_thread::yield();
    stop.ask();
  });
  const TraceResult result = trace(prepared, options);
  CHECK(result.interrupted);
  CHECK(result.samples > 0);
  CHECK(result.samples < options.samples);
  CHECK(std::fabs(result.closure.value) <= 5 * result.closure.standard_error);
  CHECK_THROWS_AS(trace(prepared, options), StoppedEarly);
  for (const auto& one : trace_each(prepared, std::vector<SeededStand>(3, {stand_of(scene), 1}),
                                    {.samples = 1 << 10, .replicates = 2, .workers = &workers, .stop = &stop}))
    CHECK_FALSE(one.has_value());
  // What the cut trace has left behind is in no later one.
  Workers alone(1);
  CHECK(same(bits(trace(prepared, quick(alone))), bits(trace(scene, quick(alone)))));
}

}  // namespace
