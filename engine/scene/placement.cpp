#include "scene/placement.h"

#include <cmath>
#include <fmt/format.h>
#include <map>
#include <string_view>
#include <utility>

#include "numeric/expects.h"
#include "scene/law.h"
#include "scene/steered_pose.h"

namespace catoptra {
namespace {

/// `frame` turned about its x, then about its new y, right-handed.
Frame turned(const Frame& frame, double about_x_rad, double about_y_rad) {
  const Frame tilted = about_x_rad == 0 ? frame : turned_about(frame, 0, about_x_rad);
  return about_y_rad == 0 ? tilted : turned_about(tilted, 1, about_y_rad);
}

/// `inner` as it stands in the frame of `outer`.
Frame composed(const Frame& outer, const Frame& inner) {
  return {outer.point_to_world(inner.origin), outer.direction_to_world(inner.ex), outer.direction_to_world(inner.ey),
          outer.direction_to_world(inner.ez)};
}

class Placer {
 public:
  Placer(const Scene& scene, const Vec& to_sun)
      : scene_(scene), to_sun_(to_sun), frames_(scene.components.size()), state_(scene.components.size()) {
    for (std::size_t i = 0; i < scene.components.size(); ++i) index_.emplace(scene.components[i].name, i);
  }

  /// Without recursion: a row of ten thousand that aim at or carry each other would run out of stack.
  const std::vector<Frame>& frames_of(std::size_t i) {
    std::vector<std::size_t> waiting;
    const auto begin = [&](std::size_t at) {
      if (state_[at] == State::busy)
        fail(at, needing_key(at), "waits for its own place: it is carried by, or aims at, something that needs it");
      if (state_[at] == State::done) return;
      state_[at] = State::busy;
      waiting.push_back(at);
    };
    for (begin(i); !waiting.empty();) {
      const std::size_t at = waiting.back(), before = waiting.size();
      std::visit(
          [&](const auto& mount) {
            for_each_needed(at, mount, [&](std::size_t needed) {
              if (waiting.size() == before) begin(needed);
            });
            if (waiting.size() > before) return;
            put(at, mount);
            state_[at] = State::done;
            waiting.pop_back();
          },
          scene_.components[at].mount);
    }
    return frames_[i];
  }

 private:
  enum class State { fresh, busy, done };

  /// `key` is the mount's that is to blame, where there is one.
  [[noreturn]] void fail(std::size_t i, std::string_view key, std::string_view why) const {
    const Component& c = scene_.components[i];
    throw PlacementError(scene_, i, c.place_of(fmt::format("mount.{}", key)), fmt::format("'{}' {}", c.name, why));
  }
  /// The key by which a mount needs another component.
  std::string_view needing_key(std::size_t i) const {
    return std::visit(
        [](const auto& mount) -> std::string_view {
          if constexpr (requires { mount.by; }) return "by";
          if constexpr (requires { mount.aim; }) return "aim";
          return "primary";
        },
        scene_.components[i].mount);
  }
  std::size_t find(std::size_t i, std::string_view key, const std::string& name) const {
    const auto at = index_.find(name);
    if (at == index_.end()) fail(i, key, fmt::format("needs '{}', which is no component", name));
    return at->second;
  }
  /// visit(component) for those that must have their places before `mount` can have its own.
  template <class Mount, class Visit>
  void for_each_needed(std::size_t i, const Mount& mount, const Visit& visit) const {
    if constexpr (requires { mount.by; }) visit(find(i, "by", mount.by));
    if constexpr (requires { mount.primary; }) visit(find(i, "primary", mount.primary));
    if constexpr (requires { mount.aim; }) {
      if (!mount.aim.empty()) visit(find(i, "aim", mount.aim));
    }
  }
  void require_day(std::size_t i) const {
    if (!(to_sun_.z > 0)) fail(i, "", "can't follow the sun: it stands below the horizon");
  }
  /// What a mount that stands on a piece of ground has to know, along the axes of that ground.
  struct Stand {
    Vec offset_m, to_sun;
    const Frame* leaning;  // the ground, unless it is upright: then places are the world's
    Vec point(const Vec& p) const { return leaning == nullptr ? p : leaning->point_to_local(p); }
  };
  template <class FrameAt>
  void each_copy(std::size_t i, FrameAt&& frame_at) {
    const auto& array = scene_.components[i].array;
    frames_[i].reserve(array.size());
    for (const Frame& ground : array) {
      if (ground.is_upright())
        frames_[i].push_back(frame_at(Stand{ground.origin, to_sun_, nullptr}));
      else
        frames_[i].push_back(composed(ground, frame_at(Stand{{0, 0, 0}, ground.direction_to_local(to_sun_), &ground})));
    }
  }

  void put(std::size_t i, const FixedMount& mount) {
    each_copy(i, [&](const Stand& on) { return facing(mount.position_m + on.offset_m, mount.axis, mount.roll_rad); });
  }
  void put(std::size_t i, const SteeredMount& mount) {
    each_copy(i, [&](const Stand& on) {
      const Frame posed = facing(mount.home_m + mount.offset_m + on.offset_m, mount.axis, mount.roll_rad);
      return turned(posed, mount.bias_rad.x, mount.bias_rad.y);
    });
  }
  /// z is the part of the sun's direction across the axis of rotation: the least incidence angle that the turn allows
  /// (J. A. Duffie and W. A. Beckman, Solar Engineering of Thermal Processes, 4th ed. 2013, section 1.7).
  void put(std::size_t i, const SingleAxisMount& mount) {
    require_day(i);
    each_copy(i, [&](const Stand& on) {
      const Vec y = mount.rotation_axis;
      const Vec across = on.to_sun - dot(on.to_sun, y) * y;
      if (length(across) < 1e-9)
        fail(i, "rotation_axis", "can't follow the sun: it stands in line with the axis of rotation");
      const Vec z = unit(across);
      Frame frame = turned({mount.pivot_m, cross(y, z), y, z}, 0, mount.bias_rad);
      frame.origin = mount.pivot_m + on.offset_m + frame.direction_to_world(mount.offset_m);
      return frame;
    });
  }
  void put(std::size_t i, const TwoAxisMount& mount) {
    require_day(i);
    each_copy(i, [&](const Stand& on) {
      Frame frame = turned(facing(mount.pivot_m, on.to_sun), mount.bias_rad.x, mount.bias_rad.y);
      frame.origin = mount.pivot_m + on.offset_m + frame.direction_to_world(mount.offset_m);
      return frame;
    });
  }
  /// The law of reflection: the normal halves the angle between the sun and the aim point.
  void put(std::size_t i, const HeliostatMount& mount) {
    require_day(i);
    const Vec aim = aim_of(i, mount);
    const double reach_m = radius_span_m(scene_.components[i].outline).largest_m;
    each_copy(i, [&](const Stand& on) {
      const Vec at = mount.position_m + on.offset_m, toward = on.point(aim) - at;
      const double distance_m = length(toward);
      if (!(distance_m > reach_m))
        fail(i, aim_key(mount),
             fmt::format("aims at a point {:.3g} m from its own middle: it lies on the mirror", distance_m));
      const Vec sum = on.to_sun + (1 / distance_m) * toward;
      if (length(sum) < 1e-9)
        fail(i, aim_key(mount), "would have to look both ways: the aim point lies straight away from the sun");
      return turned(facing(at, unit(sum)), mount.bias_rad.x, mount.bias_rad.y);
    });
  }
  void put(std::size_t i, const CarriedMount& mount) {
    const Frame held = facing(mount.position_m, mount.axis, mount.roll_rad);
    const auto& carriers = frames_[find(i, "by", mount.by)];
    frames_[i].reserve(carriers.size());
    for (const Frame& carrier : carriers) frames_[i].push_back(composed(carrier, held));
  }

  /// The point that `mount` aims at: a place that it gives, or a component's.
  template <class Mount>
  Vec aim_of(std::size_t i, const Mount& mount) {
    return mount.aim.empty() ? mount.aim_m : frames_[find(i, "aim", mount.aim)].front().origin;
  }
  template <class Mount>
  static std::string_view aim_key(const Mount& mount) {
    return mount.aim.empty() ? "aim_m" : "aim";
  }
  struct Sphere {
    Vec centre_m;
    double radius_m;
  };
  Sphere sphere_of(std::size_t i, const std::string& primary) {
    const std::size_t at = find(i, "primary", primary);
    const auto* conic = std::get_if<Conic>(&scene_.components[at].surface);
    if (conic == nullptr || conic->q != 1 || !(conic->curvature_per_m > 0))
      fail(i, "primary", fmt::format("needs a concave spherical primary, which '{}' is not", primary));
    const Frame& frame = frames_[at].front();
    const double radius_m = 1 / conic->curvature_per_m;
    return {frame.origin + radius_m * frame.ez, radius_m};
  }
  void put(std::size_t i, const BisectorMount& mount) {
    require_day(i);
    const Sphere sphere = sphere_of(i, mount.primary);
    const Vec aim = aim_of(i, mount);
    each_copy(i, [&](const Stand& on) {
      const auto fold = bisector(paraxial_image_m(on.point(sphere.centre_m), sphere.radius_m, on.to_sun), on.point(aim),
                                 on.to_sun, sphere.radius_m / 2);
      if (!fold)
        fail(i, aim_key(mount),
             "can't fold the sun's image onto its aim point: no place between the primary and the image does it");
      return facing(fold->position_m + on.offset_m, fold->axis, mount.roll_rad);
    });
  }
  void put(std::size_t i, const TurnAboutCentreMount& mount) {
    require_day(i);
    const Sphere sphere = sphere_of(i, mount.primary);
    each_copy(i, [&](const Stand& on) {
      const Frame turning = facing(on.point(sphere.centre_m), on.to_sun);
      Frame frame = composed(turning, facing(mount.position_m, mount.axis, mount.roll_rad));
      frame.origin = frame.origin + on.offset_m;
      return frame;
    });
  }
  /// The table's poses are along the axes of its ground. The sun that picks one is along the scene's.
  void put(std::size_t i, const TableMount& mount) {
    const auto pose = pose_on_path(mount.rows, to_sun_, mount.reach_rad);
    if (!pose)
      fail(i, "file",
           fmt::format("has no pose for this sun: it stands more than {:.4g} degrees from every point of the table's "
                       "path",
                       mount.reach_rad / units::degree_rad));
    each_copy(i, [&](const Stand& on) { return facing(pose->position_m + on.offset_m, pose->axis, pose->roll_rad); });
  }
  void put(std::size_t i, const SharedDriveMount& mount) {
    require_day(i);
    const Vec y = mount.rotation_axis, line_m = aim_of(i, mount);
    each_copy(i, [&](const Stand& on) {
      if (length(cross(y, on.to_sun)) < 1e-9)
        fail(i, "rotation_axis", "can't follow the sun: it stands in line with the axis of rotation");
      const double drive_rad = drive_angle_rad(y, on.to_sun) + mount.bias_rad;
      const Vec at = mount.position_m + on.offset_m, through_m = on.point(line_m);
      if (length(cross(y, through_m - at)) < 1e-9)
        fail(i, aim_key(mount), "aims at a line that is its own axis of rotation");
      const Frame frame = row_frame(at, y, noon_setting_rad(y, at, through_m) + drive_rad);
      if (dot(frame.ez, on.to_sun) <= 0)
        fail(i, aim_key(mount), "would have to turn its back to the sun to send it onto its line");
      return frame;
    });
  }

  const Scene& scene_;
  Vec to_sun_;
  std::map<std::string_view, std::size_t> index_;
  std::vector<std::vector<Frame>> frames_;
  std::vector<State> state_;
};

}  // namespace

Layout place(const Scene& scene, const Vec& to_sun) {
  CATOPTRA_EXPECTS(is_unit(to_sun));
  Placer placer(scene, to_sun);
  Layout out{to_sun, {}};
  std::size_t copies = 0;
  for (const Component& component : scene.components) copies += component.copies();
  out.placed.reserve(copies);
  for (std::size_t i = 0; i < scene.components.size(); ++i) {
    const auto& facets = scene.components[i].facets;
    const auto& mounts = placer.frames_of(i);
    for (const Frame& mount : mounts) {
      for (const Frame& facet : facets) {
        const bool is_whole = facet.is_upright() && facet.origin == Vec{0, 0, 0};
        out.placed.push_back({static_cast<std::int32_t>(i), is_whole ? mount : composed(mount, facet)});
      }
    }
  }
  return out;
}

}  // namespace catoptra
