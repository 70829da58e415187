// The scenes that are shipped: read without a complaint, described within 80 columns, placed as their comments say.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>
#include <sstream>

#include "geometry/area.h"
#include "scene/describe.h"
#include "scene/read.h"
#include "small_scene.h"
#include "source_dir.h"

namespace catoptra {
namespace {

const std::string folder = std::string(CATOPTRA_SOURCE_DIR) + "/scenes/";

Scene read_well(const std::string& path) {
  auto outcome = read_scene(path);
  for (const auto& problem : outcome.problems) UNSCOPED_INFO(problem.text());
  CHECK(outcome.problems.empty());
  REQUIRE(outcome.scene);
  return std::move(*outcome.scene);
}

TEST_CASE("every shipped scene is sound, and its description fits a terminal", "[scene][shipped]") {
  int scenes = 0;
  for (const auto& entry : std::filesystem::directory_iterator(folder)) {
    if (entry.path().extension() != ".toml") continue;
    ++scenes;
    INFO(entry.path().filename());
    std::istringstream lines(describe(read_well(entry.path().string())));
    std::string line, last;
    while (std::getline(lines, line)) {
      CHECK(line.size() <= 80);
      last = last + line + " ";
    }
    CHECK(last.find("concentrated sunlight burns and blinds") != std::string::npos);
  }
  CHECK(scenes >= 5);
}

TEST_CASE("tower: 500 heliostats north of it, all aiming at the receiver", "[scene][shipped]") {
  const Scene scene = read_well(folder + "tower.toml");
  const Layout layout = place(scene, scene.sun.toward);
  CHECK(layout.placed.size() == 502);
  CHECK(aperture_area_m2(scene.components[0].surface, scene.components[0].outline) == Approx(42).epsilon(1e-14));
  for (const auto& one : layout.placed) {
    if (one.component != 0) continue;
    const Vec n = one.frame.ez, s = layout.to_sun, out = 2 * dot(n, s) * n - s;
    CHECK(length(out - unit(Vec{0, 0, 95} - one.frame.origin)) < 1e-12);
  }
}

TEST_CASE("line absorber: lies in line with the sun, through the centre of curvature", "[scene][shipped]") {
  const Scene scene = read_well(folder + "bowl-line-absorber.toml");
  const Frame tube = place(scene, scene.sun.toward).placed[1].frame;
  CHECK(length(tube.ez - scene.sun.toward) < 1e-14);
  CHECK(length(tube.origin - (Vec{0, 0, 20} - 11.9 * scene.sun.toward)) < 1e-13);
}

TEST_CASE("a cone may be a primary where it shows its front to the sun", "[scene][area]") {
  std::string text =
      varied("{ kind = \"sphere\", radius_m = 20 }",
             "{ kind = \"cone\", bottom_radius_m = 1, top_radius_m = 3, height_m = 2, front = \"inside\" }");
  text.erase(text.find("aperture ="), text.find("finish = \"silver\"") - text.find("aperture ="));
  const auto outcome = read_scene_text(text, "s.toml");
  REQUIRE(outcome.scene);
  // The ring between its rims, pi (3^2 - 1^2) = 25.133 m2; cosine sin 60 degrees.
  CHECK(describe(*outcome.scene).find("primaries: 25.133 m2 of aperture, 21.766 m2 across the sun") !=
        std::string::npos);
}

TEST_CASE("check says what the small scene means", "[scene][describe]") {
  const auto outcome = read_scene_text(small_scene, "s.toml");
  REQUIRE(outcome.scene);
  // By hand: sphere of R 20: focal length 10; rim at 10 m: sag 20 - sqrt(300) = 2.679, rim angle from the focus
  // atan(10 / 7.321) = 53.8 degrees; tube 2 pi 0.5 2 = 6.283 m2; cosine sin 60 = 0.8660; 314.16 x 0.8660 = 272.07.
  CHECK(describe(*outcome.scene) == R"(s.toml

sun
  azimuth 180.00, elevation 60.00 degrees
  DNI 1000 W/m2; sunshape disc, half_angle_mrad = 4.65

primary 'bowl'
  sphere: concave, radius of curvature 20 m, paraxial focal length 10 m, rim
    angle 53.8 degrees seen from the paraxial focus; circle of 20 m
  aperture area 314.2 m2
  front 'silver': mirror, reflectance 0.94, slope error 0 mrad, specularity
    error 0 mrad
  fixed
  stands at [0.000, 0.000, 0.000] m, faces straight up

receiver 'can'
  cylinder: diameter 1 m, length 2 m
  area 6.283 m2
  front 'black': absorber, absorptance 0.95, the rest is reflected diffusely
  fixed
  stands at [0.000, 0.000, 10.000] m, faces straight up
  flux map of 64 x 64 bins

totals for this sun
  primaries: 314.16 m2 of aperture, 272.07 m2 across the sun (cosine 0.8660)
  incident power 272.07 kW
  geometric concentration 50 (aperture of the primaries / 6.283 m2 of receiver)

Caution: concentrated sunlight burns and blinds. Before you build from these
  numbers, follow local codes and have licensed engineers check the design.
)");
}

TEST_CASE("defaults and units arrive in SI", "[scene][read]") {
  const auto outcome = read_scene_text(
      varied("reflectance = 0.94", "reflectance = [[0, 0.95], [60, 0.9]]\nslope_error_mrad = [2, 1]"), "s.toml");
  REQUIRE(outcome.scene);
  const auto& mirror = std::get<Mirror>(outcome.scene->finishes[1].finish);  // black, silver: in the alphabet's order
  REQUIRE(mirror.reflectance.rows.size() == 2);
  CHECK(mirror.reflectance.rows[1].x == Approx(pi / 3).epsilon(1e-15));
  CHECK(mirror.slope_error_rad.x == 2e-3);
  CHECK(mirror.slope_error_rad.y == 1e-3);
  CHECK(outcome.scene->components[0].back_finish == -1);
  CHECK(outcome.scene->components[0].front_finish == 1);
  CHECK(outcome.scene->components[1].flux_bins == std::array<int, 2>{64, 64});
  CHECK(outcome.scene->text ==
        varied("reflectance = 0.94", "reflectance = [[0, 0.95], [60, 0.9]]\nslope_error_mrad = [2, 1]"));
}

TEST_CASE("a steered mount rests along home_axis unless the pose says otherwise", "[scene][read]") {
  const std::string mount = "mount = { kind = \"steered\", home_m = [0, 0, 0], home_axis = [0, 0, 2]";
  const auto at_home = read_scene_text(varied("mount = { kind = \"fixed\" }", mount + " }"), "s.toml");
  REQUIRE(at_home.scene);
  CHECK(std::get<SteeredMount>(at_home.scene->components[0].mount).axis == Vec{0, 0, 1});
  const auto posed = read_scene_text(
      varied("mount = { kind = \"fixed\" }", mount + ", tilt_deg = 60, pose = { axis = [0, 3, 4] } }"), "s.toml");
  REQUIRE(posed.scene);
  CHECK(length(std::get<SteeredMount>(posed.scene->components[0].mount).axis - Vec{0, 0.6, 0.8}) < 1e-15);
}

}  // namespace
}  // namespace catoptra
