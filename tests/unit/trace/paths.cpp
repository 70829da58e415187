// The paths that a result keeps: where their points lie, and that their fates are those of the budget.
#include <catch2/catch.hpp>

#include "scene/read.h"
#include "trace/trace.h"

namespace catoptra {

namespace {

// A dish that looks straight up at the sun; its receiver, which shades it, is too small for all of the light.
constexpr const char* small_receiver = R"(schema = 1
[sun]
dni_W_m2 = 1000
azimuth_deg = 180
elevation_deg = 90
[finish.silver]
kind = "mirror"
reflectance = 0.9
slope_error_mrad = 5
[finish.black]
kind = "absorber"
absorptance = 0.95
[[primary]]
name = "dish"
shape = { kind = "paraboloid", focal_length_m = 5 }
aperture = { kind = "circle", diameter_m = 8 }
finish = "silver"
mount = { kind = "fixed" }
[[receiver]]
name = "target"
shape = { kind = "disc", diameter_m = 0.1 }
finish = "black"
mount = { kind = "fixed", position_m = [0, 0, 5], axis = [0, 0, -1] }
[[obstacle]]
name = "housing"
shape = { kind = "disc", diameter_m = 2 }
mount = { kind = "fixed", position_m = [0, 0, 8] }
)";

constexpr int many = 1 << 14;

TraceResult traced(int paths) {
  ReadOutcome outcome = read_scene_text(small_receiver, "dish.toml");
  REQUIRE(outcome.scene);
  return trace(*outcome.scene, {.samples = 1 << 18, .paths = paths});
}

double share(const TraceResult& result, Fate fate) {
  double count = 0;
  for (const RayPath& path : result.paths) count += path.fate == fate ? 1 : 0;
  return count / static_cast<double>(result.paths.size());
}

}  // namespace

TEST_CASE("paths go from the sun by way of the mirror to where most of their power ends", "[trace][paths]") {
  const TraceResult got = traced(many);
  REQUIRE(got.paths.size() == many);
  int wrong = 0;
  const auto check = [&](bool right) { wrong += right ? 0 : 1; };
  for (const RayPath& path : got.paths) {
    const auto& v = path.vertices_m;
    if (path.fate == Fate::shading) {
      // Ends on the housing or on the back of the receiver, before it comes to the mirror.
      check(v.size() == 2);
      check(std::fabs(v[1].z - 8) < 1e-9 || std::fabs(v[1].z - 5) < 1e-9);
      check(std::hypot(v[1].x, v[1].y) <= 1);
      continue;
    }
    check(v.size() == 3);
    // z = r^2 / 4 f
    check(std::fabs(v[1].z - (v[1].x * v[1].x + v[1].y * v[1].y) / 20) < 1e-9);
    const Vec in = unit(v[1] - v[0]);
    // The sun's disc: 4.65 mrad and a little to spare.
    check(length(cross(in, Vec{0, 0, -1})) < 4.7e-3);
    if (path.fate != Fate::absorbed) continue;
    check(std::fabs(v[2].z - 5) < 1e-9);
    check(std::hypot(v[2].x, v[2].y) <= 0.05 + 1e-9);
    // 90 % of the sample's share of the incident power come to the receiver, which keeps 95 % of them. A share that
    // comes from the sun's edge differs by 4.65 mrad times the slope, which is 0.4 at the rim.
    check(std::fabs(path.power_W - 0.95 * 0.9 * got.incident_power_W / many) < 2e-3 * path.power_W);
  }
  CHECK(wrong == 0);
  CHECK(got.paths.front().vertices_m.front().z > 5);
}

TEST_CASE("as many paths have a fate as the budget has power for it", "[trace][paths]") {
  const TraceResult got = traced(many);
  const auto power = [&](Term term) { return got.budget[static_cast<std::size_t>(term)].value / got.incident_power_W; };
  // Shares of the samples: what is lost to a term is that share of what came to it.
  const double arriving = power(Term::absorbed) / (0.9 * 0.95);
  const auto agrees = [&](Fate fate, double expected) {
    // The counts are spread no wider than a binomial law, since the samples are stratified.
    const double error = std::sqrt(expected * (1 - expected) / many);
    return std::fabs(share(got, fate) - expected) < 4 * error;
  };
  CHECK(power(Term::shading) > 0.05);
  CHECK(power(Term::spillage) > 0.05);
  CHECK(agrees(Fate::shading, power(Term::shading)));
  CHECK(agrees(Fate::absorbed, arriving));
  CHECK(agrees(Fate::spillage, power(Term::spillage) / 0.9));
  CHECK(agrees(Fate::blocking, power(Term::blocking) / 0.9));
  CHECK_FALSE(agrees(Fate::absorbed, 0.95 * arriving));  // as it would be if what is sent back decided
  CHECK(share(got, Fate::receiver_reflection) == 0);
}

TEST_CASE("a path depends on its number alone", "[trace][paths]") {
  const TraceResult few = traced(10), more = traced(300);
  for (std::size_t i = 0; i < few.paths.size(); ++i) CHECK(few.paths[i].vertices_m == more.paths[i].vertices_m);
}

}  // namespace catoptra
