#include "steer/clearance.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "geometry/bounds.h"
#include "scene/surface_points.h"

namespace catoptra {
namespace {

constexpr int rings = 8, spokes = 24;

/// Rings and spokes of points. The edges of the unit square are the rim. A hair inside, rounding leaves no point
/// outside the outline.
std::vector<Vec> points_on(const Component& component) {
  std::array<double, rings + 1> us{};
  std::array<double, spokes> vs{};
  const auto inside = [](double share) { return std::clamp(share, 1e-9, 1 - 1e-9); };
  for (int i = 0; i <= rings; ++i) us[i] = inside(static_cast<double>(i) / rings);
  for (int j = 0; j < spokes; ++j) vs[j] = inside(static_cast<double>(j) / spokes);
  return points_on(component, us, vs);
}

std::vector<Vec> points_on(const Box& box) {
  std::vector<Vec> out;
  const auto between = [](double low, double high, int i) { return low + (high - low) * i / 4; };
  for (int i = 0; i <= 4; ++i) {
    for (int j = 0; j <= 4; ++j) {
      for (int k = 0; k <= 4; ++k)
        out.push_back(
            {between(box.low.x, box.high.x, i), between(box.low.y, box.high.y, j), between(box.low.z, box.high.z, k)});
    }
  }
  return out;
}

/// The least height of a body's points over a mirror's surface. A primary is solid ground below; another mirror has two
/// sides, and a body may stand on either, but not on both.
double gap_m(const std::vector<Vec>& points_m, const Frame& body, const Component& mirror, const Frame& frame) {
  double low_m = infinity, high_m = -infinity;
  for (const Vec& p : points_m) {
    if (const auto height = height_over_m(mirror, frame.point_to_local(body.point_to_world(p)))) {
      low_m = std::fmin(low_m, *height);
      high_m = std::fmax(high_m, *height);
    }
  }
  return mirror.role == Role::primary || low_m > high_m ? low_m : std::fmax(low_m, -high_m);
}

/// Distance from a box; inside, minus the way to its nearest side.
double distance_m(const Box& box, const Vec& p) {
  const Vec middle = 0.5 * (box.low + box.high), half = 0.5 * (box.high - box.low);
  const Vec beyond{std::fabs(p.x - middle.x) - half.x, std::fabs(p.y - middle.y) - half.y,
                   std::fabs(p.z - middle.z) - half.z};
  const Vec outside{std::fmax(beyond.x, 0), std::fmax(beyond.y, 0), std::fmax(beyond.z, 0)};
  return length(outside) + std::fmin(0, std::fmax(beyond.x, std::fmax(beyond.y, beyond.z)));
}

}  // namespace

Clearance::Clearance(const Scene& scene) {
  for (const Component& c : scene.components) {
    const auto* mount = std::get_if<SteeredMount>(&c.mount);
    Body body{&c, {}, bounds_of(c.surface, c.outline), 0, mount != nullptr, mount != nullptr ? mount->clearance_m : 0};
    const bool boxed = c.role == Role::receiver && !body.is_steered;
    body.points_m = boxed ? points_on(body.box_m) : points_on(c);
    for (const Vec& p : body.points_m) body.reach_m = std::fmax(body.reach_m, length(p));
    bodies_.push_back(std::move(body));
  }
  for (std::size_t i = 0; i < bodies_.size(); ++i) {
    auto& row = apart_.emplace_back(bodies_.size(), false);
    if (!bodies_[i].is_steered) continue;
    for (std::size_t j = 0; j < bodies_.size(); ++j)
      row[j] = i != j && bodies_[j].component->role != Role::obstacle && !is_carried_by(j, i);
  }
}

bool Clearance::is_carried_by(std::size_t i, std::size_t carrier) const {
  for (std::size_t step = 0; step < bodies_.size(); ++step) {
    const auto* mount = std::get_if<CarriedMount>(&bodies_[i].component->mount);
    if (mount == nullptr) return false;
    const auto at = std::ranges::find(bodies_, mount->by, [](const Body& b) { return b.component->name; });
    if (at == bodies_.end()) return false;
    i = static_cast<std::size_t>(at - bodies_.begin());
    if (i == carrier) return true;
  }
  return false;
}

double Clearance::shortfall_m(const Body& mover, const Frame& at, const Body& other, const Frame& there) const {
  const double wanted_m = mover.clearance_m;
  if (length(at.origin - there.origin) > mover.reach_m + other.reach_m + wanted_m) return 0;
  double nearest_m = infinity;
  if (other.component->role == Role::receiver) {
    for (const Vec& p : mover.points_m)
      nearest_m = std::fmin(nearest_m, distance_m(other.box_m, there.point_to_local(at.point_to_world(p))));
    // A receiver may also stand between the points of a large mirror.
    nearest_m = std::fmin(nearest_m, gap_m(other.points_m, there, *mover.component, at));
  } else {
    nearest_m = gap_m(mover.points_m, at, *other.component, there);
  }
  // Contact counts as intersection: the least gap is a small share of the body's size.
  const double least_m = std::fmax(wanted_m, 1e-6 * mover.reach_m);
  return nearest_m >= least_m ? 0 : least_m - nearest_m;
}

Clearance::Shortfall Clearance::worst(const Layout& layout) const {
  const Body *mover = nullptr, *near = nullptr;
  double worst_m = 0;
  for (const Placed& one : layout.placed) {
    const auto i = static_cast<std::size_t>(one.component);
    if (!bodies_[i].is_steered) continue;
    for (const Placed& other : layout.placed) {
      const auto j = static_cast<std::size_t>(other.component);
      const double m = apart_[i][j] ? shortfall_m(bodies_[i], one.frame, bodies_[j], other.frame) : 0;
      if (m <= worst_m) continue;
      worst_m = m;
      mover = &bodies_[i];
      near = &bodies_[j];
    }
  }
  if (mover == nullptr) return {};
  return {worst_m, mover->component->name, near->component->name, mover->clearance_m};
}

}  // namespace catoptra
