#include "scene/placement.h"

#include <cmath>
#include <fmt/format.h>
#include <map>
#include <string_view>
#include <utility>

#include "numeric/expects.h"
#include "scene/law.h"

namespace catoptra {
namespace {

/// `frame` turned about its x, then about its new y, right-handed.
Frame turned(const Frame& frame, double about_x_rad, double about_y_rad) {
  Frame out = frame;
  if (about_x_rad != 0) {
    const double s = std::sin(about_x_rad), c = std::cos(about_x_rad);
    out.ey = c * frame.ey + s * frame.ez;
    out.ez = c * frame.ez - s * frame.ey;
  }
  if (about_y_rad != 0) {
    const double s = std::sin(about_y_rad), c = std::cos(about_y_rad);
    const Vec ex = out.ex, ez = out.ez;
    out.ex = c * ex - s * ez;
    out.ez = c * ez + s * ex;
  }
  return out;
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
        fail(at, "waits for its own place: it is carried by, or aims at, something that needs it");
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

  [[noreturn]] void fail(std::size_t i, std::string_view why) const {
    throw PlacementError(i, fmt::format("'{}' {}", scene_.components[i].name, why));
  }
  std::size_t find(std::size_t i, const std::string& name) const {
    const auto at = index_.find(name);
    if (at == index_.end()) fail(i, fmt::format("needs '{}', which is no component", name));
    return at->second;
  }
  /// visit(component) for those that must have their places before `mount` can have its own.
  template <class Mount, class Visit>
  void for_each_needed(std::size_t i, const Mount& mount, const Visit& visit) const {
    if constexpr (requires { mount.by; }) visit(find(i, mount.by));
    if constexpr (requires { mount.primary; }) visit(find(i, mount.primary));
    if constexpr (requires { mount.aim; }) {
      if (!mount.aim.empty()) visit(find(i, mount.aim));
    }
  }
  void require_day(std::size_t i) const {
    if (!(to_sun_.z > 0)) fail(i, "can't follow the sun: it stands below the horizon");
  }
  template <class FrameAt>
  void each_copy(std::size_t i, FrameAt&& frame_at) {
    const auto& offsets = scene_.components[i].array_offsets_m;
    frames_[i].reserve(offsets.size());
    for (const Vec& offset : offsets) frames_[i].push_back(frame_at(offset));
  }

  void put(std::size_t i, const FixedMount& mount) {
    each_copy(i, [&](const Vec& offset) { return facing(mount.position_m + offset, mount.axis, mount.roll_rad); });
  }
  void put(std::size_t i, const SteeredMount& mount) {
    each_copy(i, [&](const Vec& offset) {
      const Frame posed = facing(mount.home_m + mount.offset_m + offset, mount.axis, mount.roll_rad);
      return turned(posed, mount.bias_rad.x, mount.bias_rad.y);
    });
  }
  /// z is the part of the sun's direction across the axis of rotation: the least incidence angle that the turn allows
  /// (J. A. Duffie and W. A. Beckman, Solar Engineering of Thermal Processes, 4th ed. 2013, section 1.7).
  void put(std::size_t i, const SingleAxisMount& mount) {
    require_day(i);
    const Vec y = mount.rotation_axis;
    const Vec across = to_sun_ - dot(to_sun_, y) * y;
    if (length(across) < 1e-9) fail(i, "can't follow the sun: it stands in line with the axis of rotation");
    const Vec z = unit(across);
    Frame frame = turned({mount.pivot_m, cross(y, z), y, z}, 0, mount.bias_rad);
    const Vec reach = frame.direction_to_world(mount.offset_m);
    each_copy(i, [&](const Vec& offset) {
      frame.origin = mount.pivot_m + offset + reach;
      return frame;
    });
  }
  void put(std::size_t i, const TwoAxisMount& mount) {
    require_day(i);
    Frame frame = turned(facing(mount.pivot_m, to_sun_), mount.bias_rad.x, mount.bias_rad.y);
    const Vec reach = frame.direction_to_world(mount.offset_m);
    each_copy(i, [&](const Vec& offset) {
      frame.origin = mount.pivot_m + offset + reach;
      return frame;
    });
  }
  /// The law of reflection: the normal halves the angle between the sun and the aim point.
  void put(std::size_t i, const HeliostatMount& mount) {
    require_day(i);
    const Vec aim = aim_of(i, mount);
    const double reach_m = radius_span_m(scene_.components[i].outline).largest_m;
    each_copy(i, [&](const Vec& offset) {
      const Vec at = mount.position_m + offset, toward = aim - at;
      const double distance_m = length(toward);
      if (!(distance_m > reach_m))
        fail(i, fmt::format("aims at a point {:.3g} m from its own middle: it lies on the mirror", distance_m));
      const Vec sum = to_sun_ + (1 / distance_m) * toward;
      if (length(sum) < 1e-9) fail(i, "would have to look both ways: the aim point lies straight away from the sun");
      return turned(facing(at, unit(sum)), mount.bias_rad.x, mount.bias_rad.y);
    });
  }
  void put(std::size_t i, const CarriedMount& mount) {
    const Frame held = facing(mount.position_m, mount.axis, mount.roll_rad);
    const auto& carriers = frames_[find(i, mount.by)];
    frames_[i].reserve(carriers.size());
    for (const Frame& carrier : carriers) frames_[i].push_back(composed(carrier, held));
  }

  /// The point that `mount` aims at: a place that it gives, or a component's.
  template <class Mount>
  Vec aim_of(std::size_t i, const Mount& mount) {
    return mount.aim.empty() ? mount.aim_m : frames_[find(i, mount.aim)].front().origin;
  }
  struct Sphere {
    Vec centre_m;
    double radius_m;
  };
  Sphere sphere_of(std::size_t i, const std::string& primary) {
    const std::size_t at = find(i, primary);
    const auto* conic = std::get_if<Conic>(&scene_.components[at].surface);
    if (conic == nullptr || conic->q != 1 || !(conic->curvature_per_m > 0))
      fail(i, fmt::format("needs a concave spherical primary, which '{}' is not", primary));
    const Frame& frame = frames_[at].front();
    const double radius_m = 1 / conic->curvature_per_m;
    return {frame.origin + radius_m * frame.ez, radius_m};
  }
  void put(std::size_t i, const BisectorMount& mount) {
    require_day(i);
    const Sphere sphere = sphere_of(i, mount.primary);
    const auto fold = bisector(paraxial_image_m(sphere.centre_m, sphere.radius_m, to_sun_), aim_of(i, mount), to_sun_,
                               sphere.radius_m / 2);
    if (!fold)
      fail(i, "can't fold the sun's image onto its aim point: no place between the primary and the image does it");
    each_copy(i, [&](const Vec& offset) { return facing(fold->position_m + offset, fold->axis, mount.roll_rad); });
  }
  void put(std::size_t i, const TurnAboutCentreMount& mount) {
    require_day(i);
    const Frame turning = facing(sphere_of(i, mount.primary).centre_m, to_sun_);
    const Frame held = composed(turning, facing(mount.position_m, mount.axis, mount.roll_rad));
    each_copy(i, [&](const Vec& offset) {
      Frame frame = held;
      frame.origin = frame.origin + offset;
      return frame;
    });
  }
  void put(std::size_t i, const TableMount& mount) {
    const auto pose = pose_on_path(mount.rows, to_sun_, mount.reach_rad);
    if (!pose)
      fail(i,
           fmt::format("has no pose for this sun: it stands more than {:.4g} degrees from every point of the table's "
                       "path",
                       mount.reach_rad / units::degree_rad));
    each_copy(i, [&](const Vec& offset) { return facing(pose->position_m + offset, pose->axis, pose->roll_rad); });
  }
  void put(std::size_t i, const SharedDriveMount& mount) {
    require_day(i);
    const Vec y = mount.rotation_axis, line_m = aim_of(i, mount);
    if (length(cross(y, to_sun_)) < 1e-9) fail(i, "can't follow the sun: it stands in line with the axis of rotation");
    const double drive_rad = drive_angle_rad(y, to_sun_) + mount.bias_rad;
    each_copy(i, [&](const Vec& offset) {
      const Vec at = mount.position_m + offset;
      if (length(cross(y, line_m - at)) < 1e-9) fail(i, "aims at a line that is its own axis of rotation");
      const Frame frame = row_frame(at, y, noon_setting_rad(y, at, line_m) + drive_rad);
      if (dot(frame.ez, to_sun_) <= 0) fail(i, "would have to turn its back to the sun to send it onto its line");
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
  for (std::size_t i = 0; i < scene.components.size(); ++i) {
    for (const Frame& frame : placer.frames_of(i)) out.placed.push_back({static_cast<std::int32_t>(i), frame});
  }
  return out;
}

}  // namespace catoptra
