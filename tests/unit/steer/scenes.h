#pragma once
// Small scenes with something to steer; all of them invented.
#include <map>
#include <string>

#include "scene/read.h"
#include "trace/workers.h"

namespace catoptra::test {

inline Scene read_or_throw(const std::string& text) {
  auto outcome = read_scene_text(text, "s.toml");
  std::string words;
  for (const auto& problem : outcome.problems) words += problem.text() + "\n";
  if (!outcome.scene) throw std::runtime_error(words);
  return std::move(*outcome.scene);
}

/// Kept for all tests, since most ask for the same few.
inline Workers* workers(int count) {
  static std::map<int, Workers> all;
  return &all.try_emplace(count, count).first->second;
}

inline const std::string finishes = R"(
[finish.silver]
kind = "mirror"
reflectance = 1
[finish.black]
kind = "absorber"
absorptance = 1
)";

/// A paraboloid whose focus lies 5 m above its vertex, the sun overhead, and a flat mirror that is free in height and
/// tilt; a small disc faces up beside the beam at (1.2, 0.5, 2.6).
inline Scene paraboloid_and_fold(const std::string& sun_sigma_mrad = "3", const std::string& disc_diameter_m = "0.04",
                                 const std::string& tilt_deg = "40",
                                 const std::string& dish =
                                     "shape = { kind = \"paraboloid\", focal_length_m = 5 }\n"
                                     "aperture = { kind = \"circle\", diameter_m = 3 }") {
  return read_or_throw(R"(schema = 1
[sun]
azimuth_deg = 180
elevation_deg = 90
shape = { kind = "gaussian", sigma_mrad = )" +
                       sun_sigma_mrad + R"( }
)" + finishes + R"(
[[primary]]
name = "dish"
)" + dish + R"(
finish = "silver"
mount = { kind = "fixed" }
[[secondary]]
name = "fold"
shape = { kind = "plane" }
aperture = { kind = "circle", diameter_m = 1.6 }
finish = "silver"
mount = { kind = "steered", home_m = [0, 0, 3.5], home_axis = [0, 0, -1], travel_m = [0, 0, 0.5], tilt_deg = )" +
                       tilt_deg + R"( }
[[receiver]]
name = "target"
shape = { kind = "disc", diameter_m = )" +
                       disc_diameter_m + R"( }
finish = "black"
mount = { kind = "fixed", position_m = [1.2, 0.5, 2.6], axis = [-0.6, -0.25, 0.5] }
)");
}

/// A bowl of 10 m radius with a convex mirror before its focus and a tube below.
inline const std::string small_bowl = R"(schema = 1
[site]
latitude_deg = 31.2
longitude_deg = -7.9
altitude_m = 800
[sun]
at = 2026-06-21T13:30:00+01:00
shape = { kind = "disc" }
)" + finishes + R"(
[[primary]]
name = "bowl"
shape = { kind = "sphere", radius_m = 10 }
aperture = { kind = "circle", diameter_m = 9 }
finish = "silver"
mount = { kind = "fixed" }
[[secondary]]
name = "pilot"
shape = { kind = "conic", radius_of_curvature_m = -7, conic_constant = -7 }
aperture = { kind = "circle", diameter_m = 2.5 }
finish = "silver"
mount = { kind = "steered", home_m = [0, 0, 3.4], travel_m = [2.5, 2.5, 0], tilt_deg = 40 }
[[receiver]]
name = "tube"
shape = { kind = "cylinder", radius_m = 0.35, length_m = 1.5 }
finish = "black"
mount = { kind = "fixed", position_m = [0, 0, 1.6] }
)";

}  // namespace catoptra::test
