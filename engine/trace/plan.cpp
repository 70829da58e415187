#include "trace/plan.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <set>

#include "geometry/area.h"
#include "geometry/bounds.h"
#include "geometry/entrance.h"
#include "trace/incident.h"

namespace catoptra {

namespace {

AnyFinish finish_of(const Scene& scene, int index) {
  return index < 0 ? AnyFinish{Dark{}} : scene.finishes[static_cast<std::size_t>(index)].finish;
}

Instance make_instance(const Placed& placed, const ComponentPlan& component) {
  const Box own = bounds_of(component.surface, component.outline);
  const Vec middle = 0.5 * (own.low + own.high);
  const Vec half = 0.5 * (own.high - own.low);
  Instance out{.component = placed.component,
               .frame = placed.frame,
               .center_m = placed.frame.point_to_world(middle),
               .box_m = own.to_world(placed.frame),
               .half_m = (1 + 1e-9) * half};
  out.bounding_radius_m = length(half) * (1 + 1e-9);
  return out;
}

void add_entry(EntrySet& set, int index, const ComponentPlan& component) {
  set.components.push_back(index);
  set.share.push_back(component.entry_area_m2 * component.copies);
  set.area_m2 += set.share.back();
}

void normalise(EntrySet& set) {
  double below = 0;
  for (double& share : set.share) {
    share /= set.area_m2;
    set.share_below.push_back(below);
    below += share;
  }
}

/// What entry_point's measure is compared with: the outline's area, or the whole of a closed surface.
double entry_area_m2(const ComponentPlan& component) {
  return std::visit(
      [&]<Surface S>(const S& s) -> double {
        if constexpr (Closed<S>) {
          return s.area_m2();
        } else {
          return area_m2(component.outline);
        }
      },
      component.surface);
}

/// See ComponentPlan.
double steepest_sine(const ComponentPlan& component) {
  return std::visit(
      [&]<Surface S>(const S& s) -> double {
        if constexpr (AboveOutline<S>) {
          return s.steepest_sine(component.outline) + 1e-9;
        } else {
          return infinity;
        }
      },
      component.surface);
}

void add_instance(Plan& plan, const Placed& placed) {
  ComponentPlan& component = plan.components[placed.component];
  if (component.copies++ == 0) component.first = static_cast<int>(plan.instances.size());
  plan.instances.push_back(make_instance(placed, component));
  plan.component_of.push_back(placed.component);
  const Box& box = plan.instances.back().box_m;
  for (const Vec& v : {box.low, box.high}) {
    for (const double x : {v.x, v.y, v.z}) plan.extent_m = std::max(plan.extent_m, std::fabs(x));
  }
  const Frame& f = placed.frame;
  auto& row = plan.frame_rows.emplace_back();
  int c = 0;
  for (const Vec& v : {f.origin, f.ex, f.ey, f.ez}) {
    for (const double x : {v.x, v.y, v.z}) row[c++] = x;
  }
}

/// The openings of primaries that have one, each over its copy.
void add_entrances(Plan& plan) {
  const std::size_t of_scene = plan.components.size();
  for (std::size_t i = 0; i < of_scene; ++i) {
    const auto entrance = entrance_of(plan.components[i].surface);
    if (!entrance || plan.components[i].role != Role::primary) continue;
    const ComponentPlan wall = plan.components[i];  // the vector is about to grow
    ComponentPlan opening{.role = Role::primary,
                          .surface = Plane{},
                          .outline = entrance->outline,
                          .front = Dark{},
                          .back = Dark{},
                          .is_entrance = true,
                          .jitter_rad = wall.jitter_rad,
                          .jitter_turns_sun = wall.jitter_turns_sun};
    opening.entry_area_m2 = entry_area_m2(opening);
    opening.steepest_sine = steepest_sine(opening);
    plan.components.push_back(std::move(opening));
    for (int k = 0; k < wall.copies; ++k) {
      Frame frame = plan.instances[wall.first + k].frame;
      frame.origin = frame.origin + entrance->height_m * frame.ez;
      add_instance(plan, {static_cast<std::int32_t>(plan.components.size() - 1), frame});
    }
  }
}

SunFrame sun_frame(const Vec& toward) {
  const Frame f = facing({0, 0, 0}, toward);
  return {toward, f.ex, f.ey};
}

}  // namespace

Plan make_plan(const Scene& scene, const SunSampler* sampler) {
  const Layout layout = place(scene, scene.sun.toward);
  Plan plan{.sun = sun_frame(layout.to_sun),
            .sun_sampler = sampler != nullptr ? *sampler : SunSampler(scene.sun.shape),
            .dni_W_m2 = scene.sun.dni_W_m2};

  std::set<std::string> carries;
  for (const Component& c : scene.components) {
    const auto* mount = std::get_if<CarriedMount>(&c.mount);
    if (mount != nullptr && c.role == Role::receiver) carries.insert(mount->by);
  }
  for (const Component& c : scene.components) {
    ComponentPlan p{.role = c.role,
                    .surface = c.surface,
                    .outline = c.outline,
                    .front = finish_of(scene, c.front_finish),
                    .back = finish_of(scene, c.role == Role::cover ? c.front_finish : c.back_finish),
                    .jitter_rad = tracking_jitter(c.mount),
                    .jitter_turns_sun = carries.contains(c.name)};
    p.entry_area_m2 = entry_area_m2(p);
    p.steepest_sine = steepest_sine(p);
    if (c.role == Role::receiver) {
      p.receiver = static_cast<int>(plan.receivers.size());
      plan.receivers.push_back(static_cast<int>(plan.components.size()));
    }
    plan.components.push_back(std::move(p));
  }
  for (const Placed& placed : layout.placed) add_instance(plan, placed);
  add_entrances(plan);
  for (int i = 0; i < static_cast<int>(plan.components.size()); ++i) {
    const ComponentPlan& component = plan.components[i];
    if (component.role == Role::primary) {
      if (entrance_of(component.surface)) continue;  // its entrance stands for it
      add_entry(plan.entries, i, component);
      const double area = aperture_area_m2(component.surface, component.outline);
      plan.aperture_area_m2 += area * component.copies;
    } else if (component.role == Role::cover) {
      plan.covers.push_back(i);
    } else if (component.role != Role::obstacle) {
      add_entry(plan.direct, i, component);
    }
  }
  std::vector<int> smallest_first(plan.instances.size());
  std::iota(smallest_first.begin(), smallest_first.end(), 0);
  std::stable_sort(smallest_first.begin(), smallest_first.end(), [&](int a, int b) {
    return plan.instances[a].bounding_radius_m < plan.instances[b].bounding_radius_m;
  });
  for (std::size_t i = 0; i < smallest_first.size(); ++i) plan.instances[smallest_first[i]].rank = static_cast<int>(i);
  normalise(plan.entries);
  normalise(plan.direct);
  plan_incident(plan);
  return plan;
}

}  // namespace catoptra
