#pragma once
// A small sound scene that tests vary, and its reading.
#include <catch2/catch.hpp>
#include <stdexcept>
#include <string>
#include <vector>

#include "geometry/kinds/shapes.h"
#include "scene/read.h"

namespace catoptra {

inline const std::string small_scene = R"(schema = 1
[sun]
azimuth_deg = 180
elevation_deg = 60
[finish.silver]
kind = "mirror"
reflectance = 0.94
[finish.black]
kind = "absorber"
absorptance = 0.95
[[primary]]
name = "bowl"
shape = { kind = "sphere", radius_m = 20 }
aperture = { kind = "circle", diameter_m = 20 }
finish = "silver"
mount = { kind = "fixed" }
[[receiver]]
name = "can"
shape = { kind = "cylinder", radius_m = 0.5, length_m = 2 }
finish = "black"
mount = { kind = "fixed", position_m = [0, 0, 10] }
)";

/// small_scene with its first `from` replaced; "" appends.
inline std::string varied(const std::string& from, const std::string& to) {
  std::string text = small_scene;
  if (from.empty()) return text + to;
  const auto at = text.find(from);
  if (at == std::string::npos) throw std::logic_error("small_scene has no '" + from + "'");
  return text.replace(at, from.size(), to);
}

/// All that a reading complains of, as a terminal shows it.
inline std::string complaints(const std::string& text, const std::string& path = "s.toml") {
  std::string out;
  for (const auto& problem : read_scene_text(text, path).problems) out += problem.text() + "\n";
  return out;
}

/// A change of small_scene and all that is then said.
/// Every shape's word, in the order of their list.
inline std::string all_shapes() {
  std::string out;
  const auto add = [&](std::string_view word) { out += (out.empty() ? "" : ", ") + std::string(word); };
  [&]<class... T>(std::type_identity<std::variant<T...>>) { (add(T::kind), ...); }(std::type_identity<AnyShape>{});
  return out;
}

struct Case {
  std::string from, to, expected;
};

inline void check(const std::vector<Case>& cases) {
  for (const auto& one : cases) {
    INFO(one.from << " -> " << one.to);
    CHECK(complaints(varied(one.from, one.to)) == one.expected);
    CHECK(complaints(small_scene).empty());  // what is said comes from the change alone
  }
}

}  // namespace catoptra
