// Where keys stand in a scene's text, for messages that come after it was read.
#include "scene/key_places.h"

#include <catch2/catch.hpp>

#include "numeric/lanes.h"
#include "scene/placement.h"
#include "scene/vary.h"
#include "small_scene.h"

namespace catoptra {
namespace {

Scene scene_of(const std::string& from, const std::string& to) {
  auto outcome = read_scene_text(varied(from, to), "s.toml");
  REQUIRE(outcome.scene);
  return std::move(*outcome.scene);
}

TEST_CASE("places of keys: the value's, or of what would hold it", "[scene][places]") {
  const Scene scene = scene_of("mount = { kind = \"fixed\" }\n", R"([primary.mount]
kind = "two_axis"
  pivot_m = [0, 0,
             5]
)");
  const Component& bowl = scene.components[0];
  CHECK(bowl.place_of("name") == Place{12, 8, 6});
  CHECK(bowl.place_of("shape.radius_m") == Place{13, 39, 2});
  CHECK(bowl.place_of("mount.kind") == Place{17, 8, 10});
  CHECK(bowl.place_of("mount.pivot_m").line == 18);
  CHECK(bowl.place_of("mount.pivot_m").column == 13);
  CHECK(bowl.place_of("mount.bias_mrad") == bowl.place_of("mount"));
  CHECK(bowl.place_of("mount").line == 16);
  CHECK(bowl.place_of("array.count") == bowl.place_of(""));
  CHECK(bowl.place_of("").line == 11);
  CHECK(bowl.places->has("mount.kind"));
  CHECK_FALSE(bowl.places->has("mount.bias_mrad"));
  CHECK(Component().place_of("mount") == Place{});  // of no text
}

TEST_CASE("places of keys with dots: the table has that of its first key's name", "[scene][places]") {
  const Scene scene = scene_of("mount = { kind = \"fixed\" }\n", "mount.kind = \"fixed\"\nmount.roll_deg = 5\n");
  const Component& bowl = scene.components[0];
  CHECK(bowl.place_of("mount.kind") == Place{16, 14, 7});
  CHECK(bowl.place_of("mount.roll_deg") == Place{17, 18, 1});
  CHECK(bowl.place_of("mount.axis").line == 16);
}

std::string refusal(const Scene& scene, const Vec& to_sun) {
  try {
    place(scene, to_sun);
  } catch (const PlacementError& fault) {
    return fault.what();
  }
  return "";
}

TEST_CASE("a mount that can't serve a sun names its key's place", "[scene][places][placement]") {
  const std::string fixed = "mount = { kind = \"fixed\" }";
  CHECK(refusal(scene_of(fixed, "mount = { kind = \"two_axis\" }"), unit(Vec{0.2, 0, -1})) ==
        "s.toml:16:9: 'bowl' can't follow the sun: it stands below the horizon");
  CHECK(refusal(scene_of(fixed, "mount = { kind = \"single_axis\", rotation_axis = [0, 3, 4] }"), {0, 0.6, 0.8}) ==
        "s.toml:16:49: 'bowl' can't follow the sun: it stands in line with the axis of rotation");
  const Vec away = -unit(Vec{40, 10, -30});
  CHECK(refusal(scene_of(fixed, "mount = { kind = \"heliostat\", position_m = [0, 0, 90], aim_m = [40, 10, 60] }"),
                away) ==
        "s.toml:16:64: 'bowl' would have to look both ways: the aim point lies straight away from the sun");
  // Without a text there is no place to name.
  Scene alone;
  alone.components.emplace_back();
  alone.components[0].name = "it";
  alone.components[0].mount = TwoAxisMount{};
  CHECK(refusal(alone, {0, 0, -1}) == "'it' can't follow the sun: it stands below the horizon");
}

TEST_CASE("a path that leads to no number tells where it ended", "[scene][places]") {
  const auto ended = [](const std::string& path) {
    try {
      find_number(small_scene, path);
    } catch (const WrongPath& fault) {
      return fault.place();
    }
    return Place{1, 1, 1};
  };
  CHECK(ended("primary.bowl.shape.kind") == Place{13, 18, 8});    // no number
  CHECK(ended("primary.bowl.shape.kind.x") == Place{13, 18, 8});  // nothing can stand in it
  CHECK(ended("primary.bowl.shape.radius").line == 13);           // the table that has no such key
  CHECK(ended("primary.bowl.shape.radius").column == 9);
  CHECK(ended("primary.bwl.shape.radius_m").line == 11);
  CHECK(ended("prim.bowl") == Place{});
}

}  // namespace
}  // namespace catoptra
