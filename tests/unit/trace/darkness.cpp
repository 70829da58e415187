// A scene of which nothing comes says so, and where its light ends.
#include "trace/darkness.h"

#include <catch2/catch.hpp>
#include <optional>
#include <string>

#include "scene/read.h"
#include "trace/trace.h"

namespace catoptra {
namespace {

std::optional<std::string> warning_with(const std::string& receiver) {
  const std::string text = R"(schema = 1
[sun]
azimuth_deg = 180
elevation_deg = 90
shape = { kind = "point" }
[finish.silver]
kind = "mirror"
reflectance = 1
[finish.black]
kind = "absorber"
absorptance = 1
[[primary]]
name = "dish"
shape = { kind = "paraboloid", focal_length_m = 5 }
aperture = { kind = "circle", diameter_m = 8 }
finish = "silver"
mount = { kind = "fixed" }
[[receiver]]
name = "target"
shape = { kind = "disc", diameter_m = 0.8 }
finish = "black"
mount = )" + receiver + "\n";
  const auto outcome = read_scene_text(text, "s.toml");
  REQUIRE(outcome.scene);
  TraceOptions options;
  options.samples = 1 << 17;
  return why_dark(trace(*outcome.scene, options));
}

TEST_CASE("nothing absorbed is warned of, with the term that takes most", "[trace]") {
  CHECK(warning_with("{ kind = \"fixed\", position_m = [0, 0, 5], axis = [0, 0, -1] }") == std::nullopt);
  // Its front to the sky: all but what it shades meets its back. 1 - (0.8 / 8)^2 = 0.99 of the incident light.
  CHECK(warning_with("{ kind = \"fixed\", position_m = [0, 0, 5] }") ==
        "no light is absorbed; blocking takes 99.0 % of what falls on the primaries: the light meets the dark back "
        "of a mirror or receiver, or an obstacle; check where their axes point");
  // Beside the dish.
  CHECK(warning_with("{ kind = \"fixed\", position_m = [9, 0, 5], axis = [0, 0, -1] }") ==
        "no light is absorbed; spillage takes 100.0 % of what falls on the primaries: the light misses every receiver; "
        "check where mirrors and receivers stand and point");
}

}  // namespace
}  // namespace catoptra
