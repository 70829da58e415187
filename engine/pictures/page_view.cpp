#include "pictures/page_view.h"

#include <algorithm>
#include <cmath>
#include <new>
#include <nlohmann/json.hpp>
#include <stdexcept>
#include <vector>

#include "files/stored_scene.h"
#include "pictures/scene_view.h"

namespace catoptra {
namespace {

using Json = nlohmann::json;

double short_number(double x) {
  return std::round(x * 1e6) / 1e6 + 0.0;
}

/// By component: twelve numbers a copy.
std::vector<Json> copies_at(const Scene& scene) {
  std::vector<Json> copies(scene.components.size(), Json::array());
  for (const Placed& placed : place(scene, scene.sun.toward).placed) {
    const Frame& f = placed.frame;
    for (const Vec& v : {f.origin, f.ex, f.ey, f.ez}) {
      for (const double x : {v.x, v.y, v.z}) copies[placed.component].push_back(short_number(x));
    }
  }
  return copies;
}

std::string rows_json(const StoredFile& file, Scene scene, std::size_t count) {
  std::vector<std::vector<Json>> rows;
  std::vector<Json> suns;
  for (std::size_t row = 0; row < count; ++row) {
    stand_at(scene, file, row);
    rows.push_back(copies_at(scene));
    const Vec& s = scene.sun.toward;
    suns.push_back({short_number(s.x), short_number(s.y), short_number(s.z)});
  }
  for (std::size_t c = 0; c < rows.front().size(); ++c) {
    if (!std::ranges::all_of(rows, [&](const auto& row) { return row[c] == rows.front()[c]; })) continue;
    for (auto& row : rows) row[c] = nullptr;
  }
  Json out = Json::array();
  for (std::size_t row = 0; row < count; ++row) out.push_back({{"to_sun", suns[row]}, {"copies", rows[row]}});
  return out.dump();
}

}  // namespace

PageView page_view(const StoredFile& file) {
  try {
    if (!is_schedule(file)) return {to_json(view_of(scene_of(file)), paths_of(file)), "null"};
    const StoredSet* time = file.find("/time");
    const std::size_t count = time && time->shape.size() == 1 ? time->shape.front() : 0;
    if (count == 0) return {"null", "null", "it has no suns"};
    Scene scene = scene_of(file, count / 2);
    std::string view = to_json(view_of(scene), {});
    return {std::move(view), rows_json(file, std::move(scene), count)};
  } catch (const std::bad_alloc&) {
    throw;  // nothing is wrong with the scene
  } catch (const std::exception& fault) {
    // A scene that can't be read or placed, or paths that do not fit together: the numbers can be shown.
    return {"null", "null", fault.what()};
  }
}

}  // namespace catoptra
