// Messages that concern the scene as a whole: its sun, what stands in the way, what is no TOML.
#include <catch2/catch.hpp>

#include "small_scene.h"

namespace catoptra {
namespace {

TEST_CASE("the sun: below the horizon, twice, nowhere", "[scene][messages]") {
  check({
      {"elevation_deg = 60", "elevation_deg = -5",
       R"(s.toml:4:17: error: the sun stands below the horizon
    4 | elevation_deg = -5
      |                 ^^
  found: elevation -5.00 degrees
  allowed: an elevation above 0
)"},
      {"elevation_deg = 60\n", "",
       R"(s.toml:2:1: error: no 'elevation_deg' in [sun]
    2 | [sun]
      | ^^^^^
  allowed: 'at' alone, or 'azimuth_deg' and 'elevation_deg'
)"},
      {"azimuth_deg = 180\nelevation_deg = 60", "at = 2026-06-21T12:30:00+01:00",
       R"(s.toml:3:6: error: 'at' in [sun] needs a site
    3 | at = 2026-06-21T12:30:00+01:00
      |      ^^^^^^^^^^^^^^^^^^^^^^^^^
  allowed: a table [site] with latitude_deg and longitude_deg, or angles instead of 'at'
)"},
      {"azimuth_deg = 180\nelevation_deg = 60",
       "at = 2026-06-21T12:30:00\n[site]\nlatitude_deg = 31\nlongitude_deg = -8",
       R"(s.toml:3:6: error: wrong type for 'at' in [sun]
    3 | at = 2026-06-21T12:30:00
      |      ^^^^^^^^^^^^^^^^^^^
  found: a time without an offset from UTC
  allowed: a date and time with its offset from UTC, as 2026-06-21T12:30:00+01:00
)"},
      {"elevation_deg = 60", "elevation_deg = 60\nat = 2026-06-21T12:30:00+01:00",
       R"(s.toml:5:6: error: a time and angles in [sun]
    5 | at = 2026-06-21T12:30:00+01:00
      |      ^^^^^^^^^^^^^^^^^^^^^^^^^
  allowed: 'at' alone, or 'azimuth_deg' and 'elevation_deg'
)"},
  });
}

TEST_CASE("what stands in the way is warned of", "[scene][messages]") {
  check({
      // A flat lid over the whole bowl, as seen along the sun: nothing gets in.
      {"[[receiver]]",
       "[[secondary]]\nname = \"lid\"\nshape = { kind = \"plane\" }\n"
       "aperture = { kind = \"circle\", diameter_m = 60 }\nfinish = \"silver\"\n"
       "mount = { kind = \"fixed\", position_m = [0, 0, 10], axis = [0, 0, -1] }\n[[receiver]]",
       R"(s.toml:20:12: warning: secondary 'lid' keeps the sun from 100 % of primary 'bowl'
   20 | aperture = { kind = "circle", diameter_m = 60 }
      |            ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
  a rough estimate for the scene's own sun; a smaller aperture or another place shades less
s.toml:27:9: warning: receiver 'can' cuts through secondary 'lid'
   27 | mount = { kind = "fixed", position_m = [0, 0, 10] }
      |         ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
)"
       "  part of it lies behind the mirror, where no light comes; a hole in the mirror takes an aperture with one\n"},
      {"position_m = [0, 0, 10]", "position_m = [0, 0, 0]",
       R"(s.toml:21:9: warning: receiver 'can' cuts through primary 'bowl'
   21 | mount = { kind = "fixed", position_m = [0, 0, 0] }
      |         ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
)"
       "  part of it lies behind the mirror, where no light comes; a hole in the mirror takes an aperture with one\n"},
      {"position_m = [0, 0, 10]", "position_m = [0, 0, -3]",
       R"(s.toml:21:9: warning: receiver 'can' lies behind primary 'bowl'
   21 | mount = { kind = "fixed", position_m = [0, 0, -3] }
      |         ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
  light would have to pass through the mirror to reach it
)"},
      {"finish = \"silver\"", "finish = \"black\"",
       R"(s.toml:15:10: warning: primary 'bowl' is no mirror: its finish reflects no image
   15 | finish = "black"
      |          ^^^^^^^
)"},
      {"finish = \"black\"", "finish = \"silver\"",
       R"(s.toml:20:10: warning: receiver 'can' is a mirror: it sends most of its light away
   20 | finish = "silver"
      |          ^^^^^^^^
)"},
  });
  CHECK(read_scene_text(varied("position_m = [0, 0, 10]", "position_m = [0, 0, -3]"), "s.toml").scene);
}

TEST_CASE("what is no TOML keeps its place", "[scene][messages]") {
  check({
      {"elevation_deg = 60", "elevation_deg = ",
       R"(s.toml:4:17: error: not TOML: expected value, saw '\n'
    4 | elevation_deg = 
      |                 ^
)"},
      {"radius_m = 20",
       "r\xC3\xA4"
       "dius_m = 20",
       "s.toml:13:29: error: a character beyond ASCII outside quotes\n"
       "   13 | shape = { kind = \"sphere\", r\xC3\xA4"
       "dius_m = 20 }\n"
       "      |                             ^\n"
       "  allowed: letters a to z, digits, - and _ in a key; anything in quotes or a comment\n"},
  });
  // In quotes and comments any letter is welcome, and the caret counts letters, not bytes.
  CHECK(complaints(varied("schema = 1", "schema = 1\ntitle = \"M\xC3\xA4rz\" # \xC3\xBC")).empty());
  CHECK(complaints(varied("name = \"can\"", "name = \"\xC3\xA4\", x = 1")).find("s.toml:18:11: error: not TOML") == 0);
}

TEST_CASE("all problems of a file come in one go, in its order", "[scene][messages]") {
  std::string text = varied("reflectance = 0.94", "reflectance = 2");
  text.replace(text.find("radius_m = 20"), 13, "radius_m = 0");
  const auto outcome = read_scene_text(text, "s.toml");
  CHECK_FALSE(outcome.scene);
  REQUIRE(outcome.problems.size() == 2);
  CHECK(outcome.problems[0].place.line == 7);
  CHECK(outcome.problems[1].place.line == 13);
}

TEST_CASE("a scene that can't be read", "[scene][messages]") {
  const auto outcome = read_scene("no/such/scene.toml");
  REQUIRE(outcome.problems.size() == 1);
  CHECK(outcome.problems[0].text() == "no/such/scene.toml: error: can't read the scene: no such file");
}

}  // namespace
}  // namespace catoptra
