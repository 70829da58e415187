// The search by lists of neighbours must find what trying every instance finds, to the bit, for rays that leave mirrors
// toward the sun and where they throw its light, inside their cones and out of them.
#include "trace/candidates.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <random>
#include <string>
#include <utility>
#include <vector>

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

// Mirrors of facets that stand side by side and face different ways.
const std::string facetted = field("azimuth_deg = 140\nelevation_deg = 18", R"(
shape = { kind = "plane" }
aperture = { kind = "rectangle", width_m = 1.5, length_m = 1.2 }
facets = { kind = "grid", count = [3, 2], gap_m = [0.02, 0.02], focus_distance_m = 40 }
mount = { kind = "heliostat", position_m = [0, 0, 3], aim = "drum", jitter_mrad = 1 }
array = { kind = "grid", count = [8, 8], spacing_m = [5, 3.5] }
)");

// Under a sun and a drum so low, with mirrors so rough, that light may pass over most of the field: lists are given up.
const std::string crowded = [] {
  std::string text = flat;
  for (const auto& [from, to] : {std::pair{"slope_error_mrad = 2", "slope_error_mrad = 16"},
                                 {"position_m = [0, 0, 30]", "position_m = [0, 0, 6]"},
                                 {"elevation_deg = 18", "elevation_deg = 3"},
                                 {"jitter_mrad = 1", "jitter_mrad = 9"}}) {
    text.replace(text.find(from), std::string(from).size(), to);
  }
  return text;
}();

std::vector<LightCone> cones_of(const Plan& plan, bool to_sun) {
  std::vector<LightCone> out(plan.instances.size());
  const ComponentPlan& mirrors = plan.components[plan.entries.components.front()];
  for (int i = mirrors.first; i < mirrors.first + mirrors.copies; ++i) {
    out[i] = to_sun ? cone_to_sun(plan, mirrors) : cone_onward(plan, i);
  }
  return out;
}

Plan plan_of(const std::string& text) {
  auto outcome = read_scene_text(text, "field.toml");
  REQUIRE(outcome.scene);
  return make_plan(*outcome.scene);
}

/// Mirrors on random places of a square.
Plan scattered(int count, double slope_mrad) {
  std::string text = dished;
  const std::string key = "slope_error_mrad = 2";
  text.replace(text.find(key), key.size(), "slope_error_mrad = " + std::to_string(slope_mrad));
  auto outcome = read_scene_text(text, "field.toml");
  REQUIRE(outcome.scene);
  std::mt19937_64 random(8);
  std::uniform_real_distribution<double> place(-80, 80);
  for (Component& c : outcome.scene->components) {
    if (c.role != Role::primary) continue;
    c.array.clear();
    for (int i = 0; i < count; ++i) {
      const double east = place(random), north = 120 + place(random);
      c.array.push_back({{east, north, 0}});
    }
  }
  return make_plan(*outcome.scene);
}

/// Whether the cone about `cone.axis` that every point of `from`'s bounding sphere throws comes near `to`'s.
bool may_meet(const Instance& from, const LightCone& cone, const Instance& to, double radius_share) {
  const Vec v = to.center_m - from.center_m;
  const double both = radius_share * (from.bounding_radius_m + to.bounding_radius_m), away = length(v);
  if (away <= both) return true;
  const double off = std::acos(std::clamp(dot(v, cone.axis) / away, -1.0, 1.0));
  return off <= cone.half_angle_rad + std::asin(both / away);
}

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
  for (const auto& text : {flat, dished, deep, facetted, crowded}) {
    const Plan plan = plan_of(text);
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

TEST_CASE("a list holds all that its cone reaches, and little else, whatever the mirrors' errors", "[trace][search]") {
  // Trying every pair of a random field: what the cone of a mirror's centre reaches must stand in its list; what no
  // cone of its bounding sphere reaches must not, but for a few that the corners of boxes let in.
  std::vector<std::size_t> sizes;
  for (const double slope_mrad : {0.0, 2.0, 8.0}) {
    const Plan plan = scattered(400, slope_mrad);
    const ComponentPlan& mirrors = plan.components[plan.entries.components.front()];
    std::size_t size = 0;
    for (const bool to_sun : {true, false}) {
      const auto cones = cones_of(plan, to_sun);
      const CandidateLists lists(plan, cones, mirrors, 1000);
      int missing = 0, needless = 0, far = 0;
      for (int i = mirrors.first; i < mirrors.first + mirrors.copies; ++i) {
        REQUIRE(lists.is_whole(i));
        const auto list = lists.of(i);
        size += list.size();
        for (int k = mirrors.first; k < mirrors.first + mirrors.copies; ++k) {
          if (k == i) continue;
          const bool listed = std::ranges::find(list, k) != list.end();
          missing += may_meet(plan.instances[i], cones[i], plan.instances[k], 0) && !listed;
          needless += !may_meet(plan.instances[i], cones[i], plan.instances[k], 1.5) && listed;
          far += !listed;
        }
      }
      CHECK(missing == 0);
      CHECK(far > 400 * 300);
      CHECK(needless < 0.005 * far);
    }
    sizes.push_back(size);
    // Slopes turn light by twice as much, and 3.5 sigma of them belong to the cone.
    const double smooth = cone_onward(scattered(400, 0), mirrors.first).half_angle_rad;
    CHECK(cone_onward(plan, mirrors.first).half_angle_rad ==
          Approx(smooth + 2 * 3.5 * slope_mrad * 1e-3).epsilon(1e-9));
  }
  CHECK(sizes[0] < sizes[1]);
  CHECK(sizes[1] < sizes[2]);
}

TEST_CASE("lists are given up where they would be long, so that their cost grows as the field does",
          "[trace][search]") {
  const Plan plan = plan_of(crowded);
  const ComponentPlan& mirrors = plan.components[plan.entries.components.front()];
  for (const bool to_sun : {true, false}) {
    const auto cones = cones_of(plan, to_sun);
    const CandidateLists bounded(plan, cones, mirrors), unbounded(plan, cones, mirrors, mirrors.copies);
    int given_up = 0, kept = 0;
    for (int i = mirrors.first; i < mirrors.first + mirrors.copies; ++i) {
      const auto all = unbounded.of(i), some = bounded.of(i);
      REQUIRE(unbounded.is_whole(i));
      CHECK(bounded.is_whole(i) == (all.size() <= most_listed));
      // What is kept is the same list, in the same order.
      CHECK(std::vector(some.begin(), some.end()) ==
            (bounded.is_whole(i) ? std::vector(all.begin(), all.end()) : std::vector<int>()));
      (bounded.is_whole(i) ? kept : given_up) += 1;
    }
    CHECK(kept > 20);
    CHECK((to_sun || given_up > 20));
  }
}
