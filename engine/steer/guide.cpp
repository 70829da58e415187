#include "steer/guide.h"

#include <algorithm>
#include <cmath>

#include "geometry/bounds.h"

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

/// Where light that meets a front goes on.
std::optional<Vec> way_on(const AnyFinish& front, const Vec& toward, const Vec& normal) {
  return std::visit([&](const auto& finish) { return direction_onward(finish, toward, normal); }, front);
}

}  // namespace

Guide::Guide(const Scene& scene) {
  std::size_t primaries = 0;
  for (const Component& c : scene.components) primaries += c.role == Role::primary ? c.copies() : 0;
  const int side = std::clamp(static_cast<int>(std::sqrt(static_cast<double>(most_rays) /
                                                         static_cast<double>(std::max<std::size_t>(primaries, 1)))),
                              1, points_a_side);
  for (const Component& c : scene.components) {
    const Box box = bounds_of(c.surface, c.outline);
    Body body{&c,
              {},
              0.5 * (box.low + box.high),
              0.5 * length(box.high - box.low),
              c.front_finish < 0 ? AnyFinish{Dark{}} : scene.finishes[static_cast<std::size_t>(c.front_finish)].finish,
              c.role == Role::secondary && std::holds_alternative<SteeredMount>(c.mount)};
    needs_secondary_ = needs_secondary_ || body.is_steered_secondary;
    if (c.role == Role::primary) {
      std::visit(
          [&](const auto& surface, const auto& outline) {
            for (int i = 0; i < side; ++i) {
              for (int j = 0; j < side; ++j) {
                const auto entry = entry_point(surface, outline, (i + 0.5) / side, (j + 0.5) / side);
                if (entry.measure_m2 > 0) body.entries.push_back(entry);
              }
            }
          },
          c.surface, c.outline);
    }
    bodies_.push_back(std::move(body));
  }
}

Guide::Targets Guide::targets_of(const Layout& layout) const {
  Targets out;
  for (const Placed& placed : layout.placed) {
    const Body& body = bodies_[static_cast<std::size_t>(placed.component)];
    const Target target{&body, &placed.frame, placed.frame.point_to_world(body.middle_m)};
    if (body.component->role == Role::secondary) out.secondaries.push_back(target);
    if (body.component->role == Role::receiver) out.receivers.push_back(target);
  }
  return out;
}

double Guide::worth(const Targets& targets, Ray ray) const {
  bool met = !needs_secondary_;
  double best = 0;
  const Target* from = nullptr;
  for (int mirror = 0; mirror < most_mirrors; ++mirror) {
    // The next mirror on the way: primaries are left out, since light that falls back into a bowl is lost.
    double way_m = infinity;
    const Target* next = nullptr;
    for (const Target& target : targets.secondaries) {
      const Component& component = *target.body->component;
      const Vec p = target.frame->point_to_local(ray.at_m), d = target.frame->direction_to_local(ray.toward);
      const double t_m =
          std::visit([&](const auto& surface,
                         const auto& outline) { return hit_distance_m(surface, outline, p, d, &target == from); },
                     component.surface, component.outline);
      if (!(t_m < way_m)) continue;
      way_m = t_m;
      next = &target;
    }

    const auto nearness_to = [&](const Target& target) {
      return nearness(miss_m(ray.at_m, ray.toward, way_m, target.middle_m), target.body->reach_m);
    };
    const double before = needs_secondary_ ? worth_of_secondary : 0;  // what having met one is worth
    if (met) {
      for (const Target& target : targets.receivers) {
        const bool one_sided = !std::holds_alternative<Whole>(target.body->component->outline);
        const bool from_behind = one_sided && dot(ray.toward, target.frame->ez) > 0;
        best = std::max(best, before + (1 - before) * (nearness_to(target) * (from_behind ? worth_from_behind : 1)));
      }
    } else {
      for (const Target& target : targets.secondaries)
        if (target.body->is_steered_secondary) best = std::max(best, worth_of_secondary * nearness_to(target));
    }

    if (next == nullptr) break;
    ray.at_m = ray.at_m + way_m * ray.toward;
    const Vec p = next->frame->point_to_local(ray.at_m);
    const Vec n = next->frame->direction_to_world(
        std::visit([&](const auto& surface) -> Vec { return surface.normal(p); }, next->body->component->surface));
    if (dot(n, ray.toward) > 0) break;  // its back
    const auto onward = way_on(next->body->front, ray.toward, n);
    if (!onward) break;
    ray.toward = unit(*onward);
    from = next;
    met = met || next->body->is_steered_secondary;
  }
  return best;
}

double Guide::operator()(const Layout& layout) const {
  const Targets targets = targets_of(layout);
  double sum = 0, power = 0;
  for (const Placed& placed : layout.placed) {
    for (const auto& entry : bodies_[static_cast<std::size_t>(placed.component)].entries) {
      const Vec n = placed.frame.direction_to_world(entry.normal);
      const double cosine = dot(n, layout.to_sun);
      if (!(cosine > 0)) continue;
      const double share = entry.measure_m2 * cosine;
      power += share;
      const auto onward = way_on(bodies_[static_cast<std::size_t>(placed.component)].front, -layout.to_sun, n);
      if (onward) sum += share * worth(targets, {placed.frame.point_to_world(entry.point_m), *onward});
    }
  }
  return power > 0 ? sum / power : 0;
}

}  // namespace catoptra
