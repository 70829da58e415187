#pragma once
// A scene made ready to trace: every copy placed, bounded and numbered; what starts a ray, and how often. Flat data,
// without pointers: made once, then moved to other suns and poses.
#include <algorithm>
#include <array>
#include <cstdint>
#include <vector>

#include "scene/model.h"
#include "sun/sampler.h"
#include "trace/bundle.h"

namespace catoptra {

/// How the sun's power on a copy of a primary is known; see trace/incident.h.
enum class Incident : std::uint8_t {
  known,      // from its rim or its outside alone
  corrected,  // from its rim, and what samples on its far side and in its own shadow add and take
  counted     // by all samples
};

/// One copy of a component where it stands.
struct Instance {
  std::int32_t component = 0;
  Frame frame;
  Vec center_m{0, 0, 0};  // of the boxes and the sphere round it, in the world
  Box box_m;              // in the world
  Vec half_m{0, 0, 0};    // half the sides of a box whose sides are parallel to the frame's
  double bounding_radius_m = 0;
  Incident incident = Incident::known;
  int rank = 0;  // by size, smallest first: of two hits at exactly the same distance, the lower rank's counts
};

/// A component as the kernels use it. Copies are the instances first … first + copies - 1.
struct ComponentPlan {
  Role role = Role::primary;
  AnySurface surface;
  AnyOutline outline;
  AnyFinish front, back;
  bool is_entrance = false;  // an opening: stops shadow rays, since light through it starts on it; all else passes
  int first = 0, copies = 0;
  int receiver = -1;  // its place among the receivers
  // A ray that leaves the surface can't meet it again where |d.z|, along its own axis, is more than this: a chord is no
  // steeper than the surface somewhere between its ends (the mean value theorem).
  double steepest_sine = infinity;
  Box own_box_m;                  // of one copy, in its own frame
  double entry_area_m2 = 0;       // of one copy: its outline, or the whole of a closed surface
  Vec rim_m2{0, 0, 0};            // of what light enters by: vector_area_m2()
  int opens = -1;                 // of an entrance: the component that light enters by it
  double above_m = 0;             // and how far it stands above that one's origin, along its axis
  double incident_known_W = 0;    // the part of the incident power on all copies that needs no sample
  bool counts_all = false;        // on some copies all samples count it
  PerAxis jitter_rad;             // of its mount
  bool jitter_turns_sun = false;  // it carries its receiver: turning the sun is exact, where turning normals is not
};

/// Surfaces on which samples start, chosen in proportion to area.
struct EntrySet {
  std::vector<int> components;
  std::vector<double> share_below;  // of the whole area, in the components before each
  std::vector<double> share;
  double area_m2 = 0;  // all copies
};

/// The directions of the sun's disc: offsets (x, y) in the plane across `toward`, as sines.
struct SunFrame {
  Vec toward{0, 0, 1}, across_x{1, 0, 0}, across_y{0, 1, 0};
};

struct Plan {
  std::vector<Instance> instances;         // those of the layout in its order, then entrances
  std::vector<ComponentPlan> components;   // the scene's in its order, then entrances
  std::vector<std::int32_t> component_of;  // each instance
  std::vector<int> receivers;              // components
  EntrySet entries;                        // primaries, or their entrances
  std::vector<int> covers;                 // components
  EntrySet direct;                         // receivers and secondaries, for light straight from the sun
  SunFrame sun;
  SunSampler sun_sampler;
  double dni_W_m2 = 0;
  double aperture_area_m2 = 0;
  double incident_known_W = 0;  // the part of the incident power that needs no sample
  double extent_m = 0;          // the largest coordinate of anything, and so the scale of rounding
  // The frames again, close together, so that rays on different copies gather them: origin, ex, ey, ez.
  std::vector<std::array<double, 12>> frame_rows;

  /// What a sample of weight 1 stands for, in watts times the number of samples.
  double reference_power_W() const { return dni_W_m2 * entries.area_m2; }
  double direct_reference_power_W() const { return dni_W_m2 * direct.area_m2; }
};

/// Of the scene where `layout` has it.
Plan make_plan(const Scene& scene, const Layout& layout, double dni_W_m2);
/// Of the scene as it stands for its own sun.
inline Plan make_plan(const Scene& scene) {
  return make_plan(scene, place(scene, scene.sun.toward), scene.sun.dni_W_m2);
}

/// What a move has changed.
struct Moved {
  bool sun = false;
  bool extent = false;
  std::vector<char> components;  // of the plan: any of a component's copies

  bool any_component() const {
    return std::ranges::any_of(components, [](char moved) { return moved != 0; });
  }
};

/// Puts everything where `layout`, of the same scene with other poses or for another sun, has it. To the bit what
/// make_plan() makes of that scene. Throws std::invalid_argument for a layout of another scene.
Moved move_plan(Plan& plan, const Layout& layout, double dni_W_m2);

/// The frames of a pack of instances.
struct FramePack {
  Vec3<Pack> origin, ex, ey, ez;

  Vec3<Pack> direction_to_local(const Vec3<Pack>& d) const { return {dot(ex, d), dot(ey, d), dot(ez, d)}; }
  Vec3<Pack> point_to_local(const Vec3<Pack>& p) const { return direction_to_local(p - origin); }
  Vec3<Pack> direction_to_world(const Vec3<Pack>& d) const { return d.x * ex + d.y * ey + d.z * ez; }
  Vec3<Pack> point_to_world(const Vec3<Pack>& p) const { return direction_to_world(p) + origin; }
};

/// The frame of each lane's own instance.
template <class Index>
FramePack gather_frames(const Plan& plan, const Index* instance) {
  const auto row = [&](int lane) { return plan.frame_rows[static_cast<std::size_t>(instance[lane])].data(); };
  const double *const a = row(0), *const b = row(1), *const c = row(2), *const d = row(3);
  const auto vec = [&](int k) -> Vec3<Pack> {
    return {join_lanes(a[k], b[k], c[k], d[k]), join_lanes(a[k + 1], b[k + 1], c[k + 1], d[k + 1]),
            join_lanes(a[k + 2], b[k + 2], c[k + 2], d[k + 2])};
  };
  return {vec(0), vec(3), vec(6), vec(9)};
}

/// The same frame in every lane, or each lane's own.
class Frames {
 public:
  Frames(const Plan& plan, const ComponentPlan& component) : plan_(plan), single_(component.copies == 1) {
    if (single_) {
      const Frame& f = plan.instances[component.first].frame;
      frame_ = {broadcast<Pack>(f.origin), broadcast<Pack>(f.ex), broadcast<Pack>(f.ey), broadcast<Pack>(f.ez)};
    }
  }
  /// Holds until the next call.
  const FramePack& at(const double* instance) {
    if (!single_) frame_ = gather_frames(plan_, instance);
    return frame_;
  }

 private:
  const Plan& plan_;
  bool single_;
  FramePack frame_;
};

}  // namespace catoptra
