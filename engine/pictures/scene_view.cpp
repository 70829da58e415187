#include "pictures/scene_view.h"

#include <cmath>
#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "files/names.h"
#include "geometry/bounds.h"
#include "scene/roles.h"
#include "trace/tally/flux_grid.h"

namespace catoptra {
namespace {

using Json = nlohmann::ordered_json;

double rounded_m(double x) {
  return std::stod(fmt::format("{:.7g}", x)) + 0.0;
}
double rounded(double x) {
  return std::round(1e5 * x) / 1e5 + 0.0;
}

template <class Round>
void append(Json& list, const Vec& v, const Round& round) {
  for (const double x : {v.x, v.y, v.z}) list.push_back(round(x));
}

Json list_m(const Vec& v) {
  Json out = Json::array();
  append(out, v, rounded_m);
  return out;
}

template <class Round>
Json flat(const std::vector<Vec>& vectors, const Round& round) {
  Json out = Json::array();
  for (const Vec& v : vectors) append(out, v, round);
  return out;
}

Json json_of(const ComponentView& component) {
  Json copies = Json::array(), triangles = Json::array();
  for (const Frame& frame : component.copies) {
    append(copies, frame.origin, rounded_m);
    for (const Vec& axis : {frame.ex, frame.ey, frame.ez}) append(copies, axis, [](double x) { return rounded_m(x); });
  }
  for (const auto& triangle : component.mesh.triangles) {
    for (const auto corner : triangle) triangles.push_back(corner);
  }
  Json out{{"name", component.name},
           {"role", role_word(component.role)},
           {"shape", component.shape_kind},
           {"copies", std::move(copies)},
           {"points_m", flat(component.mesh.points_m, rounded_m)},
           {"normals", flat(component.mesh.normals, rounded)},
           {"triangles", std::move(triangles)}};
  if (component.flux) {
    Json coordinates = Json::array();
    for (const Vec2& at : component.mesh.coordinates) {
      const Vec2 share = share_of_map(*component.flux, at);
      coordinates.push_back(rounded(share.x)), coordinates.push_back(rounded(share.y));
    }
    out["flux"] = {
        {"first", component.flux->first}, {"second", component.flux->second}, {"coordinates", std::move(coordinates)}};
  }
  return out;
}

Json json_of(std::span<const RayPath> paths) {
  Json fate = Json::array(), power = Json::array(), count = Json::array(), vertices = Json::array();
  for (const RayPath& path : paths) {
    fate.push_back(static_cast<int>(path.fate));
    power.push_back(rounded_m(path.power_W));
    count.push_back(path.vertices_m.size());
    for (const Vec& v : path.vertices_m) append(vertices, v, rounded_m);
  }
  return {{"fates", term_names}, {"fate", fate}, {"power_W", power}, {"vertex_count", count}, {"vertices_m", vertices}};
}

/// The map's own axes, so that a picture can't disagree with them.
struct MapAxes {
  FluxPlace place;
  std::vector<double> first, second;
};
MapAxes map_axes(const Component& component) {
  const FluxMap map = FluxGrid(component.surface, component.outline, component.flux_bins).blank_map();
  const auto &a = map.first.edges, &b = map.second.edges;
  return {{map.first.name, map.second.name, {a.front(), b.front()}, {a.back(), b.back()}}, a, b};
}

}  // namespace

Vec2 share_of_map(const FluxPlace& place, const Vec2& at) {
  return {(at.x - place.low.x) / (place.high.x - place.low.x), (at.y - place.low.y) / (place.high.y - place.low.y)};
}

std::vector<std::size_t> bins_of_triangles(const ComponentView& receiver, const FluxMap& map) {
  const auto columns = map.first.edges.size() - 1, rows = map.second.edges.size() - 1;
  const auto place = [](double share, std::size_t count) {
    return std::min(count - 1, static_cast<std::size_t>(std::fmax(0, share * static_cast<double>(count))));
  };
  std::vector<std::size_t> out;
  for (const auto& [a, b, c] : receiver.mesh.triangles) {
    const auto& at = receiver.mesh.coordinates;
    const Vec2 middle{(at[a].x + at[b].x + at[c].x) / 3, (at[a].y + at[b].y + at[c].y) / 3};
    const Vec2 share = share_of_map(receiver.flux.value(), middle);
    out.push_back(place(share.x, columns) * rows + place(share.y, rows));
  }
  return out;
}

SceneView view_of(const Scene& scene, MeshLines lines, double step_rad) {
  const Layout layout = place(scene, scene.sun.toward);
  SceneView view{.title = scene.title, .to_sun = layout.to_sun};
  for (const Component& component : scene.components) {
    ComponentView out{.name = component.name, .shape_kind = component.shape_kind, .role = component.role};
    MeshOptions options{.step_rad = step_rad, .first_lines = {}, .second_lines = {}};
    if (component.role == Role::receiver) {
      MapAxes axes = map_axes(component);
      out.flux = std::move(axes.place);
      if (lines == MeshLines::bins) {
        options.first_lines = std::move(axes.first);
        options.second_lines = std::move(axes.second);
      }
    }
    out.mesh = mesh_of(component.surface, component.outline, options);
    view.components.push_back(std::move(out));
  }
  for (const Placed& placed : layout.placed) {
    ComponentView& component = view.components[placed.component];
    component.copies.push_back(placed.frame);
    const Component& of = scene.components[placed.component];
    const Box box = bounds_of(of.surface, of.outline).to_world(placed.frame);
    view.bounds_m.include(box.low);
    view.bounds_m.include(box.high);
  }
  return view;
}

std::string to_json(const SceneView& view, std::span<const RayPath> paths) {
  Json out{{"title", view.title},
           {"to_sun", list_m(view.to_sun)},
           {"azimuth_deg", rounded(azimuth_deg(view.to_sun))},
           {"elevation_deg", rounded(elevation_deg(view.to_sun))},
           {"low_m", list_m(view.bounds_m.low)},
           {"high_m", list_m(view.bounds_m.high)},
           {"components", Json::array()},
           {"paths", json_of(paths)}};
  for (const ComponentView& component : view.components) out["components"].push_back(json_of(component));
  return out.dump(-1, ' ', false, Json::error_handler_t::replace);
}

}  // namespace catoptra
