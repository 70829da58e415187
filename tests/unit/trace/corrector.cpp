// Correctors in the engine: a point sun, perfect mirrors, and a ball of a billionth of the primary's radius at the
// focus, a micrometre for a radius of a kilometre. All light that the corrector serves must end on that ball.
#include <catch2/catch.hpp>
#include <fmt/format.h>
#include <string>

#include "scene/read.h"
#include "trace/plan.h"
#include "trace/trace.h"

namespace catoptra {
namespace {

/// Sun straight above; the mirror of radius 1 km (paraboloid: f = 500 m) stands on the ground, the corrector over it.
std::string scene_of(const std::string& primary, const std::string& aperture, const std::string& corrector,
                     double focus_m, const std::string& receiver, double off_m = 0) {
  return R"(schema = 1
[sun]
shape = { kind = "point" }
azimuth_deg = 180
elevation_deg = 90
[finish.perfect]
kind = "mirror"
reflectance = 1
[finish.black]
kind = "absorber"
absorptance = 1
[[primary]]
name = "bowl"
shape = )" +
         primary + R"(
aperture = )" +
         aperture + R"(
finish = "perfect"
mount = { kind = "fixed" }
[[secondary]]
name = "corrector"
shape = )" +
         corrector + R"(
finish = "perfect"
mount = { kind = "fixed", position_m = [0, 0, )" +
         std::to_string(focus_m) + R"(] }
[[receiver]]
name = "point"
shape = )" +
         receiver + R"(
finish = "black"
back = "black"
mount = { kind = "fixed", position_m = [)" +
         fmt::format("{}", off_m) + ", 0, " + std::to_string(focus_m) + R"(], axis = [0, 1, 0] }
)";
}

TraceResult traced(const std::string& text) {
  const ReadOutcome outcome = read_scene_text(text, "corrector.toml");
  for (const auto& problem : outcome.problems) UNSCOPED_INFO(problem.text());
  REQUIRE(outcome.scene);
  return trace(*outcome.scene, {.samples = 1 << 16, .paths = 0});
}

double term(const TraceResult& result, Term which) {
  return result.budget[static_cast<std::size_t>(which)].value;
}

struct Bench {
  const char* name;
  const char* primary;
  double beam_m, focus_m, through_m;
};
const Bench round_benches[] = {
    {"beyond the focus", R"({ kind = "sphere", radius_m = 1000 })", 1000, 400, 600},
    {"before the focus", R"({ kind = "sphere", radius_m = 1000 })", 1000, 50, 300},
    {"centre cup", R"({ kind = "sphere", radius_m = 1000 })", 1000, 1000, 1050},
    {"paraboloid, before", R"({ kind = "paraboloid", focal_length_m = 500 })", 1200, 100, 300},
    {"ellipsoid, beyond", R"({ kind = "conic", radius_of_curvature_m = 1000, conic_constant = -0.6 })", 1200, 300, 800},
};
const char* const tiny_ball = R"({ kind = "ball", radius_m = 1e-6 })";
const char* const thin_tube = R"({ kind = "cylinder", radius_m = 1e-6, length_m = 3000 })";

std::string corrector_of(const Bench& bench) {
  return R"({ kind = "corrector", primary = "bowl", focus_m = )" + std::to_string(bench.focus_m) +
         ", through_m = " + std::to_string(bench.through_m) + ", beam_diameter_m = " + std::to_string(bench.beam_m) +
         " }";
}

void check_all_arrives(const TraceResult& got) {
  const double full = got.dni_W_m2 * got.aperture_area_m2;
  CHECK(std::fabs(got.closure.value) <= 5 * got.closure.standard_error);
  // What is not in the corrector's own shadow arrives, every ray of it.
  CHECK(term(got, Term::spillage) == 0);
  CHECK(term(got, Term::absorbed) > 0.3 * full);
  const double missing = full - (term(got, Term::absorbed) + term(got, Term::shading) + term(got, Term::blocking));
  CHECK(std::fabs(missing) <= 5 * got.closure.standard_error);
  CHECK(got.closure.standard_error < 1e-4 * full);
}

}  // namespace

TEST_CASE("a corrector's light meets at the focus to 1e-9 of the primary's radius", "[trace][corrector]") {
  for (const Bench& bench : round_benches) {
    CAPTURE(bench.name);
    const std::string aperture = R"({ kind = "circle", diameter_m = )" + std::to_string(0.9999 * bench.beam_m) + " }";
    check_all_arrives(traced(scene_of(bench.primary, aperture, corrector_of(bench), bench.focus_m, tiny_ball)));
    // Three millionths of a metre beside it there is nothing.
    const auto beside = traced(scene_of(bench.primary, aperture, corrector_of(bench), bench.focus_m, tiny_ball, 3e-6));
    CHECK(term(beside, Term::absorbed) == 0);
  }
}

TEST_CASE("the cup drawn out: its light meets in the tube's axis", "[trace][corrector]") {
  const std::string mirror = R"({ kind = "circular_trough", radius_m = 1000 })";
  const std::string aperture = R"({ kind = "rectangle", width_m = 999.9, length_m = 2000 })";
  const std::string cup = R"({ kind = "trough_corrector", primary = "bowl", focus_m = 1000, through_m = 1050, )"
                          R"(beam_width_m = 1000, length_m = 3000 })";
  check_all_arrives(traced(scene_of(mirror, aperture, cup, 1000, thin_tube)));
}

TEST_CASE("what lies outside the served beam is lost, and no more", "[trace][corrector]") {
  // The ring between the served beam and the primary's rim holds 1 - (1000/1001)^2 of the primary; none of it arrives.
  const Bench& bench = round_benches[2];
  const auto got = traced(scene_of(bench.primary, R"({ kind = "circle", diameter_m = 1001 })", corrector_of(bench),
                                   bench.focus_m, tiny_ball));
  const double full = got.dni_W_m2 * got.aperture_area_m2, ring = full * (1 - 1e6 / (1001.0 * 1001.0));
  const double lost = term(got, Term::spillage) + term(got, Term::blocking);
  const double error = got.budget[static_cast<std::size_t>(Term::spillage)].standard_error +
                       got.budget[static_cast<std::size_t>(Term::blocking)].standard_error;
  CHECK(std::fabs(lost - ring) <= 5 * error);
  CHECK(std::fabs(lost - 1.2 * ring) > 5 * error);
}

TEST_CASE("a sphere turned about its centre: the cup's focus stays as the sun moves", "[trace][corrector]") {
  // The sun 20 degrees from overhead, the cup turned with it; the bowl is wide enough to be met by the whole beam.
  std::string text = scene_of(R"({ kind = "sphere", radius_m = 1000 })", R"({ kind = "circle", diameter_m = 1600 })",
                              corrector_of(round_benches[2]), 1000, tiny_ball);
  const auto change = [&](const std::string& from, const std::string& to) {
    const auto at = text.find(from);
    REQUIRE(at != std::string::npos);
    text.replace(at, from.size(), to);
  };
  change("elevation_deg = 90", "elevation_deg = 70");
  change(R"(mount = { kind = "fixed", position_m = [0, 0, 1000.000000] })",
         R"(mount = { kind = "two_axis", pivot_m = [0, 0, 1000] })");
  const auto got = traced(text);
  // The beam less the shade of the cup at its widest, both circles across the sun; what falls outside the beam is lost.
  const auto cup = make_plan(*read_scene_text(text, "corrector.toml").scene).components[1].surface;
  const double wide = std::get<Corrector>(cup).profile().width_m();
  const double want = got.dni_W_m2 * pi * (500.0 * 500.0 - wide * wide);
  const Estimate absorbed = got.budget[static_cast<std::size_t>(Term::absorbed)];
  CHECK(std::fabs(absorbed.value - want) <= 5 * absorbed.standard_error);
  CHECK(std::fabs(absorbed.value - 1.01 * want) > 5 * absorbed.standard_error);
}

}  // namespace catoptra
