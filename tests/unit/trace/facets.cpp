// Facets in the engine: a point sun on the axis, perfect flat facets canted to a focus, and receivers in the plane of
// that focus whose share of the light has a closed form. docs/theory/facets.md, "What a flat facet's image is".
#include <catch2/catch.hpp>
#include <cmath>
#include <fmt/format.h>
#include <string>

#include "numeric/lanes.h"
#include "scene/read.h"
#include "trace/trace.h"

namespace catoptra {
namespace {

constexpr double focus_m = 4;

/// Sun straight above; facets of `width_m` squared on the ground, a receiver that looks down at them from the focus.
std::string scene_of(double width_m, const std::string& facets, const std::string& receiver) {
  return fmt::format(R"(schema = 1
[sun]
shape = {{ kind = "point" }}
azimuth_deg = 180
elevation_deg = 90
[finish.perfect]
kind = "mirror"
reflectance = 1
[finish.black]
kind = "absorber"
absorptance = 1
[[primary]]
name = "panels"
shape = {{ kind = "plane" }}
aperture = {{ kind = "rectangle", width_m = {0}, length_m = {0} }}
facets = {1}
finish = "perfect"
mount = {{ kind = "fixed" }}
[[receiver]]
name = "target"
shape = {{ kind = "plane" }}
aperture = {2}
finish = "black"
mount = {{ kind = "fixed", position_m = [0, 0, {3}], axis = [0, 0, -1] }}
)",
                     width_m, facets, receiver, focus_m);
}

Estimate intercept(const std::string& text) {
  const ReadOutcome outcome = read_scene_text(text, "facets.toml");
  for (const auto& problem : outcome.problems) UNSCOPED_INFO(problem.text());
  REQUIRE(outcome.scene);
  return trace(*outcome.scene, {.samples = 1 << 17, .paths = 0}).intercept_factor;
}

std::string square(double side_m) {
  return fmt::format("{{ kind = \"rectangle\", width_m = {0}, length_m = {0} }}", side_m);
}

TEST_CASE("facets: every panel's middle sends the sun through the focus", "[trace][facets]") {
  // Panels of a millimetre: their images, of a millimetre too, lie within a circle of its diagonal and the obliquity.
  const double r = std::hypot(2.5, 1.5) * 0.301, t = std::atan(r / focus_m);
  const double widest_m = 1e-3 * std::hypot(1, 1) * std::cos(t / 2) / std::cos(t);
  for (const std::string support : {"flat", "paraboloid"}) {
    const auto with = [&](double distance_m, double diameter_m) {
      return intercept(scene_of(1e-3,
                                fmt::format("{{ kind = \"grid\", count = [6, 4], gap_m = [0.3, 0.3], "
                                            "focus_distance_m = {}, support = \"{}\" }}",
                                            distance_m, support),
                                fmt::format("{{ kind = \"circle\", diameter_m = {} }}", diameter_m)))
          .value;
    };
    INFO(support);
    CHECK(with(focus_m, 1.02 * widest_m) == Approx(1).epsilon(1e-12));
    CHECK(with(focus_m, 0.9e-3) < 0.9);                   // smaller than the images
    CHECK(with(1.002 * focus_m, 1.02 * widest_m) < 0.9);  // canted to 8 mm too far: images lie beside each other
  }
}

TEST_CASE("facets: the share of light on a receiver smaller than the images", "[trace][facets]") {
  // A row along x, none below the receiver's own shadow. The image of a panel at x is w cos(t/2) / cos t by w, t =
  // atan(x / focus), and the panel's share of the sun goes with cos(t/2).
  const double width_m = 0.2, pitch_m = 0.5;
  const auto expected = [&](double side_m) {
    double caught = 0, all = 0;
    for (const double place : {-2.5, -1.5, -0.5, 0.5, 1.5, 2.5}) {
      const double t = std::atan(place * pitch_m / focus_m), weight = std::cos(t / 2);
      const double image_m = width_m * std::cos(t / 2) / std::cos(t);
      caught += weight * std::fmin(1, side_m / image_m) * std::fmin(1, side_m / width_m);
      all += weight;
    }
    return caught / all;
  };
  const auto found = [&](double side_m) {
    return intercept(scene_of(width_m, "{ kind = \"grid\", count = [6, 1], gap_m = [0.3, 0.3], focus_distance_m = 4 }",
                              square(side_m)));
  };
  // The widest image is 0.2 cos(t/2) / cos t = 0.2094 m, of the outer panels.
  CHECK(found(0.211).value == Approx(1).epsilon(1e-12));
  for (const double side_m : {0.204, 0.18, 0.1}) {
    INFO(side_m);
    const Estimate share = found(side_m);
    CHECK(share.standard_error < 3e-3);
    CHECK(std::fabs(share.value - expected(side_m)) < 4 * share.standard_error + 1e-9);
    // Twin: a panel's image taken as wide as the panel, without its obliquity, is told apart where it matters.
    if (side_m == 0.204) CHECK(std::fabs(share.value - 1) > 4 * share.standard_error);
  }
}

}  // namespace
}  // namespace catoptra
