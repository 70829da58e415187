// Other numbers in a scene's text: the rest keeps its bytes.
#include "scene/vary.h"

#include <catch2/catch.hpp>

#include "scene/read.h"

using namespace catoptra;

namespace {

// Layout as people write it: comments, blanks, tabs, letters of two bytes, underscores, a header and an inline table.
const std::string text = R"(schema = 1
# Höhe frei: shape.conic_constant = -7 stands only here
[sun]
azimuth_deg = 180
elevation_deg = 90
[finish.front-silver]
kind = "mirror"
reflectance = [[0, 0.95], [60, 0.9]]
[[primary]]
name = "bowl é"
shape = { kind = "sphere", radius_m = 1_0.0 } # "é" before, 10 after
aperture = { kind = "circle", diameter_m = 9}
finish = "front-silver"
mount = { kind = "fixed" }
[[secondary]]
name = "pilot"
finish = "front-silver"
  [secondary.shape]
	kind = "conic"
	radius_of_curvature_m	=	-7	# m
	conic_constant = -7
  [secondary.aperture]
kind = "circle"
diameter_m = 2.5
  [secondary.mount]
kind = "steered" # moves
home_m = [0, 0, 3.4]
travel_m = [2, 2, 0]
tilt_deg = 30
[[receiver]]
name = "tube.1"
shape = { kind = "cylinder", radius_m = 0.35, length_m = 1.5 }
finish = "dark"
mount = { kind = "fixed", position_m = [0, 0,
   1.6] }
)";

std::string replaced(std::string whole, const std::string& old, const std::string& fresh) {
  const auto at = whole.find(old);
  REQUIRE(at != whole.npos);
  REQUIRE(whole.find(old, at + 1) == whole.npos);
  return whole.replace(at, old.size(), fresh);
}

std::string refusal(const std::string& path) {
  try {
    find_number(text, path);
  } catch (const WrongPath& fault) {
    return fault.what();
  }
  return "";
}

Scene read(const std::string& words) {
  auto outcome = read_scene_text(words, "s.toml");
  std::string problems;
  for (const auto& problem : outcome.problems) problems += problem.text() + "\n";
  INFO(problems);
  REQUIRE(outcome.scene);
  return std::move(*outcome.scene);
}

}  // namespace

TEST_CASE("vary: a number's own bytes change and no others", "[scene]") {
  REQUIRE(read_scene_text(text, "s.toml").scene);
  struct Case {
    std::string path, old, fresh;
    double value;
  };
  for (const auto& [path, old, fresh, value] : std::vector<Case>{
           {"primary.bowl é.shape.radius_m", "1_0.0 }", "12.25 }", 12.25},
           {"primary.bowl é.aperture.diameter_m", "= 9}", "= 8}", 8},
           {"secondary.pilot.shape.radius_of_curvature_m", "\t-7\t", "\t-1e-07\t", -1e-7},
           {"secondary.pilot.shape.conic_constant", "\tconic_constant = -7", "\tconic_constant = -6.867", -6.867},
           {"secondary.pilot.mount.home_m.z", "0, 3.4]", "0, 3.5]", 3.5},
           {"secondary.pilot.mount.home_m.2", "0, 3.4]", "0, 3.5]", 3.5},
           {"receiver.tube.1.mount.position_m.z", "   1.6]", "   0.1]", 0.1},
           {"receiver.tube.1.shape.length_m", "1.5 }", "1.25 }", 1.25},
           {"finish.front-silver.reflectance.1.1", "0.9]]", "0.875]]", 0.875},
       }) {
    INFO(path);
    const std::vector<NewValue> values{{path, value}};
    CHECK(with_values(text, values) == replaced(text, old, fresh));
    // The same again with line ends of two bytes.
    std::string crlf, wanted;
    for (const char c : text) crlf += c == '\n' ? std::string("\r\n") : std::string(1, c);
    for (const char c : replaced(text, old, fresh)) wanted += c == '\n' ? std::string("\r\n") : std::string(1, c);
    CHECK(with_values(crlf, values) == wanted);
  }
  const std::vector<NewValue> several{{"receiver.tube.1.shape.radius_m", 0.5}, {"primary.bowl é.shape.radius_m", 11}};
  CHECK(with_values(text, several) == replaced(replaced(text, "1_0.0 }", "11 }"), "= 0.35,", "= 0.5,"));
  CHECK(with_values(text, {}) == text);
  CHECK(find_number(text, "primary.bowl é.shape.radius_m").value == 10);
  CHECK(find_number(text, "secondary.pilot.shape.radius_of_curvature_m").place == Place{20, 26, 2});
}

TEST_CASE("vary: a path that leads to no number is refused with what is allowed there", "[scene]") {
  CHECK(refusal("secondry.pilot.shape.conic_constant") ==
        "'secondry.pilot.shape.conic_constant': a path can't begin with 'secondry'\n"
        "  allowed: finish, primary, receiver, secondary\n  did you mean 'secondary'?");
  CHECK(refusal("sun.dni_W_m2") ==
        "'sun.dni_W_m2': a path can't begin with 'sun'\n  allowed: finish, primary, receiver, secondary");
  CHECK(refusal("secondary.pilt.shape") ==
        "'secondary.pilt.shape': nothing in 'secondary' is called 'pilt'\n  allowed: pilot\n  did you mean 'pilot'?");
  CHECK(refusal("secondary.pilot.shape.conic_const") ==
        "'secondary.pilot.shape.conic_const': nothing in 'secondary.pilot.shape' is called 'conic_const'\n"
        "  allowed: conic_constant, kind, radius_of_curvature_m\n  did you mean 'conic_constant'?\n"
        "  a key that is left to its default must first be written in the scene");
  CHECK(refusal("secondary.pilot.mount.home_m.up") ==
        "'secondary.pilot.mount.home_m.up': nothing in 'secondary.pilot.mount.home_m' is called 'up'\n"
        "  allowed: 0, 1, 2, x, y, z");
  CHECK(refusal("secondary.pilot.shape.kind") == "'secondary.pilot.shape.kind' is no number: text \"conic\"");
  CHECK(refusal("secondary.pilot.shape") ==
        "'secondary.pilot.shape' is no number: a table\n"
        "  allowed: a dot and one of conic_constant, kind, radius_of_curvature_m");
  CHECK(refusal("secondary.pilot.shape.conic_constant.x") ==
        "'secondary.pilot.shape.conic_constant.x': nothing can stand in 'secondary.pilot.shape.conic_constant', "
        "number -7");
  CHECK(refusal("") == "'' is no number: a table\n  allowed: a dot and one of finish, primary, receiver, secondary");
}

TEST_CASE("vary: a pose is written behind the kind, or over the one that stands there", "[scene]") {
  SteeredMount pose;
  pose.offset_m = {0.5, -0.1, 0};
  pose.axis = unit(Vec{0.1, 0.2, -1});
  pose.roll_rad = 0.3;
  const auto check = [&](const std::string& scene_text) {
    const std::string posed = with_pose(scene_text, "pilot", pose);
    for (const auto& component : read(posed).components) {
      const auto* mount = std::get_if<SteeredMount>(&component.mount);
      if (mount == nullptr) continue;
      CHECK(mount->offset_m == pose.offset_m);
      CHECK(length(mount->axis - pose.axis) < 1e-15);
      CHECK(std::fabs(mount->roll_rad - pose.roll_rad) < 1e-15);
    }
    // Once more gives the same text: the pose that stands there is replaced.
    CHECK(with_pose(posed, "pilot", pose) == posed);
    return posed;
  };
  const std::string posed = check(text);
  CHECK(posed.find("# moves") != posed.npos);
  const auto table = text.find("  [secondary.mount]"), next = text.find("[[receiver]]");
  std::string inlined = text, dotted = text;
  inlined.replace(table, next - table, "");
  inlined.insert(inlined.find("  [secondary.shape]"),
                 "mount = { kind = 'steered', home_m = [0, 0, 3.4], travel_m = [2, 2, 0], tilt_deg = 30 } # here\n");
  check(inlined);
  dotted.replace(table, next - table, "");
  dotted.insert(dotted.find("  [secondary.shape]"),
                "mount.kind = \"steered\"\nmount.home_m = [0, 0, 3.4]\nmount.travel_m = [2, 2, 0]\n"
                "mount.tilt_deg = 30\n");
  check(dotted);
  std::string headed = text;
  headed.insert(headed.find("[[receiver]]"), "[secondary.mount.pose]\noffset_m = [0, 0, 0]\n");
  CHECK_THROWS_WITH(with_pose(headed, "pilot", pose),
                    "the pose of 'pilot' can't be written\n  allowed: a mount whose pose, if it has one, stands on one "
                    "line, pose = { offset_m = [x, y, z], axis = [x, y, z] }");
}
