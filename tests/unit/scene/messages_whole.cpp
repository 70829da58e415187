// Messages that concern the scene as a whole: its sun, what stands in the way, what is no TOML.
#include <algorithm>
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
      {"[[receiver]]",
       "[[secondary]]\nname = \"bubble\"\nshape = { kind = \"ball\", radius_m = 4 }\nfinish = \"silver\"\n"
       "mount = { kind = \"fixed\", position_m = [0, 0, 10] }\n[[receiver]]",
       R"(s.toml:26:9: warning: receiver 'can' lies inside secondary 'bubble'
   26 | mount = { kind = "fixed", position_m = [0, 0, 10] }
      |         ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
  a ball is closed: no light gets in
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
       R"(s.toml:4:17: error: 'elevation_deg' has no value
    4 | elevation_deg = 
      |                 ^
  allowed: a number, a text in quotes, true, false, a list [..., ...] or a table { ... }
  the rest of the file was not read; fix this first
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
  CHECK(complaints(varied("name = \"can\"", "name = \"\xC3\xA4\", x = 1"))
            .find("s.toml:18:8: error: a second key on this line") == 0);
}

TEST_CASE("what is no text at all is named by its first wrong byte, and not shown", "[scene][messages]") {
  const auto refused = [](const std::string& place, const std::string& byte) {
    return "s.toml:" + place + ": error: not a text file\n  found: byte " + byte +
           "\n  allowed: UTF-8 text without control characters\n";
  };
  using namespace std::string_literals;
  CHECK(complaints("\x7f"s + "ELF\x02\x01") == refused("1:1", "0x7f"));
  CHECK(complaints(small_scene + "\0"s) == refused("22:1", "0x00"));
  CHECK(complaints(varied("\"bowl\"", "\"b\xf6wl\"")) == refused("12:10", "0xf6"));               // Latin-1
  CHECK(complaints("\xff\xfes\0"s) == refused("1:1", "0xff"));                                    // UTF-16
  CHECK(complaints(varied("\"bowl\"", "\"\xC3\xA4\xED\xA0\x80\"")) == refused("12:10", "0xed"));  // a surrogate
  CHECK(complaints(varied("\"bowl\"", "\"\xC0\xAF\"")) == refused("12:9", "0xc0"));               // longer than need be
  CHECK(complaints(varied("\"bowl\"", "\"\xF4\x90\x80\x80\"")) == refused("12:9", "0xf4"));       // beyond U+10FFFF
  CHECK(complaints(varied("\"bowl\"", "\"\xE2\x82\"")) == refused("12:9", "0xe2"));               // cut short
  CHECK(complaints(varied("\"bowl\"", "\"\xE2\x82\xAC \xF0\x9F\x8C\x9E\"")).empty());             // a euro, a sun
}

TEST_CASE("an empty scene is said to be empty", "[scene][messages]") {
  for (const std::string text : {"", "\n\n", "# nothing yet\n"}) {
    const std::string all = complaints(text);
    CHECK(all.find("s.toml:1:1: error: the scene is empty\n") == 0);
    CHECK(all.find("  allowed: schema = 1, a table [sun], at least one table [[primary]], and what they need\n") !=
          std::string::npos);
    CHECK(std::ranges::count(all, '\n') <= 4);  // nothing else
  }
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
