// What every mount must do with its roll, its bias and its array; and tables in files, column by column.
#include <catch2/catch.hpp>
#include <cmath>

#include "scene/array.h"
#include "scene/describe.h"
#include "scene/placement.h"
#include "scene/steered_pose.h"
#include "small_scene.h"

namespace catoptra {
namespace {

const Vec to_sun = unit(Vec{0.3, -0.5, 0.8});

/// A spherical bowl, something on the mount, and something carried by it with a roll of its own.
std::vector<Frame> placed(const AnyMount& mount, const std::vector<Vec>& offsets = {{0, 0, 0}}, double held_roll = 0) {
  Scene scene;
  Component bowl, it, held;
  bowl.name = "bowl", it.name = "it", held.name = "held";
  bowl.surface = Conic{1 / 20.0, 1};
  for (Component* c : {&bowl, &it, &held}) c->outline = Ring{0, 0.5, {0, 0}};
  it.mount = mount;
  it.array.clear();
  for (const Vec& offset : offsets) it.array.push_back({offset});
  CarriedMount carried;
  carried.by = "it", carried.position_m = {0, 0.5, 2}, carried.axis = unit(Vec{0.2, 0.1, -1});
  carried.roll_rad = held_roll;
  held.mount = carried;
  scene.components = {bowl, it, held};
  std::vector<Frame> out;
  for (const Placed& p : place(scene, to_sun).placed)
    if (p.component > 0) out.push_back(p.frame);
  return out;
}

void check_rolled(const Frame& plain, const Frame& rolled, double roll_rad) {
  // Right-handed about the axis: x goes toward y.
  CHECK(length(rolled.ez - plain.ez) < 1e-12);
  CHECK(length(rolled.ex - (std::cos(roll_rad) * plain.ex + std::sin(roll_rad) * plain.ey)) < 1e-12);
  CHECK(length(rolled.origin - plain.origin) < 1e-12);
}

template <class Mount>
void check_roll_and_copies(Mount mount) {
  const Frame plain = placed(mount).front();
  if constexpr (requires { mount.roll_rad; }) {
    mount.roll_rad = 0.4;
    check_rolled(plain, placed(mount).front(), 0.4);
    mount.roll_rad = 0;
  }
  const std::vector<Frame> two = placed(mount, {{0, 0, 0}, {7, -3, 1}});
  REQUIRE(two.size() == 4);
  CHECK(length(two[1].origin - two[0].origin - Vec{7, -3, 1}) < 1e-12);
  CHECK(length(two[1].ex - two[0].ex) < 1e-12);
}

TEST_CASE("every mount turns by its roll and stands once a copy", "[scene][placement]") {
  check_roll_and_copies(FixedMount{{1, 2, 3}, unit(Vec{0.3, 0.2, 0.7})});
  SteeredMount steered;
  steered.home_m = {1, 2, 9};
  steered.axis = unit(Vec{0.3, 0.2, -0.7});
  check_roll_and_copies(steered);
  TwoAxisMount two_axis;
  two_axis.offset_m = {0.1, 0.2, 0.3};
  check_roll_and_copies(two_axis);
  SingleAxisMount single_axis;
  single_axis.offset_m = {0.1, 0.2, 0.3};
  check_roll_and_copies(single_axis);
  BisectorMount bisector;
  bisector.primary = "bowl";
  bisector.aim_m = {-4.8, 8, 7};
  check_roll_and_copies(bisector);
  TurnAboutCentreMount turning;
  turning.primary = "bowl";
  turning.position_m = {0.5, -0.25, -9};
  turning.axis = unit(Vec{0.1, 0.3, -1});
  check_roll_and_copies(turning);
  TableMount table;
  table.rows = {{to_sun, {1, 2, 3}, unit(Vec{0.2, 0.3, 1}), 0.4}};
  check_roll_and_copies(table);
  const Frame rolled = placed(table).front();
  table.rows[0].roll_rad = 0;
  check_rolled(placed(table).front(), rolled, 0.4);
}

TEST_CASE("what is carried turns by its own roll", "[scene][placement]") {
  const FixedMount mount{{1, 2, 3}, unit(Vec{0.3, 0.2, 0.7})};
  check_rolled(placed(mount)[1], placed(mount, {{0, 0, 0}}, 0.7)[1], 0.7);
}

TEST_CASE("a heliostat's bias turns it about its x, then about its y", "[scene][placement]") {
  HeliostatMount mount;
  mount.position_m = {40, 10, 0};
  mount.aim_m = {0, 0, 30};
  const Frame plain = placed(mount).front();
  mount.bias_rad = {0.02, 0};
  CHECK(length(placed(mount).front().ez - (std::cos(0.02) * plain.ez - std::sin(0.02) * plain.ey)) < 1e-12);
  mount.bias_rad = {0, 0.03};
  CHECK(length(placed(mount).front().ez - (std::cos(0.03) * plain.ez + std::sin(0.03) * plain.ex)) < 1e-12);
}

TEST_CASE("the roll of a frame is the roll that it was given", "[scene]") {
  CHECK(roll_of(facing({1, 2, 3}, unit(Vec{0.3, -0.2, 0.5}), 0.3)) == Approx(0.3).epsilon(1e-12));
  CHECK(roll_of(facing({1, 2, 3}, unit(Vec{0.3, -0.2, -0.5}), -1.3)) == Approx(-1.3).epsilon(1e-12));
}

TEST_CASE("windows of arrays: those that begin east of north, and those of more than a turn", "[scene][array]") {
  SpiralArray spiral;
  spiral.count = 300;
  spiral.from_azimuth_rad = pi / 2;
  spiral.to_azimuth_rad = pi;
  for (const Frame& at : spiral.frames()) CHECK((at.origin.x >= -1e-9 && at.origin.y <= 1e-9));
  RingArray ring{3, 5, -100 * units::degree_rad, 300 * units::degree_rad};
  CHECK_THROWS_WITH(ring.check(), "to_azimuth_deg must be more than from_azimuth_deg, by 360 at most");
  ring.from_azimuth_rad = 300 * units::degree_rad;
  ring.to_azimuth_rad = 420 * units::degree_rad;
  CHECK_NOTHROW(ring.check());
}

Scene with_files(const std::string& from, const std::string& to, const std::string& name, const std::string& content) {
  auto outcome = read_kept_scene(varied(from, to), "s.toml", {{name, content}});
  std::string faults;
  for (const auto& problem : outcome.problems) faults += problem.text() + "\n";
  INFO(faults);
  REQUIRE(outcome.scene);
  return std::move(*outcome.scene);
}

TEST_CASE("tables in files: each column where it belongs, in its unit", "[scene][read]") {
  const std::string mount = "mount = { kind = \"fixed\", position_m = [0, 0, 10] }";
  const Scene posed = with_files(mount, "mount = { kind = \"table\", file = \"p.csv\" }", "p.csv",
                                 "azimuth_deg,elevation_deg,x_m,y_m,z_m,axis_x,axis_y,axis_z,roll_deg\n"
                                 "180,60,1,2,13,0,3,4,30\n");
  const auto& rows = std::get<TableMount>(posed.components[1].mount).rows;
  REQUIRE(rows.size() == 1);
  CHECK(length(rows[0].to_sun - Vec{0, -0.5, std::sqrt(0.75)}) < 1e-12);
  CHECK(rows[0].position_m == Vec{1, 2, 13});
  CHECK(length(rows[0].axis - Vec{0, 0.6, 0.8}) < 1e-12);
  CHECK(rows[0].roll_rad == Approx(pi / 6).epsilon(1e-12));

  const Scene many =
      with_files("finish = \"black\"\n", "finish = \"black\"\narray = { kind = \"csv\", file = \"a.csv\" }\n", "a.csv",
                 "x_m,y_m,z_m\n1,2,3\n40,50,60\n");
  REQUIRE(many.components[1].array.size() == 2);
  CHECK(many.components[1].array[0].origin == Vec{1, 2, 3});
  CHECK(many.components[1].array[1].origin == Vec{40, 50, 60});

  const Scene sunny =
      with_files("elevation_deg = 60\n", "elevation_deg = 60\nshape = { kind = \"table\", file = \"s.csv\" }\n",
                 "s.csv", "angle_mrad,radiance\n0,1\n4,0.8\n5,0\n");
  const auto& radiances = std::get<TableSun>(sunny.sun.shape).rows;
  REQUIRE(radiances.size() == 3);
  CHECK(radiances[1].x == Approx(4e-3).epsilon(1e-15));
  CHECK(radiances[1].y == 0.8);
}

TEST_CASE("a file that a kind names is one of the scene's, and read by the same rules", "[scene][read]") {
  const std::string frames = "x_m,y_m,z_m,normal_x,normal_y,normal_z\n0,0,1,0,0,2\n8,0,2,3,0,4\n";
  for (const std::string key : {"array", "facets"}) {
    const Scene scene = with_files(
        "mount = { kind = \"fixed\" }\n",
        "mount = { kind = \"fixed\", position_m = [1, 0, 0] }\n" + key + " = { kind = \"frames\", file = \"f.csv\" }\n",
        "f.csv", frames);
    REQUIRE(scene.pulled_in.size() == 1);
    CHECK(scene.pulled_in[0].path == "f.csv");
    CHECK(scene.pulled_in[0].text == frames);
    const auto placed = place(scene, {0, 0, 1}).placed;
    REQUIRE(placed.size() == 3);
    CHECK(placed[0].frame.origin == Vec{1, 0, 1});
    // The mount counts from leaning ground along its axes, [0.8, 0, -0.6] to the east; facets count from the mount.
    CHECK(length(placed[1].frame.origin - (key == "array" ? Vec{8.8, 0, 1.4} : Vec{9, 0, 2})) < 1e-14);
    CHECK(length(placed[1].frame.ez - Vec{0.6, 0, 0.8}) < 1e-14);
  }
}

TEST_CASE("a file that a kind names: what is said of it, at its key or in it", "[scene][messages]") {
  const auto said = [](const std::string& to, const std::string& content) {
    std::string out;
    for (const auto& problem :
         read_kept_scene(varied("mount = { kind = \"fixed\" }\n", to), "s.toml", {{"f.csv", content}}).problems)
      out += problem.text() + "\n";
    return out;
  };
  const std::string mount = "mount = { kind = \"fixed\" }\n", columns = "x_m,y_m,z_m,normal_x,normal_y,normal_z\n";
  CHECK(said(mount + "facets = { kind = \"frames\", file = 3 }\n", "") ==
        R"(s.toml:17:36: error: wrong type for 'file' in facets of primary 'bowl'
   17 | facets = { kind = "frames", file = 3 }
      |                                    ^
  found: number 3
  allowed: a file's path from the scene's folder, in quotes; its first line x_m,y_m,z_m,normal_x,normal_y,normal_z
)");
  CHECK(said(mount + "facets = { kind = \"frames\", file = \"g.csv\" }\n", "") ==
        R"(s.toml:17:36: error: can't read g.csv: it was not kept with the scene
   17 | facets = { kind = "frames", file = "g.csv" }
      |                                    ^^^^^^^
  allowed: a file's path from the scene's folder
)");
  CHECK(said(mount + "facets = { kind = \"frames\", file = \"f.csv\" }\n", columns + "0,0,0,0,0,0\n") ==
        R"(s.toml:17:36: error: row 1 of f.csv is no frame: normal [0, 0, 0]
   17 | facets = { kind = "frames", file = "f.csv" }
      |                                    ^^^^^^^
  allowed: a normal of any length but 0 that does not point straight down
)");
  CHECK(said(mount + "facets = { kind = \"frames\", file = \"f.csv\" }\n", columns + "0,0,0,0,0,up\n") ==
        R"(f.csv:2:11: error: not a number
    2 | 0,0,0,0,0,up
      |           ^^
  allowed: a finite number, as 12.5 or -3e-2
)");
  // Both or neither where a file may stand for a key.
  const auto sun = [&](const std::string& keys) {
    std::string out;
    for (const auto& problem : read_kept_scene(varied("elevation_deg = 60\n",
                                                      "elevation_deg = 60\nshape = { kind = \"table\"" + keys + " }\n"),
                                               "s.toml", {{"f.csv", "angle_mrad,radiance\n0,1\n4,0\n"}})
                                   .problems)
      out += problem.text() + "\n";
    return out;
  };
  CHECK(sun(", file = \"f.csv\"").empty());
  CHECK(sun(", file = \"f.csv\", rows = [[0, 1], [4, 0]]") ==
        R"(s.toml:5:34: error: both 'file' and 'rows' in the sunshape's table
    5 | shape = { kind = "table", file = "f.csv", rows = [[0, 1], [4, 0]] }
      |                                  ^^^^^^^
  allowed: one of them
)");
  CHECK(sun("") == R"(s.toml:5:9: error: a sunshape's table needs rows
    5 | shape = { kind = "table" }
      |         ^^^^^^^^^^^^^^^^^^
  allowed: rows = [[angle in mrad, radiance], ...] or file = "a file's path"
)");
}

TEST_CASE("check's words for a field: from the flattest to the steepest, errors steady and changing",
          "[scene][describe]") {
  const auto outcome =
      read_scene_text(varied("mount = { kind = \"fixed\" }",
                             "mount = { kind = \"heliostat\", position_m = [0, 200, 0], aim_m = [0, 0, 50] }\n"
                             "array = { kind = \"grid\", count = [1, 2], spacing_m = [10, 100] }"),
                      "s.toml");
  REQUIRE(outcome.scene);
  std::string text = describe(*outcome.scene);
  // The sun stands in the south at 60 degrees; from 150 m and 250 m the aim point at atan(50/150) and atan(50/250):
  // 18.4 and 11.3 degrees; a normal stands half way.
  CHECK(text.find("elevation 35.7 to 39.2") != std::string::npos);
  const auto one = read_scene_text(
      varied("mount = { kind = \"fixed\" }", "mount = { kind = \"single_axis\", bias_mrad = 0.3, jitter_mrad = 0.7 }"),
      "s.toml");
  REQUIRE(one.scene);
  text = describe(*one.scene);
  for (auto at = text.find("\n    "); at != std::string::npos; at = text.find("\n    ")) text.replace(at, 5, " ");
  CHECK(text.find("0.3 mrad steady, 0.7 mrad rms") != std::string::npos);
}

}  // namespace
}  // namespace catoptra
