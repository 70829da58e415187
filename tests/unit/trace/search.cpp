// Both searches must find the same hits to the bit: random rays, rays that leave surfaces, rays among hundreds of
// copies.
#include "trace/search.h"

#include <catch2/catch.hpp>
#include <random>

#include "scene/read.h"
#include "trace/plan.h"

using namespace catoptra;

namespace {

const std::string kinds = R"(schema = 1
[sun]
azimuth_deg = 170
elevation_deg = 50
[finish.silver]
kind = "mirror"
reflectance = 0.9
[finish.black]
kind = "absorber"
absorptance = 0.9
[[primary]]
name = "bowl"
shape = { kind = "sphere", radius_m = 5 }
aperture = { kind = "circle", diameter_m = 9.6 }
finish = "silver"
mount = { kind = "fixed" }
[[primary]]
name = "trough"
shape = { kind = "circular_trough", radius_m = 2 }
aperture = { kind = "rectangle", width_m = 3, length_m = 4 }
finish = "silver"
mount = { kind = "fixed", position_m = [7, 0, 1], axis = [-1, 0, 1] }
[[secondary]]
name = "hyperbola"
shape = { kind = "conic", radius_of_curvature_m = -1, conic_constant = -2 }
aperture = { kind = "polygon", points_m = [[-1, -1], [1, -1], [0.2, 0], [1, 1], [-1, 1]] }
finish = "silver"
mount = { kind = "fixed", position_m = [0, 0, 4], axis = [0.1, 0, -1] }
[[receiver]]
name = "ball"
shape = { kind = "ball", radius_m = 0.5 }
finish = "black"
mount = { kind = "fixed", position_m = [0, 0, 2] }
[[receiver]]
name = "cone"
shape = { kind = "cone", bottom_radius_m = 0, top_radius_m = 1, height_m = 2 }
finish = "black"
mount = { kind = "fixed", position_m = [-7, 0, 2] }
[[obstacle]]
name = "mast"
shape = { kind = "cylinder", radius_m = 0.1, length_m = 5 }
mount = { kind = "fixed", position_m = [3, 3, 2], axis = [0.2, 0.1, 1] }
)";

const std::string copies = R"(schema = 1
[sun]
azimuth_deg = 200
elevation_deg = 35
[finish.silver]
kind = "mirror"
reflectance = 0.9
[[primary]]
name = "heliostat"
shape = { kind = "sphere", radius_m = 200 }
aperture = { kind = "rectangle", width_m = 3, length_m = 2 }
finish = "silver"
mount = { kind = "heliostat", position_m = [0, 0, 2], aim_m = [0, 0, 40] }
array = { kind = "spiral", count = 300, inner_radius_m = 15, spacing_m = 4 }
[[receiver]]
name = "drum"
shape = { kind = "cylinder", radius_m = 2, length_m = 4 }
finish = "silver"
mount = { kind = "fixed", position_m = [0, 0, 40] }
)";

Plan plan_of(const std::string& text) {
  auto outcome = read_scene_text(text, "search.toml");
  REQUIRE(outcome.scene);
  return make_plan(*outcome.scene);
}

/// Rays from all over the scene in all directions, from nowhere in particular.
void fill_free(const Plan& plan, std::mt19937_64& random, RayBlock& rays) {
  std::normal_distribution<double> gaussian;
  rays.clear();
  rays.count = bundle_size;
  for (int i = 0; i < rays.count; ++i) {
    const Vec d = unit(Vec{gaussian(random), gaussian(random), gaussian(random)});
    // Toward something, mostly: a tenth of the size about one of the instances.
    const auto& at = plan.instances[random() % plan.instances.size()];
    const Vec to =
        at.center_m + (0.5 * at.bounding_radius_m) * Vec{gaussian(random), gaussian(random), gaussian(random)};
    const Vec p = to - (plan.extent_m * std::fabs(gaussian(random))) * d;
    rays.px[i] = p.x, rays.py[i] = p.y, rays.pz[i] = p.z;
    rays.dx[i] = d.x, rays.dy[i] = d.y, rays.dz[i] = d.z;
    rays.from[i] = -1;
  }
}

/// The same rays go on from where they hit, in new directions. True if any hit anything.
bool go_on(const HitBlock& hits, std::mt19937_64& random, RayBlock& rays) {
  std::normal_distribution<double> gaussian;
  int kept = 0;
  for (int i = 0; i < rays.count; ++i) {
    if (hits.instance[i] < 0) continue;
    const double t = hits.distance[i];
    const Vec p{rays.px[i] + t * rays.dx[i], rays.py[i] + t * rays.dy[i], rays.pz[i] + t * rays.dz[i]};
    const Vec d = unit(Vec{gaussian(random), gaussian(random), gaussian(random)});
    rays.px[kept] = p.x, rays.py[kept] = p.y, rays.pz[kept] = p.z;
    rays.dx[kept] = d.x, rays.dy[kept] = d.y, rays.dz[kept] = d.z;
    rays.from[kept++] = hits.instance[i];
  }
  rays.count = kept;
  return kept > 0;
}

struct Tally {
  int rays = 0, hits = 0, different = 0, own_again = 0;
};

void compare(const Search& a, const Search& b, const RayBlock& rays, HitBlock& hits, Tally& tally) {
  HitBlock other;
  a.nearest(rays, hits);
  b.nearest(rays, other);
  HitBlock dark_a, dark_b;
  a.occluded(rays, dark_a);
  b.occluded(rays, dark_b);
  for (int i = 0; i < rays.count; ++i) {
    ++tally.rays;
    tally.hits += hits.instance[i] >= 0;
    tally.own_again += hits.instance[i] >= 0 && hits.instance[i] == rays.from[i];
    tally.different += hits.instance[i] != other.instance[i] || hits.distance[i] != other.distance[i] ||
                       dark_a.distance[i] != dark_b.distance[i] || (dark_a.distance[i] == 0) != (hits.instance[i] >= 0);
  }
}

}  // namespace

TEST_CASE("searches agree to the bit: free rays and rays that leave surfaces", "[trace][search]") {
  for (const auto& text : {kinds, copies}) {
    const Plan plan = plan_of(text);
    INFO(plan.instances.size() << " instances");
    const std::unique_ptr<Search> direct = make_direct_search(plan), tree = make_embree_search(plan);
    std::mt19937_64 random(8);
    Tally tally;
    RayBlock rays;
    HitBlock hits;
    for (int block = 0; block < 60; ++block) {
      fill_free(plan, random, rays);
      compare(*direct, *tree, rays, hits, tally);
      for (int bounce = 0; bounce < 3 && go_on(hits, random, rays); ++bounce)
        compare(*direct, *tree, rays, hits, tally);
    }
    CHECK(tally.different == 0);
    CHECK(tally.hits > 5000);
    CHECK(tally.own_again >
          (plan.instances.size() < 10 ? 1000 : 10));  // concave surfaces are met again from themselves
  }
}

TEST_CASE("a block that leaves one surface as a whole finds the same hits", "[trace][search]") {
  // The direct search then takes the known root out of the equation beforehand, the tree only in solving it.
  const Plan plan = plan_of(kinds);
  const std::unique_ptr<Search> direct = make_direct_search(plan), tree = make_embree_search(plan);
  std::mt19937_64 random(9);
  RayBlock rays;
  HitBlock hits, other;
  int compared = 0, different = 0, own_again = 0;
  for (int block = 0; block < 60; ++block) {
    fill_free(plan, random, rays);
    direct->nearest(rays, hits);
    if (!go_on(hits, random, rays)) continue;
    const double from = rays.from[0];  // keep only those that leave the first one's surface
    int kept = 0;
    for (int i = 0; i < rays.count; ++i) {
      if (rays.from[i] != from) continue;
      rays.px[kept] = rays.px[i], rays.py[kept] = rays.py[i], rays.pz[kept] = rays.pz[i];
      rays.dx[kept] = rays.dx[i], rays.dy[kept] = rays.dy[i], rays.dz[kept] = rays.dz[i];
      rays.from[kept++] = from;
    }
    rays.count = kept;
    rays.stretch_count = 0;
    rays.add_stretch({from, 0, kept});
    direct->nearest(rays, hits);
    tree->nearest(rays, other);
    for (int i = 0; i < rays.count; ++i) {
      ++compared;
      own_again += hits.instance[i] == from;
      different += hits.instance[i] != other.instance[i] || hits.distance[i] != other.distance[i];
    }
  }
  CHECK(compared > 2000);
  CHECK(own_again > 200);
  CHECK(different == 0);
}
