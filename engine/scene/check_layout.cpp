// Checks for shading and intersection at the scene's own sun. They are estimates on grids, for warnings only.
#include <algorithm>
#include <array>
#include <fmt/format.h>
#include <span>

#include "geometry/entrance.h"
#include "scene/check.h"
#include "scene/placement.h"
#include "scene/roles.h"
#include "scene/surface_points.h"

namespace catoptra {
namespace {

constexpr int grid = 24;
constexpr std::size_t most_copies_looked_at = 64;

/// A grid of points on a component's surface, in its own frame.
std::vector<Vec> points_on(const Component& component) {
  std::array<double, grid> middles{};
  for (int i = 0; i < grid; ++i) middles[i] = (i + 0.5) / grid;
  return points_on(component, middles, middles);
}

bool is_hit(const Component& component, const Frame& frame, const Vec& from, const Vec& toward) {
  const Vec p = frame.point_to_local(from), d = frame.direction_to_local(toward);
  return std::visit([&](const auto& surface,
                        const auto& outline) { return hit_distance_m(surface, outline, p, d, false) < infinity; },
                    component.surface, component.outline);
}

/// As height_over_m(); of a ball the height over its outside. The other closed surfaces are open at their ends.
std::optional<double> height_above_m(const Component& mirror, const Vec& local) {
  if (const auto* ball = std::get_if<Ball>(&mirror.surface)) return length(local) - ball->radius_m;
  return height_over_m(mirror, local);
}

class LayoutChecker {
 public:
  LayoutChecker(const std::vector<Draft>& drafts, const Scene& scene, Problems& problems)
      : drafts_(drafts), scene_(scene), problems_(problems), layout_(place(scene, scene.sun.toward)) {
    for (std::size_t begin = 0; begin < layout_.placed.size();) {
      std::size_t end = begin;
      while (end < layout_.placed.size() && layout_.placed[end].component == layout_.placed[begin].component) ++end;
      copies_.push_back(std::span(layout_.placed).subspan(begin, end - begin));
      begin = end;
    }
  }

  void operator()() {
    for (std::size_t i = 0; i < drafts_.size(); ++i) {
      for (std::size_t j = 0; j < drafts_.size(); ++j) {
        const Role role = role_of(i), other = role_of(j);
        if (role == Role::primary && other == Role::secondary) check_shade(i, j);
        if (role == Role::primary && other == Role::cover) check_lid(i, j);
        if (role == Role::receiver && (other == Role::primary || other == Role::secondary)) check_inside(i, j);
      }
    }
  }

 private:
  Role role_of(std::size_t i) const { return scene_.components[i].role; }

  void check_shade(std::size_t primary, std::size_t secondary) {
    const auto points = points_on(scene_.components[primary]);
    const auto &mirrors = copies_[primary], &others = copies_[secondary];
    // Some of many copies will do: this finds scenes that are wrong as a whole.
    const std::size_t stride =
        1 + (mirrors.size() * std::min<std::size_t>(others.size(), 1000) - 1) / most_copies_looked_at;
    int shaded = 0, all = 0;
    for (std::size_t copy = 0; copy < mirrors.size(); copy += stride) {
      for (const Vec& local : points) {
        const Vec p = mirrors[copy].frame.point_to_world(local);
        ++all;
        shaded += std::ranges::any_of(others.first(std::min<std::size_t>(others.size(), 1000)),
                                      [&](const Placed& other) {
                                        return is_hit(scene_.components[secondary], other.frame, p, layout_.to_sun);
                                      })
                      ? 1
                      : 0;
      }
    }
    const double share = static_cast<double>(shaded) / all;
    if (share < 0.5) return;
    problems_.warning(drafts_[secondary].at("aperture"),
                      fmt::format("{} keeps the sun from {:.0f} % of {}", drafts_[secondary].what, 100 * share,
                                  drafts_[primary].what),
                      {"a rough estimate for the scene's own sun; a smaller aperture or another place shades less"});
  }

  /// A pane that lies exactly in an entrance, on which light starts, is not met.
  void check_lid(std::size_t primary, std::size_t cover) {
    const auto entrance = entrance_of(scene_.components[primary].surface);
    if (!entrance) return;
    const Component& pane = scene_.components[cover];
    const double reach_m = radius_span_m(entrance->outline).largest_m;
    const Vec2 at = std::visit(
        [](const auto& outline) -> Vec2 {
          if constexpr (requires { outline.sample(0.5, 0.5); }) {
            const auto p = outline.sample(0.5, 0.4);
            return {p.x, p.y};
          }
          return {};
        },
        entrance->outline);
    for (const Placed& one : copies_[primary].first(std::min(copies_[primary].size(), most_copies_looked_at))) {
      const Vec p = one.frame.point_to_world(Vec{at.x, at.y, entrance->height_m});
      for (const Placed& other : copies_[cover]) {
        const auto height_m = height_above_m(pane, other.frame.point_to_local(p));
        if (!height_m || std::fabs(*height_m) > 1e-9 * (reach_m + length(p))) continue;
        problems_.error(drafts_[cover].at("mount"),
                        fmt::format("{} lies in the entrance of {}", drafts_[cover].what, drafts_[primary].what),
                        {"light starts there and would not pass it", "allowed: a hair above it, 0.001 m say"});
        return;
      }
    }
  }

  void check_inside(std::size_t receiver, std::size_t mirror) {
    const Component& body = scene_.components[mirror];
    const auto* ball = std::get_if<Ball>(&body.surface);
    const double reach_m = ball != nullptr ? ball->radius_m : radius_span_m(body.outline).largest_m;
    const auto points = points_on(scene_.components[receiver]);
    double size_m = 0;
    for (const Vec& p : points) size_m = std::fmax(size_m, length(p));
    for (const Placed& one : copies_[receiver].first(std::min(copies_[receiver].size(), most_copies_looked_at))) {
      for (const Placed& other : copies_[mirror]) {
        // A receiver far from the mirror is not inside it: few mirrors are deeper than they are wide.
        if (length(one.frame.origin - other.frame.origin) > size_m + 2 * reach_m) continue;
        int before = 0, behind = 0;
        for (const Vec& local : points) {
          const auto height_m = height_above_m(body, other.frame.point_to_local(one.frame.point_to_world(local)));
          if (height_m && *height_m > 1e-9 * reach_m) ++before;
          if (height_m && *height_m < -1e-9 * reach_m) ++behind;
        }
        if (behind == 0) continue;
        if (before > 0) {
          problems_.warning(drafts_[receiver].at("mount"),
                            fmt::format("{} cuts through {}", drafts_[receiver].what, drafts_[mirror].what),
                            {"part of it lies behind the mirror, where no light comes; a hole in the mirror takes an "
                             "aperture with one"});
          return;
        }
        if (ball != nullptr) {
          problems_.warning(drafts_[receiver].at("mount"),
                            fmt::format("{} lies inside {}", drafts_[receiver].what, drafts_[mirror].what),
                            {"a ball is closed: no light gets in"});
          return;
        }
        if (role_of(mirror) == Role::primary) {
          problems_.warning(drafts_[receiver].at("mount"),
                            fmt::format("{} lies behind {}", drafts_[receiver].what, drafts_[mirror].what),
                            {"light would have to pass through the mirror to reach it"});
          return;
        }
      }
    }
  }

  const std::vector<Draft>& drafts_;
  const Scene& scene_;
  Problems& problems_;
  Layout layout_;
  std::vector<std::span<const Placed>> copies_;  // by component
};

}  // namespace

void check_layout(const std::vector<Draft>& drafts, const Scene& scene, Problems& problems) {
  try {
    LayoutChecker(drafts, scene, problems)();
  } catch (const PlacementError& fault) {
    problems.error(fault.place(), fault.message());
  }
}

}  // namespace catoptra
