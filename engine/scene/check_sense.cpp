// Warnings of scenes that nobody can mean, although each key is allowed. They rest on rough estimates on grids.
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <span>

#include "geometry/area.h"
#include "geometry/entrance.h"
#include "geometry/entry.h"
#include "scene/check.h"
#include "scene/placement.h"
#include "scene/words.h"

namespace catoptra {
namespace {

constexpr int grid = 6;
constexpr std::size_t most_copies_looked_at = 64;
constexpr double widest_m = 500;  // no mirror has been built that is wider, nor a receiver

/// A piece of a component's surface.
struct Facet {
  Vec point_m, normal;
};

std::vector<Facet> facets_of(const Component& component) {
  std::vector<Facet> out;
  std::visit(
      [&](const auto& surface, const auto& outline) {
        for (int i = 0; i < grid; ++i) {
          for (int j = 0; j < grid; ++j) {
            const auto entry = entry_point(surface, outline, (i + 0.5) / grid, (j + 0.5) / grid);
            if (entry.measure_m2 > 0) out.push_back({entry.point_m, entry.normal});
          }
        }
      },
      component.surface, component.outline);
  return out;
}

/// Area of the front from a grid: within some per cent, and quick for any surface.
double rough_area_m2(const Component& component) {
  constexpr int fine = 24;
  double sum_m2 = 0;
  std::visit(
      [&](const auto& surface, const auto& outline) {
        for (int i = 0; i < fine; ++i) {
          for (int j = 0; j < fine; ++j)
            sum_m2 += entry_point(surface, outline, (i + 0.5) / fine, (j + 0.5) / fine).measure_m2;
        }
      },
      component.surface, component.outline);
  return sum_m2 / (fine * fine);
}

/// Half the angle that the sun fills, rad: of a disc with the same rms width where the sunshape has no edge. 0: a
/// point.
double half_angle_rad(const AnySunshape& shape) {
  struct Angle {
    double operator()(const DiscSun& s) const { return s.half_angle_rad; }
    double operator()(const PointSun&) const { return 0; }
    double operator()(const LimbDarkenedSun& s) const { return s.half_angle_rad; }
    double operator()(const GaussianSun& s) const { return 2 * s.sigma_rad; }
    double operator()(const BuieSun&) const { return nominal_half_angle_rad; }
    double operator()(const TableSun& s) const { return s.rows.back().x; }
  };
  return std::visit(Angle{}, shape);
}

class SenseChecker {
 public:
  SenseChecker(const std::vector<Draft>& drafts, const Scene& scene, Problems& problems)
      : drafts_(drafts), scene_(scene), problems_(problems), layout_(place(scene, scene.sun.toward)) {
    for (const Component& component : scene.components) facets_.push_back(facets_of(component));
    copies_.resize(scene.components.size());
    for (std::size_t begin = 0; begin < layout_.placed.size();) {
      std::size_t end = begin;
      while (end < layout_.placed.size() && layout_.placed[end].component == layout_.placed[begin].component) ++end;
      copies_[static_cast<std::size_t>(layout_.placed[begin].component)] =
          std::span(layout_.placed).subspan(begin, end - begin);
      begin = end;
    }
  }

  void operator()() {
    for (std::size_t i = 0; i < drafts_.size(); ++i) {
      check_size(i);
      check_freedom(i);
      if (role_of(i) == Role::primary) check_primary(i);
      if (role_of(i) == Role::secondary || role_of(i) == Role::receiver) check_lit(i);
    }
    check_copies();
    check_concentration();
  }

 private:
  Role role_of(std::size_t i) const { return scene_.components[i].role; }
  std::size_t number_of_copies(std::size_t i) const { return copies_[i].size(); }

  /// Light acts on both sides, or comes by an opening.
  bool is_two_sided(std::size_t i) const {
    const Component& c = scene_.components[i];
    return c.back_finish >= 0 || entrance_of(c.surface).has_value();
  }

  void check_size(std::size_t i) {
    if (facets_[i].empty()) return;
    const auto [west, east] = std::ranges::minmax(facets_[i], {}, [](const Facet& f) { return f.point_m.x; });
    const auto [south, north] = std::ranges::minmax(facets_[i], {}, [](const Facet& f) { return f.point_m.y; });
    // Half a step of the grid is missing at either end.
    const double across_m =
        std::min(east.point_m.x - west.point_m.x, north.point_m.y - south.point_m.y) * grid / (grid - 1);
    if (across_m <= widest_m) return;
    problems_.warning(drafts_[i].at("shape"),
                      fmt::format("{} is wider than {} m", drafts_[i].what, number_text(widest_m)),
                      {"keys that end with _m hold metres: 14000 mm is 14"});
  }

  void check_freedom(std::size_t i) {
    const auto* mount = std::get_if<SteeredMount>(&scene_.components[i].mount);
    if (mount == nullptr) return;
    const bool moves = mount->travel_m.x > 0 || mount->travel_m.y > 0 || mount->travel_m.z > 0 ||
                       !mount->tilt_rad.is_zero() || mount->roll_limit_rad > 0;
    if (moves) return;
    problems_.warning(drafts_[i].at("mount"), fmt::format("{} is steered but can't move", drafts_[i].what),
                      {"allowed: more than 0 in travel_m, tilt_deg or roll_limit_deg; kind = \"fixed\" for what stands "
                       "still"});
  }

  void check_primary(std::size_t i) {
    const Component& c = scene_.components[i];
    const double curvature_per_m = std::visit(
        []<Surface S>(const S& s) -> double {
          if constexpr (AboveOutline<S>) return s.mean_curvature_per_m();
          return 0;
        },
        c.surface);
    if (curvature_per_m < 0)
      problems_.warning(drafts_[i].at("shape"), fmt::format("{} is convex: it spreads the light", drafts_[i].what),
                        {"a concave mirror has a positive radius_m or focal_length_m"});
    if (is_two_sided(i)) return;
    const bool lit = std::ranges::any_of(looked_at(i), [&](const Placed& copy) {
      return std::ranges::any_of(facets_[i], [&](const Facet& facet) {
        return dot(copy.frame.direction_to_world(facet.normal), layout_.to_sun) > 0;
      });
    });
    if (!lit)
      problems_.warning(drafts_[i].at("mount"), fmt::format("{} turns its back to the sun", drafts_[i].what),
                        {"the front is the side that the axis points to; a back without a finish is dark"});
  }

  /// Some of a component's copies, the same ones of two components that have equally many.
  std::vector<Placed> looked_at(std::size_t i) const {
    std::vector<Placed> out;
    const std::size_t stride = 1 + (number_of_copies(i) - 1) / most_copies_looked_at;
    for (std::size_t copy = 0; copy < number_of_copies(i); copy += stride) out.push_back(copies_[i][copy]);
    return out;
  }

  bool sees(std::size_t i, std::size_t mirror) const {
    const bool any_side = is_two_sided(i), any_mirror_side = is_two_sided(mirror);
    for (const Placed& one : looked_at(i)) {
      for (const Placed& other : looked_at(mirror)) {
        for (const Facet& facet : facets_[i]) {
          const Vec p = one.frame.point_to_world(facet.point_m), n = one.frame.direction_to_world(facet.normal);
          for (const Facet& source : facets_[mirror]) {
            const Vec way = p - other.frame.point_to_world(source.point_m);
            if ((any_side || dot(way, n) < 0) &&
                (any_mirror_side || dot(way, other.frame.direction_to_world(source.normal)) > 0))
              return true;
          }
        }
      }
    }
    return false;
  }

  void check_lit(std::size_t i) {
    bool any_mirror = false;
    for (std::size_t j = 0; j < drafts_.size(); ++j) {
      if (j == i || (role_of(j) != Role::primary && role_of(j) != Role::secondary)) continue;
      any_mirror = true;
      if (sees(i, j)) return;
    }
    if (!any_mirror || facets_[i].empty()) return;
    problems_.warning(drafts_[i].at("mount"), fmt::format("{} faces away from every mirror", drafts_[i].what),
                      {"the front is the side that the axis points to; a back without a finish is dark"});
  }

  /// Mirrors of a field aim at one place, and so do the facets of a mirror. All others concentrate each for itself.
  void check_copies() {
    for (std::size_t i = 0; i < drafts_.size(); ++i) {
      const AnyMount& mount = scene_.components[i].mount;
      const std::size_t copies = scene_.components[i].mounts();
      if (role_of(i) != Role::primary || copies < 2) continue;
      if (std::holds_alternative<HeliostatMount>(mount) || std::holds_alternative<SharedDriveMount>(mount)) continue;
      for (const Role role : {Role::secondary, Role::receiver}) {
        std::size_t others = 0;
        for (std::size_t j = 0; j < drafts_.size(); ++j)
          others += role_of(j) == role ? scene_.components[j].mounts() : 0;
        if (others == 0 || others >= copies) continue;
        const std::string_view word = role == Role::secondary ? "secondary" : "receiver";
        problems_.warning(
            drafts_[i].at("array"),
            fmt::format("{} has {} copies, but the scene has only {} {}{}", drafts_[i].what, copies, others, word,
                        others == 1 ? "" : (role == Role::secondary ? " mirrors" : "s")),
            {fmt::format("allowed: the same array for the {}, or a {} that the mirror carries", word, word)});
      }
    }
  }

  void check_concentration() {
    double aperture_m2 = 0, receiver_m2 = 0;
    std::optional<std::size_t> receiver;
    for (std::size_t i = 0; i < drafts_.size(); ++i) {
      const Component& c = scene_.components[i];
      const auto copies = static_cast<double>(number_of_copies(i));
      if (c.role == Role::primary) aperture_m2 += copies * aperture_area_m2(c.surface, c.outline);
      if (c.role != Role::receiver) continue;
      receiver_m2 += copies * rough_area_m2(c);
      if (!receiver) receiver = i;
    }
    const double sine = std::sin(half_angle_rad(scene_.sun.shape));
    if (!receiver || !(aperture_m2 * sine * sine > 1.05 * receiver_m2)) return;
    problems_.warning(
        drafts_[*receiver].at("shape"),
        fmt::format("the primaries' aperture is {:.3g} times the receivers' area", aperture_m2 / receiver_m2),
        {fmt::format("the sun's own size allows a concentration of {:.3g} at most: 1 / sin^2 of its half-angle",
                     1 / (sine * sine)),
         "keys that end with _m hold metres: 14000 mm is 14"});
  }

  const std::vector<Draft>& drafts_;
  const Scene& scene_;
  Problems& problems_;
  Layout layout_;
  std::vector<std::vector<Facet>> facets_;       // by component, in its own frame
  std::vector<std::span<const Placed>> copies_;  // by component
};

}  // namespace

void check_sense(const std::vector<Draft>& drafts, const Scene& scene, Problems& problems) {
  try {
    SenseChecker(drafts, scene, problems)();
  } catch (const PlacementError&) {
    return;  // check_layout says so
  }
}

}  // namespace catoptra
