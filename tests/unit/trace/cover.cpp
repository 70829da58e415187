// Covers traced: what passes, what is booked as their loss, and that they shade nothing.
#include <catch2/catch.hpp>
#include <fmt/format.h>

#include "optics/dielectric.h"
#include "statistical/estimates.h"

namespace catoptra {

using namespace test;

namespace {

const std::string glass_finish = R"([finish.pane]
kind = "glass"
refractive_index = 1.5
thickness_m = 0.004
absorption_per_m = 10
)";
constexpr Pane pane{1.5, 0.004, 10};

double passes(double angle_deg) {
  return shares_of(pane, std::cos(angle_deg * degree_rad)).transmitted;
}

/// A flat mirror that throws the light of a sun straight overhead north, onto an absorber.
std::string beam(const std::string& more, std::string_view absorptance = "1", std::string_view sun = point_sun) {
  return head(sun) + glass_finish + fmt::format("[finish.grey]\nkind = \"absorber\"\nabsorptance = {}\n", absorptance) +
         component("primary", "fold", R"(shape = { kind = "plane" }
aperture = { kind = "rectangle", width_m = 0.1, length_m = 0.1 }
finish = "silver"
mount = { kind = "fixed", axis = [0, 1, 1] })") +
         component("receiver", "end", R"(shape = { kind = "plane" }
aperture = { kind = "rectangle", width_m = 1, length_m = 1 }
finish = "grey"
mount = { kind = "fixed", position_m = [0, 8, 0], axis = [0, -1, 1] })") +
         more;
}

std::string leaning_pane(std::string_view name, double y_m, double angle_deg) {
  return component("cover", name,
                   fmt::format(R"(shape = {{ kind = "plane" }}
aperture = {{ kind = "rectangle", width_m = 3, length_m = 3 }}
finish = "pane"
mount = {{ kind = "fixed", position_m = [0, {}, 0], axis = [{:.17g}, {:.17g}, 0] }})",
                               y_m, std::sin(angle_deg * degree_rad), std::cos(angle_deg * degree_rad)));
}

}  // namespace

TEST_CASE("a pane in the beam takes its share, and the budget says so", "[trace][cover]") {
  for (const double angle_deg : {0.0, 45.0, 60.0}) {
    const TraceResult got = traced(beam(leaning_pane("pane", 4, angle_deg)), 1 << 13);
    check_closes(got);
    CHECK(term(got, Term::absorbed).value == Approx(got.incident_power_W * passes(angle_deg)).epsilon(1e-10));
    CHECK(term(got, Term::cover_loss).value == Approx(got.incident_power_W * (1 - passes(angle_deg))).epsilon(1e-10));
    CHECK(std::fabs(term(got, Term::spillage).value) < 1e-9);
    CHECK(got.intercept_factor.value == 1);
  }
  const TraceResult two = traced(beam(leaning_pane("near", 3, 0) + leaning_pane("far", 5, 60)), 1 << 13);
  CHECK(term(two, Term::absorbed).value == Approx(two.incident_power_W * passes(0) * passes(60)).epsilon(1e-10));
}

TEST_CASE("a roof of glass dims the sun and shades nothing", "[trace][cover]") {
  const std::string roof = component("cover", "roof", R"(shape = { kind = "plane" }
aperture = { kind = "rectangle", width_m = 50, length_m = 50 }
finish = "pane"
mount = { kind = "fixed", position_m = [0, 0, 3] })");
  const TraceResult got = traced(beam(roof), 1 << 13);
  check_closes(got);
  CHECK(got.incident_power_W == Approx(1000 * 0.01 * std::cos(pi / 4)).epsilon(1e-12));
  CHECK(std::fabs(term(got, Term::shading).value) < 1e-9);
  CHECK(term(got, Term::absorbed).value == Approx(got.incident_power_W * passes(0)).epsilon(1e-10));
  // The absorber leans toward the sun as well: its own light, through the roof, stays apart.
  CHECK(got.receivers.front().direct_power_W.value == Approx(1000 * std::cos(pi / 4) * passes(0)).epsilon(1e-9));
  const TraceResult without = traced(beam(""), 1 << 13);
  CHECK(without.receivers.front().direct_power_W.value == Approx(1000 * std::cos(pi / 4)).epsilon(1e-9));
}

TEST_CASE("a shadow ray crosses both walls of a glass ball, and many panes", "[trace][cover]") {
  // A ball about the mirror: from its centre every ray meets the wall straight on, once.
  const std::string ball = component("cover", "bulb", R"(shape = { kind = "ball", radius_m = 1 }
finish = "pane"
mount = { kind = "fixed" })");
  std::string small = beam(ball);
  small.replace(small.find("width_m = 0.1, length_m = 0.1"), 29, "width_m = 1e-6, length_m = 1e-6");
  const TraceResult in_bulb = traced(small, 1 << 13);
  CHECK(term(in_bulb, Term::absorbed).value == Approx(in_bulb.incident_power_W * passes(0) * passes(0)).epsilon(1e-9));
  // One that hangs above it is crossed twice on the way down.
  std::string above = small;
  above.replace(above.find("mount = { kind = \"fixed\" }"), 26, "mount = { kind = \"fixed\", position_m = [0, 0, 4] }");
  const TraceResult under = traced(above, 1 << 13);
  CHECK(term(under, Term::absorbed).value == Approx(under.incident_power_W * passes(0) * passes(0)).epsilon(1e-9));
  // Forty panes in an array, which Embree searches.
  const std::string stack = component("cover", "stack", R"(shape = { kind = "plane" }
aperture = { kind = "rectangle", width_m = 2, length_m = 2 }
finish = "pane"
mount = { kind = "fixed", position_m = [0, 4, 0], axis = [0, 1, 0] }
array = { kind = "grid", count = [1, 40], spacing_m = [1, 0.05] })");
  const TraceResult through = traced(beam(stack), 1 << 13);
  check_closes(through);
  CHECK(term(through, Term::absorbed).value / through.incident_power_W ==
        Approx(std::pow(passes(0), 40)).epsilon(0.02));  // some rays are weak enough for roulette
}

TEST_CASE("what a receiver sends back through its window was booked before", "[trace][cover]") {
  const TraceResult got = traced(beam(leaning_pane("pane", 4, 0), "0.4"), 1 << 13);
  check_closes(got);
  const double arrived_W = got.incident_power_W * passes(0);
  CHECK(term(got, Term::absorbed).value == Approx(0.4 * arrived_W).epsilon(1e-10));
  CHECK(term(got, Term::receiver_reflection).value == Approx(0.6 * arrived_W).epsilon(1e-10));
  CHECK(term(got, Term::cover_loss).value == Approx(got.incident_power_W - arrived_W).epsilon(1e-9));
}

TEST_CASE("a pane over a compound parabola: light enters by it and the entrance", "[trace][cover][cpc]") {
  const std::string text =
      head(point_sun, "reflectance = 1", {90, 70}) + glass_finish +
      component("primary", "wall",
                R"(shape = { kind = "cpc_trough", acceptance_half_angle_deg = 30, exit_width_m = 0.2, length_m = 400 }
finish = "silver"
mount = { kind = "fixed" })") +
      component("receiver", "exit", R"(shape = { kind = "plane" }
aperture = { kind = "rectangle", width_m = 0.2, length_m = 400 }
finish = "black"
mount = { kind = "fixed" })") +
      component("cover", "lid", R"(shape = { kind = "plane" }
aperture = { kind = "rectangle", width_m = 2, length_m = 402 }
finish = "pane"
mount = { kind = "fixed", position_m = [0, 0, 0.53] })");
  const TraceResult got = traced(text, 1 << 13);
  check_closes(got);
  CHECK(term(got, Term::absorbed).value == Approx(got.incident_power_W * passes(20)).epsilon(1e-9));
  CHECK(got.receivers.front().direct_power_W.value == 0);

  std::string in_it = text;  // (0.1 + 0.2) / tan 30 degrees high
  in_it.replace(in_it.find("0, 0, 0.53"), 10, "0, 0, 0.51961524227066325");
  const auto outcome = read_scene_text(in_it, "s.toml");
  REQUIRE_FALSE(outcome.scene);
  CHECK(outcome.problems.front().text().find("cover 'lid' lies in the entrance of primary 'wall'") !=
        std::string::npos);
}

TEST_CASE("covers are of glass, and nothing else is", "[trace][cover]") {
  const auto complaint = [](std::string text, const std::string& from, const std::string& to) {
    text.replace(text.find(from), from.size(), to);
    const auto outcome = read_scene_text(text, "s.toml");
    REQUIRE_FALSE(outcome.scene);
    return outcome.problems.front().text();
  };
  const std::string scene = beam(leaning_pane("pane", 4, 0));
  CHECK(complaint(scene, "finish = \"pane\"", "finish = \"silver\"").find("cover 'pane' is not of glass") !=
        std::string::npos);
  CHECK(complaint(scene, "finish = \"grey\"", "finish = \"pane\"").find("'finish' of receiver 'end' is glass") !=
        std::string::npos);
  CHECK(complaint(scene, "finish = \"pane\"", "finish = \"pane\"\nback = \"pane\"").find("unknown key 'back'") !=
        std::string::npos);
}

}  // namespace catoptra
