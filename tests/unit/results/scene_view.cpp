// The scene as the page gets it: what stands where, meshes in the world, flux coordinates, paths.
#include "pictures/scene_view.h"

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "geometry/area.h"
#include "scene/read.h"
#include "source_dir.h"
#include "trace/trace.h"

namespace catoptra {

namespace {

using Json = nlohmann::json;

Scene shipped(const std::string& name) {
  ReadOutcome outcome = read_scene(std::string(CATOPTRA_SOURCE_DIR) + "/scenes/" + name + ".toml");
  REQUIRE(outcome.scene);
  return std::move(*outcome.scene);
}

const ComponentView& component(const SceneView& view, const std::string& name) {
  const auto at = std::ranges::find(view.components, name, &ComponentView::name);
  REQUIRE(at != view.components.end());
  return *at;
}

Vec vec(const Json& list, std::size_t place) {
  return {list[3 * place], list[3 * place + 1], list[3 * place + 2]};
}

}  // namespace

TEST_CASE("a view holds every component where the scene has it", "[results][view]") {
  const SceneView view = view_of(shipped("dish"));
  REQUIRE(view.components.size() == 3);
  const ComponentView &dish = component(view, "dish"), &focus = component(view, "focus");
  CHECK(dish.role == Role::primary);
  CHECK(dish.shape_kind == "paraboloid");
  CHECK_FALSE(dish.flux);
  REQUIRE(focus.flux);
  REQUIRE(dish.copies.size() == 1);
  // It points at the sun, and its receiver is carried 6 m before it, looking back.
  const Frame &at = dish.copies.front(), &held = focus.copies.front();
  CHECK(length(at.ez - view.to_sun) < 1e-12);
  CHECK(length(held.origin - (at.origin + 6.0 * view.to_sun)) < 1e-12);
  CHECK(length(held.ez + view.to_sun) < 1e-12);
  // A paraboloid's points are as far from the focus as from the directrix, 6 m behind the vertex.
  for (const Vec& p : dish.mesh.points_m) {
    const Vec world = at.point_to_world(p);
    CHECK(length(world - held.origin) == Approx(6 + dot(world - at.origin, view.to_sun)).epsilon(1e-12));
    CHECK(world.z >= view.bounds_m.low.z - 1e-9);
    CHECK(world.z <= view.bounds_m.high.z + 1e-9);
  }
}

TEST_CASE("a steered mirror is seen in its pose", "[results][view]") {
  Scene scene = shipped("bowl");
  for (Component& c : scene.components) {
    if (auto* mount = std::get_if<SteeredMount>(&c.mount)) {
      mount->offset_m = {0.5, -0.25, 0.125};
      mount->axis = unit(Vec{0.1, 0.2, -1});
      const SceneView view = view_of(scene);
      const Frame& frame = component(view, c.name).copies.front();
      CHECK(length(frame.origin - (mount->home_m + Vec{0.5, -0.25, 0.125})) < 1e-12);
      CHECK(length(frame.ez - mount->axis) < 1e-12);
    }
  }
}

TEST_CASE("flux coordinates run over the map's axes", "[results][view]") {
  for (const MeshLines lines : {MeshLines::none, MeshLines::bins}) {
    const SceneView tube = view_of(shipped("bowl"), lines), disc = view_of(shipped("dish"), lines);
    const ComponentView &around = component(tube, "absorber"), &flat = component(disc, "focus");
    CHECK(around.flux->first == "azimuth_rad");
    CHECK(flat.flux->first == "x_m");
    const double height_m = around.flux->high.y - around.flux->low.y;
    double most = 0, least = 1;
    for (std::size_t i = 0; i < around.mesh.points_m.size(); ++i) {
      const Vec p = around.mesh.points_m[i];
      const Vec2 share = share_of_map(*around.flux, around.mesh.coordinates[i]);
      CHECK(share.y == Approx(p.z / height_m + 0.5).margin(1e-12));
      // The azimuth of share.x turns has the direction of (x, y).
      CHECK(p.x * std::sin(2 * pi * share.x) == Approx(p.y * std::cos(2 * pi * share.x)).margin(1e-12));
      CHECK(p.x * std::cos(2 * pi * share.x) + p.y * std::sin(2 * pi * share.x) > 0);
      most = std::fmax(most, share.x), least = std::fmin(least, share.x);
    }
    CHECK(least == 0);
    CHECK(most == Approx(1).epsilon(1e-12));
    for (std::size_t i = 0; i < flat.mesh.points_m.size(); ++i) {
      const Vec2 share = share_of_map(*flat.flux, flat.mesh.coordinates[i]);
      CHECK(share.x == Approx(0.5 + flat.mesh.points_m[i].x / 0.24).margin(1e-12));
      CHECK(share.y == Approx(0.5 + flat.mesh.points_m[i].y / 0.24).margin(1e-12));
    }
  }
}

TEST_CASE("with bins, the triangles of a bin cover its area", "[results][view]") {
  const Scene scene = shipped("dish");
  const ComponentView focus = component(view_of(scene, MeshLines::bins), "focus");
  std::vector<double> found_m2(64 * 64);
  for (const auto& t : focus.mesh.triangles) {
    Vec2 middle;
    for (const auto corner : t) {
      const Vec2 share = share_of_map(*focus.flux, focus.mesh.coordinates[corner]);
      middle = {middle.x + share.x / 3, middle.y + share.y / 3};
    }
    const auto bin = static_cast<std::size_t>(middle.x * 64) * 64 + static_cast<std::size_t>(middle.y * 64);
    found_m2[bin] += area_m2(Mesh{focus.mesh.points_m, {}, {}, {t}});
  }
  // An inner bin is 0.24 m / 64 square.
  CHECK(found_m2[32 * 64 + 32] == Approx(std::pow(0.24 / 64, 2)).epsilon(1e-9));
  CHECK(found_m2[32 * 64 + 10] == Approx(std::pow(0.24 / 64, 2)).epsilon(1e-9));
  CHECK(found_m2[0] == 0);  // a corner, beyond the disc
}

TEST_CASE("the JSON of a view is what its header says", "[results][view]") {
  const Scene scene = shipped("bowl");
  const TraceResult result = trace(scene, {.samples = 1 << 13, .paths = 50});
  const SceneView view = view_of(scene);
  const Json json = Json::parse(to_json(view, result.paths));
  CHECK(json["title"] == scene.title);
  CHECK(length(vec(json["to_sun"], 0) - scene.sun.toward) < 1e-6);
  REQUIRE(json["components"].size() == scene.components.size());
  for (std::size_t c = 0; c < view.components.size(); ++c) {
    const Json& got = json["components"][c];
    const ComponentView& expected = view.components[c];
    CAPTURE(expected.name);
    CHECK(got["name"] == expected.name);
    CHECK(got["copies"].size() == 12 * expected.copies.size());
    CHECK(got["triangles"].size() == 3 * expected.mesh.triangles.size());
    CHECK(got["normals"].size() == got["points_m"].size());
    CHECK(got.contains("flux") == (expected.role == Role::receiver));
    const Json& copies = got["copies"];
    for (std::size_t i = 0; i < expected.mesh.points_m.size(); ++i) {
      const Vec p = vec(got["points_m"], i);
      const Vec world = vec(copies, 0) + p.x * vec(copies, 1) + p.y * vec(copies, 2) + p.z * vec(copies, 3);
      CHECK(length(world - expected.copies[0].point_to_world(expected.mesh.points_m[i])) < 1e-5);
    }
  }
  const Json& paths = json["paths"];
  REQUIRE(paths["fate"].size() == 50);
  std::size_t vertices = 0;
  for (const Json& count : paths["vertex_count"]) vertices += count.get<std::size_t>();
  CHECK(paths["vertices_m"].size() == 3 * vertices);
  CHECK(paths["fates"].back() == "absorbed");  // in the order of the budget
}

TEST_CASE("hundreds of mirrors share one mesh", "[results][view]") {
  const SceneView view = view_of(shipped("tower"));
  const auto most = std::ranges::max(view.components, {}, [](const auto& c) { return c.copies.size(); });
  CHECK(most.copies.size() >= 100);
  const std::string json = to_json(view, {});
  CHECK(json.size() < 200 * most.copies.size() + 100'000);
}

}  // namespace catoptra
