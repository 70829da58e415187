// Budgets close within their measured errors: on every scene that we ship, and on random ones of all kinds.
#include <algorithm>
#include <filesystem>
#include <set>

#include "source_dir.h"
#include "statistical/estimates.h"
#include "support/random_scene.h"

using namespace catoptra;
using namespace catoptra::test;

namespace {

double errors_of(const TraceResult& got) {
  return std::fabs(got.closure.value) / got.closure.standard_error;
}

/// Would a hundredth part of the light that goes missing be seen?
bool sees_a_hundredth(const TraceResult& got) {
  const double lost_W = 0.01 * (std::fabs(got.incident_power_W) + std::fabs(got.closure.value));
  return lost_W > 5 * got.closure.standard_error;
}

bool says_it_is_open(const TraceResult& got) {
  return std::ranges::any_of(got.warnings, [](const std::string& w) { return w.find("does not close") != w.npos; });
}

/// A bowl's light, folded onto a receiver by a flat mirror that halves the way; invented.
const std::string folded = R"(schema = 1
[sun]
shape = { kind = "disc" }
azimuth_deg = 180
elevation_deg = 75
[finish.silver]
kind = "mirror"
reflectance = 0.9
slope_error_mrad = 2
[finish.black]
kind = "absorber"
absorptance = 0.9
[[primary]]
name = "bowl"
shape = { kind = "sphere", radius_m = 10 }
aperture = { kind = "circle", diameter_m = 6 }
finish = "silver"
mount = { kind = "fixed" }
[[secondary]]
name = "fold"
shape = { kind = "plane" }
aperture = { kind = "circle", diameter_m = 2 }
finish = "silver"
mount = { kind = "bisector", primary = "bowl", aim = "pot" }
[[receiver]]
name = "pot"
shape = { kind = "disc", diameter_m = 0.6 }
finish = "black"
mount = { kind = "fixed", position_m = [0, 0, 1] }
)";

}  // namespace

TEST_CASE("the budget of every scene in scenes/ closes", "[statistical][closure]") {
  int looked_at = 0;
  for (const auto& entry :
       std::filesystem::recursive_directory_iterator(std::string(CATOPTRA_SOURCE_DIR) + "/scenes")) {
    if (entry.path().extension() != ".toml") continue;
    INFO(entry.path().string());
    const ReadOutcome outcome = read_scene(entry.path().string());
    REQUIRE(outcome.scene);
    const TraceResult got = trace(*outcome.scene, {.samples = 1 << 16, .paths = 0});
    ++looked_at;
    CHECK(errors_of(got) < 5);
    CHECK(sees_a_hundredth(got));
    CHECK_FALSE(says_it_is_open(got));
  }
  CHECK(looked_at >= 30);
}

TEST_CASE("the budgets of 500 random scenes of all kinds close", "[statistical][closure]") {
  // Of 500 numbers that follow Student's t with 31 degrees of freedom, five errors are passed by one with p = 0.01.
  constexpr int scenes = 500;
  int seeing = 0, beyond_two = 0;
  std::set<std::string> met;
  const auto kinds = drawn_kinds();
  const auto meets_new = [&](const std::string& text) {
    const auto before = met.size();
    for (const std::string& kind : kinds) {
      if (text.find(kind) != std::string::npos) met.insert(kind);
    }
    return met.size() > before;
  };
  const auto closes = [&](const std::string& text) {
    const TraceResult got = traced(text, 1 << 15);
    if (!(got.closure.standard_error > 0)) FAIL("no error");
    CHECK(errors_of(got) < 5);
    CHECK_FALSE(says_it_is_open(got));
    return got;
  };
  for (int seed = 1; seed <= scenes; ++seed) {
    const std::string text = random_scene(static_cast<std::uint64_t>(seed));
    INFO("seed " << seed << "\n" << text);
    meets_new(text);
    const TraceResult got = closes(text);
    seeing += sees_a_hundredth(got) ? 1 : 0;
    beyond_two += errors_of(got) > 2.04 ? 1 : 0;
  }
  CHECK(seeing > 0.9 * scenes);  // else the check sees nothing
  CHECK(beyond_two < 0.05 * scenes + 5 * std::sqrt(0.05 * 0.95 * scenes));
  // The reader seldom takes a drawn bisector: it wants a sphere as primary, and room between that and the aim.
  meets_new(folded);
  closes(folded);
  for (const std::string& kind : kinds) {
    INFO(kind);
    CHECK(met.contains(kind));
  }
}

TEST_CASE("a random scene is a function of its seed", "[statistical][closure]") {
  CHECK(random_scene(7) == random_scene(7));
  CHECK(random_scene(7) != random_scene(8));
}
