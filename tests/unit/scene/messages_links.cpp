// What is said of names and mounts beside other mistakes: each once, none hidden by another.
#include <catch2/catch.hpp>

#include "small_scene.h"

namespace catoptra {
namespace {

const std::string fixed_can = "{ kind = \"fixed\", position_m = [0, 0, 10] }";

TEST_CASE("a faulty finish is one mistake, wherever it is used", "[scene][messages]") {
  check({
      {"reflectance = 0.94", "reflectance = 1.2",
       R"(s.toml:7:15: error: 'reflectance' in finish 'silver' is out of range
    7 | reflectance = 1.2
      |               ^^^
  found: number 1.2
  allowed: a number from 0 to 1, or rows [[incidence angle in degrees, number from 0 to 1], ...], the angles rising from 0 to 90
)"},
      {"[finish.silver]\nkind = \"mirror\"\nreflectance = 0.94\n", "[finish]\nsilver = 3\n",
       R"(s.toml:6:10: error: wrong type for 'silver' in [finish]
    6 | silver = 3
      |          ^
  found: number 3
  allowed: a table [finish.NAME]
)"},
      {"finish = \"silver\"\n", "",
       R"(s.toml:11:1: error: missing key 'finish' in primary 'bowl'
   11 | [[primary]]
      | ^^^^^^^^^^^
  allowed: a text in quotes
)"},
      {"finish = \"silver\"", "finish = \"\"",
       R"(s.toml:15:10: error: no finish is called '', the 'finish' of primary 'bowl'
   15 | finish = ""
      |          ^^
  allowed: black, silver, dark
)"},
  });
}

TEST_CASE("names that mean something else to the result file", "[scene][messages]") {
  const std::string allowed = "  allowed: 1 to 60 characters; not . or .., no slash, no quote, no control characters\n";
  check({
      {"name = \"can\"", "name = \".\"",
       R"(s.toml:18:8: error: 'name' in receiver 1 can't be used
   18 | name = "."
      |        ^^^
)" + allowed},
      {"name = \"can\"", "name = \"..\"",
       R"(s.toml:18:8: error: 'name' in receiver 1 can't be used
   18 | name = ".."
      |        ^^^^
)" + allowed},
      {"name = \"can\"", "name = \"\"",
       R"(s.toml:18:8: error: 'name' in receiver 1 can't be used
   18 | name = ""
      |        ^^
)" + allowed},
  });
}

TEST_CASE("a shape's, a mount's and a name's mistake come together", "[scene][messages]") {
  check({
      {"radius_m = 0.5, length_m = 2 }\nfinish = \"black\"\nmount = " + fixed_can,
       "radius_m = nan, length_m = 2 }\nfinish = \"blak\"\nmount = { kind = \"carried\", by = \"bowel\", axis = [0, 0] "
       "}",
       R"(s.toml:19:41: error: 'radius_m' in shape of receiver 'can' is out of range
   19 | shape = { kind = "cylinder", radius_m = nan, length_m = 2 }
      |                                         ^^^
  found: number nan
  allowed: a number from 1e-06 to 1000000, in m
s.toml:20:10: error: no finish is called 'blak', the 'finish' of receiver 'can'
   20 | finish = "blak"
      |          ^^^^^^
  allowed: black, silver, dark
  did you mean 'black'?
s.toml:21:34: error: no component is called 'bowel', the carrier of receiver 'can'
   21 | mount = { kind = "carried", by = "bowel", axis = [0, 0] }
      |                                  ^^^^^^^
  allowed: bowl, can
  did you mean 'bowl'?
s.toml:21:50: error: wrong type for 'axis' in mount of receiver 'can'
   21 | mount = { kind = "carried", by = "bowel", axis = [0, 0] }
      |                                                  ^^^^^^
  found: [0, 0]
  allowed: a direction [x, y, z] of any length but 0
)"},
      {"diameter_m = 20 }\nfinish = \"silver\"\nmount = { kind = \"fixed\" }",
       "diameter_m = 42 }\nfinish = \"silver\"\nmount = { kind = \"heliostat\", aim = \"cam\", bias_mrad = 1000 }",
       R"(s.toml:14:12: error: 'aperture' of primary 'bowl' is larger than its surface
   14 | aperture = { kind = "circle", diameter_m = 42 }
      |            ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
  found: it reaches 21 m from the axis
  allowed: up to 20 m, where the sphere turns back under itself
s.toml:16:37: error: no component is called 'cam', the aim of primary 'bowl'
   16 | mount = { kind = "heliostat", aim = "cam", bias_mrad = 1000 }
      |                                     ^^^^^
  allowed: bowl, can
  did you mean 'can'?
s.toml:16:56: error: 'bias_mrad' in mount of primary 'bowl' is out of range
   16 | mount = { kind = "heliostat", aim = "cam", bias_mrad = 1000 }
      |                                                        ^^^^
  found: number 1000
  allowed: a number, or two [x, y], each from -100 to 100, in mrad
)"},
  });
}

TEST_CASE("jitter of what reflects nothing on is warned of", "[scene][messages]") {
  check({
      {fixed_can, "{ kind = \"two_axis\", pivot_m = [0, 0, 10], jitter_mrad = 1 }",
       R"(s.toml:21:66: warning: the jitter of receiver 'can' has no effect: only what mirrors reflect is jittered
   21 | mount = { kind = "two_axis", pivot_m = [0, 0, 10], jitter_mrad = 1 }
      |                                                                  ^
)"
       "  allowed: bias_mrad for a steady error; mount = { kind = \"carried\", by = ... } for what moves with a "
       "collector "
       "and its jitter\n"},
      // A mirror's is the matter itself, and a bias moves anything.
      {"mount = { kind = \"fixed\" }", "mount = { kind = \"two_axis\", jitter_mrad = 1, bias_mrad = [1, 0] }", ""},
      {fixed_can, "{ kind = \"two_axis\", pivot_m = [0, 0, 10], bias_mrad = 1 }", ""},
  });
}

/// Shields that carry each other; the first is carried by `carrier_of_first`.
std::string row_of_shields(int count, const std::string& carrier_of_first) {
  std::string text = small_scene;
  for (int i = 0; i < count; ++i) {
    text += "[[obstacle]]\nname = \"shield " + std::to_string(i) +
            "\"\nshape = { kind = \"disc\", diameter_m = 1 }\nmount = { kind = \"carried\", by = \"" +
            (i == 0 ? carrier_of_first : "shield " + std::to_string(i - 1)) + "\", position_m = [0, 0, 1] }\n";
  }
  return text;
}

TEST_CASE("a long row of what carries each other is read, each copy for copy", "[scene][messages]") {
  std::string text = row_of_shields(3000, "bowl");
  text.replace(text.find("[[receiver]]"), 0, "array = { kind = \"grid\", count = [2, 1], spacing_m = [30, 30] }\n");
  const auto outcome = read_scene_text(text, "s.toml");
  REQUIRE(outcome.scene);
  CHECK(outcome.scene->components.back().copies() == 2);
  CHECK(outcome.scene->components.front().copies() == 2);
}

TEST_CASE("a long circle of carriers is shown by its beginning", "[scene][messages]") {
  const std::string said = complaints(row_of_shields(13, "shield 12"));
  CHECK(said.find("obstacle 'shield 0' is carried in a circle") != std::string::npos);
  CHECK(
      said.find("  found: 'shield 0' is carried by 'shield 12' is carried by 'shield 11' is carried by 'shield 10' is "
                "carried by 'shield 9' is carried by 'shield 8' is carried by 'shield 7' is carried by 'shield 6' is "
                "carried by 'shield 5' is carried by 'shield 4' is carried by 'shield 3' is carried by 'shield 2' is "
                "carried by 'shield 1', and so on\n") != std::string::npos);
  // One fewer: the whole circle.
  CHECK(complaints(row_of_shields(12, "shield 11")).find("'shield 1' is carried by 'shield 0'\n") != std::string::npos);
  // What hangs on a circle without being part of it.
  const std::string beside = complaints(row_of_shields(3, "shield 1"));
  CHECK(beside.find("found: 'shield 2' is carried by 'shield 1' is carried by 'shield 0' is carried by 'shield 1'\n") !=
        std::string::npos);
}

}  // namespace
}  // namespace catoptra
