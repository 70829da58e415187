// The search by lists of neighbours must find what trying every instance finds, to the bit, for rays that leave mirrors
// toward the sun and where they throw its light, inside their cones and out of them.
#include <catch2/catch.hpp>
#include <random>

#include "geometry/entry.h"
#include "scene/read.h"
#include "trace/plan.h"
#include "trace/search.h"

using namespace catoptra;

namespace {

std::string field(const std::string& sun, const std::string& primary) {
  return "schema = 1\n[sun]\nshape = { kind = \"disc\" }\n" + sun + R"(
[finish.silver]
kind = "mirror"
reflectance = 0.9
slope_error_mrad = 2
specularity_error_mrad = 0.5
[finish.black]
kind = "absorber"
absorptance = 0.9
[[receiver]]
name = "drum"
shape = { kind = "cylinder", radius_m = 2, length_m = 6 }
finish = "black"
mount = { kind = "fixed", position_m = [0, 0, 30] }
[[obstacle]]
name = "tower"
shape = { kind = "cylinder", radius_m = 1.5, length_m = 26 }
mount = { kind = "fixed", position_m = [0, 0, 13] }
[[primary]]
name = "mirror"
finish = "silver"
)" + primary;
}

// Close together under a low sun: much shading, much blocking.
const std::string flat = field("azimuth_deg = 140\nelevation_deg = 18", R"(
shape = { kind = "plane" }
aperture = { kind = "rectangle", width_m = 4, length_m = 3 }
mount = { kind = "heliostat", position_m = [0, 0, 3], aim = "drum", jitter_mrad = 1 }
array = { kind = "spiral", count = 300, inner_radius_m = 15, spacing_m = 4.5 }
)");
const std::string dished = field("azimuth_deg = 200\nelevation_deg = 30", R"(
shape = { kind = "sphere", radius_m = 60 }
aperture = { kind = "circle", diameter_m = 4 }
mount = { kind = "heliostat", position_m = [0, 0, 3], aim = "drum" }
array = { kind = "grid", count = [14, 14], spacing_m = [5, 5] }
)");
// So deep that light meets a mirror twice, and thrown so wide that no list is kept.
const std::string deep = field("azimuth_deg = 180\nelevation_deg = 70", R"(
shape = { kind = "circular_trough", radius_m = 1.2 }
aperture = { kind = "rectangle", width_m = 2.2, length_m = 6 }
mount = { kind = "fixed", position_m = [0, 0, 1] }
array = { kind = "grid", count = [10, 4], spacing_m = [2.5, 7] }
)");

/// Rays that leave random points of random mirrors, `spread_rad` about the sun or about where its light is thrown.
void fill(const Plan& plan, bool toward_sun, double spread_rad, std::mt19937_64& random, RayBlock& rays) {
  std::uniform_real_distribution<double> uniform(1e-9, 1 - 1e-9);
  std::normal_distribution<double> gaussian;
  const ComponentPlan& mirrors = plan.components[plan.entries.components.front()];
  rays.clear();
  for (int i = 0; i < bundle_size; ++i) {
    const int number = mirrors.first + static_cast<int>(uniform(random) * mirrors.copies);
    const Frame& frame = plan.instances[number].frame;
    const auto entry =
        std::visit([&](const auto& s, const auto& o) { return entry_point(s, o, uniform(random), uniform(random)); },
                   mirrors.surface, mirrors.outline);
    const Vec p = frame.point_to_world(entry.point_m), n = frame.direction_to_world(entry.normal), s = plan.sun.toward;
    const Vec about = toward_sun ? s : 2 * dot(s, n) * n - s;
    const Vec d = unit(about + spread_rad * Vec{gaussian(random), gaussian(random), gaussian(random)});
    rays.px[i] = p.x, rays.py[i] = p.y, rays.pz[i] = p.z;
    rays.dx[i] = d.x, rays.dy[i] = d.y, rays.dz[i] = d.z;
    rays.from[i] = number;
    ++rays.count;
  }
}

}  // namespace

TEST_CASE("lists are kept for arrays; many single components stand in the tree, few are tried in turn",
          "[trace][search]") {
  const auto name_of = [](const std::string& text) {
    auto outcome = read_scene_text(text, "field.toml");
    REQUIRE(outcome.scene);
    return make_search(make_plan(*outcome.scene))->name();
  };
  const auto singles = [](int count) {
    std::string text = field("azimuth_deg = 180\nelevation_deg = 70", R"(
shape = { kind = "plane" }
aperture = { kind = "circle", diameter_m = 1 }
mount = { kind = "fixed", position_m = [0, -50, 1] }
)");
    for (int i = 0; i < count; ++i) {
      text += "[[obstacle]]\nname = \"post " + std::to_string(i) +
              "\"\nshape = { kind = \"ball\", radius_m = 0.1 }\nmount = { kind = \"fixed\", position_m = [" +
              std::to_string(i) + ", 50, 1] }\n";
    }
    return text;
  };
  CHECK(name_of(flat).find("lists") == 0);
  CHECK(name_of(singles(5)).find("each instance") == 0);
  CHECK(name_of(singles(40)).find("Embree") == 0);
}

TEST_CASE("listed neighbours are all that light between mirrors can meet", "[trace][search]") {
  for (const auto& text : {flat, dished, deep}) {
    auto outcome = read_scene_text(text, "field.toml");
    REQUIRE(outcome.scene);
    const Plan plan = make_plan(*outcome.scene);
    const auto lists = make_candidate_search(plan), in_turn = make_direct_search(plan);
    std::mt19937_64 random(4);
    RayBlock rays;
    HitBlock a, b;
    int on_copies = 0, shaded = 0, different = 0;
    for (const double spread_rad : {0.003, 0.02, 0.2, 2.0}) {
      for (int block = 0; block < 40; ++block) {
        fill(plan, true, spread_rad, random, rays);
        lists->occluded(rays, a);
        in_turn->occluded(rays, b);
        for (int i = 0; i < rays.count; ++i) {
          different += a.distance[i] != b.distance[i];
          shaded += b.distance[i] == 0;
        }
        fill(plan, false, spread_rad, random, rays);
        lists->nearest(rays, a);
        in_turn->nearest(rays, b);
        for (int i = 0; i < rays.count; ++i) {
          different += a.distance[i] != b.distance[i] || a.instance[i] != b.instance[i];
          on_copies += b.instance[i] >= 0 &&
                       plan.component_of[static_cast<int>(b.instance[i])] == plan.entries.components.front();
        }
      }
    }
    CHECK(different == 0);
    CHECK(shaded > 1000);
    CHECK(on_copies > 1000);
  }
}
