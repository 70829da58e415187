// Whose doing a loss was: bodies that stand alone in a beam take its cross-section, in closed form.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <fmt/format.h>
#include <fstream>
#include <iterator>

#include "optics/dielectric.h"
#include "scene/read.h"
#include "source_dir.h"
#include "statistical/estimates.h"

namespace catoptra {

using namespace test;

namespace {

const ComponentPowers& of(const TraceResult& got, std::string_view name) {
  const auto found = std::ranges::find(got.by_component, name, &ComponentPowers::name);
  REQUIRE(found != got.by_component.end());
  return *found;
}

const Estimate& power(const TraceResult& got, std::string_view name, Term t) {
  return of(got, name).terms[static_cast<std::size_t>(t)];
}

void check_adds_to_budget(const TraceResult& got) {
  for (std::size_t t = 0; t < term_count; ++t) {
    double sum_W = 0;
    for (const ComponentPowers& component : got.by_component) sum_W += component.terms[t].value;
    CHECK(sum_W == Approx(got.budget[t].value).epsilon(1e-12).margin(1e-9));
  }
}

std::string ball(std::string_view name, double radius_m, double x_m, double y_m, double z_m) {
  return component("obstacle", name,
                   fmt::format(R"(shape = {{ kind = "ball", radius_m = {} }}
finish = "dark"
mount = {{ kind = "fixed", position_m = [{}, {}, {}] }})",
                               radius_m, x_m, y_m, z_m));
}

/// A flat mirror on the ground, 10 m by 10 m.
std::string ground(const std::string& more) {
  return component("primary", "ground", R"(shape = { kind = "plane" }
aperture = { kind = "rectangle", width_m = 10, length_m = 10 }
finish = "silver"
mount = { kind = "fixed" })") +
         more;
}

}  // namespace

TEST_CASE("bodies that shade and bodies that block are told apart", "[trace][by_component]") {
  // Light comes down toward -x and goes up toward -x. East of the mirror stand two balls, whose shadows fall on its
  // east half while no light that it throws meets them; west of it two that meet what its west half throws.
  const TraceResult got = traced(head(point_sun, "reflectance = 0.9", {90, 45}) +
                                     ground(ball("small shade", 0.5, 6, -2, 3) + ball("large shade", 1, 6, 2, 4) +
                                            ball("small stop", 0.5, -6, -2, 3) + ball("large stop", 1, -6, 2, 4)),
                                 1 << 18);
  const double beam_W_m2 = got.dni_W_m2;
  CHECK_THAT(power(got, "small shade", Term::shading), WithinSigmas(beam_W_m2 * pi / 4, 5));
  CHECK_THAT(power(got, "large shade", Term::shading), WithinSigmas(beam_W_m2 * pi, 5));
  CHECK_THAT(power(got, "large shade", Term::shading), !WithinSigmas(1.02 * beam_W_m2 * pi, 5));
  CHECK_THAT(power(got, "small stop", Term::blocking), WithinSigmas(0.9 * beam_W_m2 * pi / 4, 5));
  CHECK_THAT(power(got, "large stop", Term::blocking), WithinSigmas(0.9 * beam_W_m2 * pi, 5));
  CHECK_THAT(power(got, "large stop", Term::blocking), !WithinSigmas(0.92 * beam_W_m2 * pi, 5));
  CHECK(power(got, "small shade", Term::blocking).value == 0);
  CHECK(power(got, "small stop", Term::shading).value == 0);
  // What meets nothing is spilt by the mirror, whose cosine it is, too.
  CHECK(power(got, "ground", Term::spillage).value == term(got, Term::spillage).value);
  CHECK(power(got, "ground", Term::cosine).value == Approx(beam_W_m2 * 100 * (1 - std::sqrt(0.5))));
  check_adds_to_budget(got);
  check_closes(got);
}

TEST_CASE("of two bodies one behind the other the nearer one shades", "[trace][by_component]") {
  const TraceResult got =
      traced(head(point_sun) + ground(ball("near", 1, 0, 0, 3) + ball("far", 2, 0, 0, 20)), 1 << 18);
  const double beam_W_m2 = got.dni_W_m2;
  CHECK_THAT(power(got, "near", Term::shading), WithinSigmas(beam_W_m2 * pi, 5));
  CHECK_THAT(power(got, "far", Term::shading), WithinSigmas(beam_W_m2 * 3 * pi, 5));
  CHECK_THAT(power(got, "far", Term::shading), !WithinSigmas(beam_W_m2 * 4 * pi, 5));
  check_adds_to_budget(got);
}

TEST_CASE("of two panes over a mirror the outer one has the whole light", "[trace][by_component]") {
  const std::string glass = R"([finish.clear]
kind = "glass"
refractive_index = 1.5
thickness_m = 0.004
absorption_per_m = 10
[finish.grey_glass]
kind = "glass"
refractive_index = 1.6
thickness_m = 0.01
absorption_per_m = 60
)";
  const auto pane = [](std::string_view name, std::string_view finish, double z_m) {
    return component("cover", name,
                     fmt::format(R"(shape = {{ kind = "plane" }}
aperture = {{ kind = "rectangle", width_m = 30, length_m = 30 }}
finish = "{}"
mount = {{ kind = "fixed", position_m = [0, 0, {}] }})",
                                 finish, z_m));
  };
  // A mirror that tilts throws the light sideways, below the panes, so that it passes them once.
  const std::string tilted = component("primary", "ground", R"(shape = { kind = "plane" }
aperture = { kind = "rectangle", width_m = 1, length_m = 1 }
finish = "silver"
mount = { kind = "fixed", axis = [1, 0, 1] })");
  const TraceResult got =
      traced(head(point_sun) + glass + tilted + pane("inner", "clear", 3) + pane("outer", "grey_glass", 5), 1 << 13);
  const double inner = shares_of(Pane{1.5, 0.004, 10}, 1.0).transmitted;
  const double outer = shares_of(Pane{1.6, 0.01, 60}, 1.0).transmitted;
  CHECK(power(got, "outer", Term::cover_loss).value == Approx(got.incident_power_W * (1 - outer)).epsilon(1e-9));
  CHECK(power(got, "inner", Term::cover_loss).value ==
        Approx(got.incident_power_W * outer * (1 - inner)).epsilon(1e-9));
  check_adds_to_budget(got);
}

TEST_CASE("light that enters an opening is lost to the wall behind it", "[trace][by_component]") {
  // A flat mirror stands before the troughs in the file: each has its own cosine.
  std::ifstream file(std::string(CATOPTRA_SOURCE_DIR) + "/scenes/cpc-trough.toml");
  std::string text{std::istreambuf_iterator<char>(file), {}};
  text.insert(text.find("[[primary]]"), component("primary", "table", R"(shape = { kind = "plane" }
aperture = { kind = "rectangle", width_m = 3, length_m = 3 }
finish = "aluminium"
mount = { kind = "fixed", position_m = [0, 50, 0] })"));
  const Scene scene = scene_of(text);
  const TraceResult got = trace(scene, {.samples = 1 << 14, .paths = 0});
  REQUIRE(got.by_component.size() == scene.components.size());
  for (std::size_t c = 0; c < got.by_component.size(); ++c) CHECK(got.by_component[c].name == scene.components[c].name);
  CHECK(power(got, "table", Term::cosine).value == Approx(got.dni_W_m2 * 9 * (1 - got.to_sun.z)).epsilon(1e-9));
  CHECK(power(got, "troughs", Term::cosine).value > 0);
  CHECK(power(got, "table", Term::spillage).value > 0);
  check_adds_to_budget(got);
}

}  // namespace catoptra
