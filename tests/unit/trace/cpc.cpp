// Compound parabolas traced: what enters by the opening is counted once, and all of it.
#include <catch2/catch.hpp>
#include <fmt/format.h>

#include "statistical/estimates.h"

namespace catoptra {

using namespace test;

namespace {

std::string trough_scene(double tilt_deg, std::string_view sun = point_sun, std::string_view mirror = "reflectance = 1",
                         std::string_view array = "") {
  return head(sun, mirror, {90, 90 - tilt_deg}) +
         component(
             "primary", "wall",
             fmt::format(
                 R"(shape = {{ kind = "cpc_trough", acceptance_half_angle_deg = 30, exit_width_m = 0.2, length_m = 400 }}
finish = "silver"
mount = {{ kind = "fixed" }}
{})",
                 array)) +
         component("receiver", "exit", R"(shape = { kind = "plane" }
aperture = { kind = "rectangle", width_m = 0.2, length_m = 400 }
finish = "black"
mount = { kind = "carried", by = "wall" })");
}

}  // namespace

TEST_CASE("a trough takes in all light within its half-angle, and none beyond", "[trace][cpc]") {
  // Exact in two dimensions: Winston, Minano and Benitez, Nonimaging Optics, 2005, chapter 4 (from memory).
  for (const double tilt_deg : {0.0, 17.0, 29.999, 30.001, 45.0}) {
    CAPTURE(tilt_deg);
    const TraceResult got = traced(trough_scene(tilt_deg), 1 << 15);
    check_closes(got);
    const double incident_W = 1000 * 0.4 * 400 * std::cos(tilt_deg * degree_rad);  // entrance 0.2 m / sin 30 degrees
    CHECK(got.aperture_area_m2 == Approx(0.4 * 400).epsilon(1e-12));
    CHECK(got.incident_power_W == Approx(incident_W).epsilon(1e-12));
    CHECK(std::fabs(term(got, Term::shading).value) <= 1e-9 * incident_W);
    const double share = term(got, Term::absorbed).value / incident_W;
    CHECK(share == Approx(tilt_deg < 30 ? 1 : 0).margin(1e-9));
    CHECK(got.intercept_factor.value == Approx(share).margin(1e-9));
    CHECK(got.receivers.front().direct_power_W.value == 0);  // that light came by the entrance
  }
}

TEST_CASE("copies have entrances of their own, and shade each other's", "[trace][cpc]") {
  const TraceResult got = traced(trough_scene(0, point_sun, "reflectance = 1",
                                              R"(array = { kind = "grid", count = [8, 1], spacing_m = [0.4001, 1] })"),
                                 1 << 16);
  check_closes(got);
  CHECK(got.aperture_area_m2 == Approx(8 * 0.4 * 400).epsilon(1e-12));
  CHECK(got.optical_efficiency.value == Approx(1).epsilon(1e-9));
}

TEST_CASE("light at the half-angle is reflected once", "[trace][cpc]") {
  // At the half-angle the line from the entrance's near edge ends on the exit's far edge, so all light meets the far
  // wall first, once, and goes from there to the exit's near edge; a hair inside that, it lands beside the edge.
  const TraceResult got = traced(trough_scene(29.9999, point_sun, "reflectance = 0.5"), 1 << 16);
  check_closes(got);
  CHECK(term(got, Term::absorbed).value + term(got, Term::primary_absorption).value ==
        Approx(got.incident_power_W).epsilon(1e-9));
  const double lost = term(got, Term::primary_absorption).value / got.incident_power_W;
  CHECK(lost == Approx(0.5).margin(1e-4));
}

TEST_CASE("as a secondary the wall has no entrance", "[trace][cpc]") {
  // The same concentrator at the end of a flat mirror's beam: light comes through its opening from below.
  const std::string text =
      head(point_sun) + component("primary", "floor", R"(shape = { kind = "plane" }
aperture = { kind = "circle", diameter_m = 0.3 }
finish = "silver"
mount = { kind = "fixed", axis = [0, 1, 2] })") +
      component("secondary", "cone", R"(shape = { kind = "cpc", acceptance_half_angle_deg = 30, exit_diameter_m = 0.2 }
finish = "silver"
mount = { kind = "fixed", position_m = [0, 4, 3], axis = [0, -4, -3] })") +
      component("receiver", "exit", R"(shape = { kind = "disc", diameter_m = 0.2 }
finish = "black"
mount = { kind = "carried", by = "cone" })");
  const TraceResult got = traced(text, 1 << 15);
  check_closes(got);
  CHECK(got.intercept_factor.value == Approx(1).epsilon(1e-12));
  CHECK(got.aperture_area_m2 == Approx(pi * 0.0225).epsilon(1e-12));
}

TEST_CASE("a receiver can't be a compound parabola", "[trace][cpc]") {
  std::string text = trough_scene(0);
  text +=
      component("receiver", "second", R"(shape = { kind = "cpc", acceptance_half_angle_deg = 30, exit_diameter_m = 0.2 }
finish = "black"
mount = { kind = "fixed" })");
  const auto outcome = read_scene_text(text, "s.toml");
  REQUIRE_FALSE(outcome.scene);
  CHECK(outcome.problems.front().text().find("receiver 'second' can't be a cpc") != std::string::npos);
}

}  // namespace catoptra
