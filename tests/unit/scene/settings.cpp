// Scenes with values set from outside: the same as if the file had them, and messages that name the setting.
#include "scene/settings.h"

#include <catch2/catch.hpp>

#include "scene/placement.h"
#include "small_scene.h"

namespace catoptra {
namespace {

ReadOutcome read_with(const std::vector<std::string>& settings, const std::string& text = small_scene) {
  return read_scene_text(text, "s.toml", settings);
}

std::string complaints_with(const std::vector<std::string>& settings, const std::string& text = small_scene) {
  const ReadOutcome outcome = read_with(settings, text);
  CHECK(outcome.scene.has_value() == std::ranges::none_of(outcome.problems, [](const Problem& problem) {
          return problem.severity == Severity::error;
        }));
  return text_of(outcome.problems, outcome.left_out);
}

TEST_CASE("a scene with settings is the one whose text has these values", "[scene][settings]") {
  const ReadOutcome outcome =
      read_with({"sun.dni_W_m2=850", "sun.elevation_deg=45", "finish.silver.slope_error_mrad=[1, 2]",
                 "primary.bowl.shape={ kind = \"paraboloid\", focal_length_m = 7 }", "receiver.can.flux.bins=[8, 4]",
                 "title=Half a bowl"});
  REQUIRE(outcome.scene);
  CHECK(outcome.problems.empty());
  const Scene& scene = *outcome.scene;
  CHECK(scene.sun.dni_W_m2 == 850);
  CHECK(scene.sun.toward.z == Approx(std::sqrt(0.5)).epsilon(1e-15));
  const auto& silver = std::get<Mirror>(scene.finishes[1].finish);
  CHECK(silver.slope_error_rad.x == Approx(1e-3));
  CHECK(silver.slope_error_rad.y == Approx(2e-3));
  CHECK(scene.components[0].shape_kind == "paraboloid");
  CHECK(scene.components[1].flux_bins == std::array{8, 4});
  CHECK(scene.title == "Half a bowl");

  std::string by_hand = varied("elevation_deg = 60\n", "elevation_deg = 45\ndni_W_m2 = 850\n");
  const auto replace = [&](const std::string& old, const std::string& fresh) {
    by_hand.replace(by_hand.find(old), old.size(), fresh);
  };
  replace("schema = 1\n", "schema = 1\ntitle = \"Half a bowl\"\n");
  replace("reflectance = 0.94\n", "reflectance = 0.94\nslope_error_mrad = [1, 2]\n");
  replace("{ kind = \"sphere\", radius_m = 20 }", "{ kind = \"paraboloid\", focal_length_m = 7 }");
  replace("0, 10] }\n", "0, 10] }\nflux.bins = [8, 4]\n");
  CHECK(scene.text == by_hand);
  // The text alone gives the scene again.
  CHECK(read_scene_text(scene.text, "s.toml").scene->sun.dni_W_m2 == 850);
  CHECK(read_with({}).scene->text == small_scene);
}

TEST_CASE("a wrong value has the message that it has in the file, at its setting", "[scene][settings]") {
  CHECK(complaints_with({"sun.azimuth_deg=90", "primary.bowl.aperture.diameter_m=-20"}) ==
        "--set: error: 'diameter_m' in aperture of primary 'bowl' is out of range\n"
        "      | primary.bowl.aperture.diameter_m=-20\n"
        "      |                                  ^^^\n"
        "  found: number -20\n"
        "  allowed: a number from 1e-06 to 1000000, in m\n"
        "  in place of the value at s.toml:14:44\n");
  CHECK(complaints_with({"sun.dni_W_m2=9OO"}) ==
        "--set: error: wrong type for 'dni_W_m2' in [sun]\n"
        "      | sun.dni_W_m2=9OO\n"
        "      |              ^^^\n"
        "  found: text \"9OO\"\n"
        "  allowed: a number more than 0 to 10000, in W m-2\n"
        "  a number stands without quotes; its unit is part of the key's name\n"
        "  in the table at s.toml:2:1\n");
  CHECK(complaints_with({"finish.silver.kind=mirrror"}) ==
        "--set: error: unknown kind in finish 'silver': text \"mirrror\"\n"
        "      | finish.silver.kind=mirrror\n"
        "      |                    ^^^^^^^\n"
        "  allowed: mirror, absorber, dark, glass, sellmeier_glass\n"
        "  did you mean 'mirror'?\n"
        "  in place of the value at s.toml:6:8\n");
  // Within a table that was set.
  CHECK(complaints_with({"primary.bowl.aperture={ kind = \"circle\", diameter_m = 0 }"}) ==
        "--set: error: 'diameter_m' in aperture of primary 'bowl' is out of range\n"
        "      | primary.bowl.aperture={ kind = \"circle\", diameter_m = 0 }\n"
        "      |                                                       ^\n"
        "  found: number 0\n"
        "  allowed: a number from 1e-06 to 1000000, in m\n"
        "  in place of the value at s.toml:14:12\n");
  // What is wrong elsewhere keeps its place in the file, though lines were added above it.
  CHECK(complaints_with({"sun.dni_W_m2=900", "title=x"}, varied("length_m = 2", "length_m = -2")) ==
        complaints(varied("length_m = 2", "length_m = -2")));
  CHECK(complaints_with({"sun.dni_W_m2=5"}) ==
        "--set: warning: a DNI of 5 W/m2 is almost no sun\n"
        "      | sun.dni_W_m2=5\n"
        "      |              ^\n"
        "  5 kW/m2 is dni_W_m2 = 5000\n"
        "  in the table at s.toml:2:1\n");
}

TEST_CASE("a path that names nothing is refused with the nearest words and the scene's line", "[scene][settings]") {
  CHECK(complaints_with({"finish.silver.slop_error_mrad=2"}) ==
        "--set: error: unknown key 'slop_error_mrad' in finish 'silver'\n"
        "      | finish.silver.slop_error_mrad=2\n"
        "      |               ^^^^^^^^^^^^^^^\n"
        "  allowed: kind, reflectance, slope_error_mrad, specularity_error_mrad\n"
        "  did you mean 'slope_error_mrad'?\n"
        "  in the table at s.toml:5:1\n");
  CHECK(complaints_with({"finish.sliver.reflectance=0.9"}) ==
        "--set: error: nothing in 'finish' is called 'sliver'\n"
        "      | finish.sliver.reflectance=0.9\n"
        "      |        ^^^^^^\n"
        "  allowed: black, silver\n"
        "  did you mean 'silver'?\n"
        "  the path ends at s.toml:5:1\n");
  CHECK(complaints_with({"primry.bowl.shape.radius_m=20"}) ==
        "--set: error: a path can't begin with 'primry'\n"
        "      | primry.bowl.shape.radius_m=20\n"
        "      | ^^^^^^\n"
        "  allowed: finish, primary, receiver, schema, site, sun, title\n"
        "  did you mean 'primary'?\n");
  CHECK(complaints_with({"receiver.cam.flux.bins=[1, 2]"}) ==
        "--set: error: nothing in 'receiver' is called 'cam'\n"
        "      | receiver.cam.flux.bins=[1, 2]\n"
        "      |          ^^^\n"
        "  allowed: can\n"
        "  did you mean 'can'?\n"
        "  the path ends at s.toml:17:1\n");
  CHECK(complaints_with({"receiver.can.mount.position_m.up=3"}) ==
        "--set: error: nothing in 'receiver.can.mount.position_m' is called 'up'\n"
        "      | receiver.can.mount.position_m.up=3\n"
        "      |                               ^^\n"
        "  allowed: 0, 1, 2, x, y, z\n"
        "  the path ends at s.toml:21:40\n");
  CHECK(complaints_with({"primary.bowl.shape.radius_m.x=3"}) ==
        "--set: error: nothing can stand in 'primary.bowl.shape.radius_m', number 20\n"
        "      | primary.bowl.shape.radius_m.x=3\n"
        "      |                             ^\n"
        "  the path ends at s.toml:13:39\n");
  CHECK(complaints_with({"primary.bowl=3"}) ==
        "--set: error: 'primary.bowl' is more than one value\n"
        "      | primary.bowl=3\n"
        "      | ^^^^^^^^^^^^\n"
        "  allowed: a dot and one of aperture, finish, mount, name, shape\n"
        "  the path ends at s.toml:11:1\n");
  CHECK(complaints_with({"primary=3"}).starts_with("--set: error: 'primary' is more than one value\n"));
  CHECK(complaints_with({"receiver.can.haet.emittance=0.1"}) ==
        "--set: error: unknown key 'haet' in receiver 'can'\n"
        "      | receiver.can.haet.emittance=0.1\n"
        "      |              ^^^^\n"
        "  allowed: name, shape, aperture, finish, back, mount, array, facets, flux, heat\n"
        "  did you mean 'heat'?\n"
        "  in the table at s.toml:17:1\n");
}

TEST_CASE("a setting that is none says what one is", "[scene][settings]") {
  const std::string form = "  allowed: a path, = and a value, as 'sun.dni_W_m2=850'\n";
  const auto line = [](const std::string& setting, const std::string& mark) {
    return "      | " + setting + "\n      | " + mark + "\n";
  };
  CHECK(complaints_with({"sun.dni_W_m2"}) ==
        "--set: error: a setting needs a path and a value\n" + line("sun.dni_W_m2", "^^^^^^^^^^^^") + form);
  CHECK(complaints_with({"=3"}) == "--set: error: a setting needs a path and a value\n" + line("=3", "^^") + form);
  CHECK(complaints_with({"title= "}) ==
        "--set: error: a setting needs a path and a value\n" + line("title= ", "^^^^^^^") + form);
  CHECK(complaints_with({"sun.=3"}) == "--set: error: a path can't end with a dot\n" + line("sun.=3", "   ^") + form);
  CHECK(complaints_with({"sun..dni_W_m2=3"}) ==
        "--set: error: a path has a key before and behind each dot\n" + line("sun..dni_W_m2=3", "    ^") + form);
  CHECK(complaints_with({"title='a' # b"}) ==
        "--set: error: something stands behind the value\n" + line("title='a' # b", "         ^^^^") + form);
  CHECK(complaints_with({"title='a' b"}).starts_with("--set: error: "));
  CHECK(complaints_with({"title=a\nschema=2"}).starts_with("--set: error: a setting is one line of text\n"));
  CHECK(complaints_with({"title=\xff"}).starts_with("--set: error: a setting is one line of text\n"));
  // What a shell makes of { kind = "disc" } without quotes round it.
  const std::string shell = complaints_with({"sun.shape={kind=disc}"});
  INFO(shell);
  CHECK(shell.starts_with("--set: error: "));
  CHECK(shell.find("  a shell takes quotes away: the whole setting stands in '...'\n") != std::string::npos);
  CHECK(shell.find("      | sun.shape={kind=disc}\n") != std::string::npos);
  // All that is wrong is said at once.
  CHECK(complaints_with({"title=", "sun.=3"}).ends_with("2 errors\n"));
}

TEST_CASE("a value that a later setting replaces is refused, one within a table that was set is not",
          "[scene][settings]") {
  CHECK(complaints_with({"sun.azimuth_deg=90", "sun.azimuth_deg=100"}) ==
        "--set: error: a later --set replaces this value\n"
        "      | sun.azimuth_deg=90\n"
        "      |                 ^^\n"
        "  allowed: each value once\n");
  CHECK(complaints_with({"receiver.can.mount.position_m.z=9", "receiver.can.mount.position_m.2=9.5"})
            .starts_with("--set: error: a later --set replaces this value\n"));
  CHECK(complaints_with({"primary.bowl.shape.radius_m=9", "primary.bowl.shape={kind=\"plane\"}"})
            .starts_with("--set: error: a later --set replaces this value\n"));
  CHECK(
      complaints_with({"primary.bowl.shape={kind=\"sphere\", radius_m=9}", "primary.bowl.shape.radius_m=19"}).empty());
  CHECK(complaints_with({"primary.bowl.shape={kind=\"sphere\", radius_m=9}", "primary.bowl.shape.radus_m=19"})
            .find("  in the table at '--set primary.bowl.shape={kind=\"sphere\", radius_m=9}'\n") != std::string::npos);
}

TEST_CASE("a scene that is no TOML tells so, settings or not", "[scene][settings]") {
  for (const std::string text : {"schema = \n", "", "\xff", "x = [[[[[[[[[[[[[[[[[[[[[[1]]]]]]]]]]]]]]]]]]]]]]"})
    CHECK(complaints_with({"sun.dni_W_m2=850"}, text) == complaints(text));
  const std::vector<std::string> settings{"sun.dni_W_m2=850"};
  CHECK(read_scene("no_such_folder/s.toml", settings).problems.front().message == "can't read the scene: no such file");
}

TEST_CASE("what is found wrong after the reading has its place in the file, too", "[scene][settings][places]") {
  const std::string text = varied("mount = { kind = \"fixed\" }", "mount = { kind = \"two_axis\" }");
  const auto refusal = [](const Scene& scene) {
    try {
      place(scene, unit(Vec{0.2, 0, -1}));
    } catch (const PlacementError& fault) {
      return std::string(fault.what());
    }
    return std::string();
  };
  const std::string why = "'bowl' can't follow the sun: it stands below the horizon";
  REQUIRE(refusal(*read_scene_text(text, "s.toml").scene) == "s.toml:16:9: " + why);
  CHECK(refusal(*read_with({"title=x", "sun.dni_W_m2=900"}, text).scene) == "s.toml:16:9: " + why);
  // Nothing in the file has it.
  CHECK(refusal(*read_with({"primary.bowl.mount={ kind = \"two_axis\" }"}).scene) == why);
}

}  // namespace
}  // namespace catoptra
