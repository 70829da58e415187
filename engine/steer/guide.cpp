#include "steer/guide.h"

#include <algorithm>
#include <cmath>

#include "geometry/entry.h"

namespace catoptra {
namespace {

constexpr int points_a_side = 12;       // of the square that a primary is sampled from
constexpr std::size_t most_rays = 600;  // of all copies of all primaries, unless these are more
constexpr int most_mirrors = 4;         // that a ray meets
constexpr double worth_of_secondary = 0.1;
constexpr double worth_from_behind = 0.5;

/// 1 at the middle, a half where a ray passes as far off as the corners, and never flat: like one over the distance.
double nearness(double miss_m, double reach_m) {
  return reach_m / (reach_m + miss_m);
}

/// How far from `middle_m` a ray passes on its way of `length_m`.
double miss_m(const Vec& from_m, const Vec& toward, double length_m, const Vec& middle_m) {
  const double along_m = std::clamp(dot(middle_m - from_m, toward), 0.0, length_m);
  return length(from_m + along_m * toward - middle_m);
}

}  // namespace

Guide::Guide(const Scene& scene) {
  std::size_t primaries = 0;
  for (const Component& c : scene.components) primaries += c.role == Role::primary ? c.array_offsets_m.size() : 0;
  const int side = std::clamp(static_cast<int>(std::sqrt(static_cast<double>(most_rays) /
                                                         static_cast<double>(std::max<std::size_t>(primaries, 1)))),
                              1, points_a_side);
  for (const Component& c : scene.components) {
    const Box box = std::visit([&](const auto& s) { return s.box(c.outline); }, c.surface);
    Body body{&c, {}, 0.5 * (box.low + box.high), 0.5 * length(box.high - box.low)};
    needs_secondary_ = needs_secondary_ || (c.role == Role::secondary && std::holds_alternative<SteeredMount>(c.mount));
    if (c.role == Role::primary) {
      std::visit(
          [&](const auto& surface, const auto& outline) {
            for (int i = 0; i < side; ++i) {
              for (int j = 0; j < side; ++j) {
                const auto entry = entry_point(surface, outline, (i + 0.5) / side, (j + 0.5) / side);
                if (entry.measure_m2 > 0) body.entries.push_back({entry.point_m, entry.normal, entry.measure_m2});
              }
            }
          },
          c.surface, c.outline);
    }
    bodies_.push_back(std::move(body));
  }
}

double Guide::worth(const Layout& layout, Vec at_m, Vec toward, std::size_t from) const {
  bool met = !needs_secondary_;
  double best = 0;
  for (int mirror = 0; mirror < most_mirrors; ++mirror) {
    // The next mirror on the way: primaries are left out, since light that falls back into a bowl is lost.
    double way_m = infinity;
    std::size_t next = layout.placed.size();
    for (std::size_t k = 0; k < layout.placed.size(); ++k) {
      const Body& body = bodies_[static_cast<std::size_t>(layout.placed[k].component)];
      if (body.component->role != Role::secondary) continue;
      const Frame& frame = layout.placed[k].frame;
      const Vec p = frame.point_to_local(at_m), d = frame.direction_to_local(toward);
      const double t_m = std::visit(
          [&](const auto& surface, const auto& outline) { return hit_distance_m(surface, outline, p, d, k == from); },
          body.component->surface, body.component->outline);
      if (!(t_m < way_m)) continue;
      way_m = t_m;
      next = k;
    }
    // What this leg is worth.
    for (const Placed& placed : layout.placed) {
      const Body& body = bodies_[static_cast<std::size_t>(placed.component)];
      const bool is_goal = body.component->role == Role::receiver;
      const bool is_way =
          body.component->role == Role::secondary && std::holds_alternative<SteeredMount>(body.component->mount);
      if (met ? !is_goal : !is_way) continue;
      double worth = nearness(miss_m(at_m, toward, way_m, placed.frame.point_to_world(body.middle_m)), body.reach_m);
      const bool one_sided = !std::holds_alternative<Whole>(body.component->outline);
      if (is_goal && one_sided && dot(toward, placed.frame.ez) > 0) worth *= worth_from_behind;
      worth = met && needs_secondary_ ? worth_of_secondary + (1 - worth_of_secondary) * worth
              : met                   ? worth
                                      : worth_of_secondary * worth;
      best = std::max(best, worth);
    }
    if (next == layout.placed.size()) break;
    const Frame& frame = layout.placed[next].frame;
    const Component& component = *bodies_[static_cast<std::size_t>(layout.placed[next].component)].component;
    at_m = at_m + way_m * toward;
    const Vec p = frame.point_to_local(at_m);
    const Vec n = frame.direction_to_world(
        std::visit([&](const auto& surface) -> Vec { return surface.normal(p); }, component.surface));
    if (dot(n, toward) > 0) break;  // its back
    toward = unit(toward - (2 * dot(n, toward)) * n);
    from = next;
    met = met || std::holds_alternative<SteeredMount>(component.mount);
  }
  return best;
}

double Guide::operator()(const Layout& layout) const {
  double sum = 0, power = 0;
  for (std::size_t k = 0; k < layout.placed.size(); ++k) {
    const Placed& placed = layout.placed[k];
    for (const Entry& entry : bodies_[static_cast<std::size_t>(placed.component)].entries) {
      const Vec n = placed.frame.direction_to_world(entry.normal);
      const double cosine = dot(n, layout.to_sun);
      if (!(cosine > 0)) continue;
      const double share = entry.measure_m2 * cosine;
      power += share;
      sum += share * worth(layout, placed.frame.point_to_world(entry.point_m), 2 * cosine * n - layout.to_sun, k);
    }
  }
  return power > 0 ? sum / power : 0;
}

}  // namespace catoptra
