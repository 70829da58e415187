// What the reader says of correctors, word for word, and what it makes of sound ones.
#include <catch2/catch.hpp>

#include "scene/describe.h"
#include "small_scene.h"

namespace catoptra {
namespace {

const std::string corrector_keys = R"(primary = "bowl", focus_m = 20, through_m = 21.2, beam_diameter_m = 16)";

/// small_scene, its bowl of 20 m radius completed by a corrector with these keys.
std::string scene_with(const std::string& keys, const std::string& kind = "corrector",
                       const std::string& role = "secondary") {
  return small_scene + "[[" + role + "]]\nname = \"cup\"\nshape = { kind = \"" + kind + "\", " + keys +
         " }\nfinish = \"silver\"\nmount = { kind = \"two_axis\", pivot_m = [0, 0, 20] }\n";
}

std::string with(const std::string& from, const std::string& to) {
  std::string keys = corrector_keys;
  const auto at = keys.find(from);
  REQUIRE(at != std::string::npos);
  return scene_with(keys.replace(at, from.size(), to));
}

TEST_CASE("a sound corrector is read and described", "[scene][corrector]") {
  const auto outcome = read_scene_text(scene_with(corrector_keys), "s.toml");
  for (const auto& problem : outcome.problems) UNSCOPED_INFO(problem.text());
  REQUIRE(outcome.scene);
  const auto& cup = outcome.scene->components[1];
  const auto& profile = std::get<Corrector>(cup.surface).profile();
  CHECK(profile.vertex_m() == Approx(1.2).epsilon(1e-14));
  CHECK(std::holds_alternative<Whole>(cup.outline));
  CHECK(describe(*outcome.scene).find("corrector: vertex 1.2 m from its focus") != std::string::npos);
}

TEST_CASE("a trough's corrector follows the trough", "[scene][corrector]") {
  std::string text = scene_with(R"(primary = "bowl", focus_m = 20, through_m = 21.2, beam_width_m = 16, length_m = 30)",
                                "trough_corrector");
  const std::string sphere = R"(kind = "sphere", radius_m)";
  text.replace(text.find(sphere), sphere.size(), R"(kind = "circular_trough", radius_m)");
  const auto outcome = read_scene_text(text, "s.toml");
  for (const auto& problem : outcome.problems) UNSCOPED_INFO(problem.text());
  REQUIRE(outcome.scene);
  CHECK(std::get<TroughCorrector>(outcome.scene->components[1].surface).half_length_m() == 15);
  CHECK(std::get<Rectangle>(outcome.scene->components[1].outline).half_length_m == Approx(15));
}

TEST_CASE("what is wrong with a corrector is said with the limit", "[scene][corrector][messages]") {
  CHECK(complaints(with("bowl", "bowll")) ==
        R"(s.toml:24:41: error: no primary is called 'bowll', which secondary 'cup' is to complete
   24 | shape = { kind = "corrector", primary = "bowll", focus_m = 20, through_m = 21.2, beam_diameter_m = 16 }
      |                                         ^^^^^^^
  allowed: bowl
  did you mean 'bowl'?
)");
  CHECK(complaints(with("through_m = 21.2", "through_m = 19")) ==
        R"(s.toml:24:75: error: the vertex of secondary 'cup' does not lie above its focus
   24 | shape = { kind = "corrector", primary = "bowl", focus_m = 20, through_m = 19, beam_diameter_m = 16 }
      |                                                                           ^^
  found: through_m = 19, focus_m = 20
  allowed: through_m more than focus_m, as light on the axis is sent straight back
)");
  CHECK(complaints(with("focus_m = 20, through_m = 21.2", "focus_m = 3, through_m = 10")) ==
        R"(s.toml:24:74: error: the vertex of secondary 'cup' lies in the primary's own focus
   24 | shape = { kind = "corrector", primary = "bowl", focus_m = 3, through_m = 10, beam_diameter_m = 16 }
      |                                                                          ^^
  allowed: through_m less or more than 10
)");
  CHECK(complaints(with("focus_m = 20, through_m = 21.2", "focus_m = 0, through_m = 8")) ==
        R"(s.toml:24:74: error: secondary 'cup' would fold back on itself: rays cross before they reach it
   24 | shape = { kind = "corrector", primary = "bowl", focus_m = 0, through_m = 8, beam_diameter_m = 16 }
      |                                                                          ^
  found: beam_diameter_m = 16, through_m = 8, focus_m = 0; the primary's own focus lies at 10
  allowed: beam_diameter_m up to about 15
  allowed: through_m of about 7.75 or less
)");
  CHECK(complaints(with("beam_diameter_m = 16", "beam_diameter_m = 40")) ==
        R"(s.toml:24:99: error: the beam of secondary 'cup' is wider than its primary can be
   24 | shape = { kind = "corrector", primary = "bowl", focus_m = 20, through_m = 21.2, beam_diameter_m = 40 }
      |                                                                                                   ^^
  found: beam_diameter_m = 40
  allowed: less than 40, where 'bowl' turns back under itself
)");
  CHECK(complaints(scene_with(corrector_keys, "corrector", "receiver")) ==
        R"(s.toml:24:9: error: receiver 'cup' can't be a corrector
   24 | shape = { kind = "corrector", primary = "bowl", focus_m = 20, through_m = 21.2, beam_diameter_m = 16 }
      |         ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
  allowed: in [[secondary]] and [[obstacle]]
s.toml:25:10: warning: receiver 'cup' is a mirror: it sends most of its light away
   25 | finish = "silver"
      |          ^^^^^^^^
)");
  CHECK(complaints(scene_with(R"(primary = "bowl", focus_m = 20, through_m = 21.2, beam_width_m = 16, length_m = 30)",
                              "trough_corrector")) ==
        R"(s.toml:24:48: error: a trough_corrector can't complete 'bowl'
   24 | shape = { kind = "trough_corrector", primary = "bowl", focus_m = 20, through_m = 21.2, beam_width_m = 16, length_m = 30 }
      |                                                ^^^^^^
  found: a sphere
  allowed: a parabolic_trough or circular_trough; a round primary takes kind = "corrector"
)");
}

}  // namespace
}  // namespace catoptra
