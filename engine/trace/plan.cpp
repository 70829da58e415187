#include "trace/plan.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <set>
#include <stdexcept>

#include "geometry/area.h"
#include "geometry/bounds.h"
#include "geometry/entrance.h"
#include "geometry/vector_area.h"
#include "trace/incident.h"

namespace catoptra {

namespace {

AnyFinish finish_of(const Scene& scene, int index) {
  return index < 0 ? AnyFinish{Dark{}} : scene.finishes[static_cast<std::size_t>(index)].finish;
}

/// Where a copy stands, and what follows from that alone.
void stand(Plan& plan, std::size_t number, const Frame& frame) {
  Instance& instance = plan.instances[number];
  const Box& own = plan.components[instance.component].own_box_m;
  instance.frame = frame;
  instance.center_m = frame.point_to_world(0.5 * (own.low + own.high));
  instance.box_m = own.to_world(frame);
  auto& row = plan.frame_rows[number];
  int c = 0;
  for (const Vec& v : {frame.origin, frame.ex, frame.ey, frame.ez}) {
    for (const double x : {v.x, v.y, v.z}) row[c++] = x;
  }
}

bool is_same(const Frame& a, const Frame& b) {
  return a.origin == b.origin && a.ex == b.ex && a.ey == b.ey && a.ez == b.ez;
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

/// A copy of a component, wherever it will stand.
void add_instance(Plan& plan, std::int32_t index) {
  ComponentPlan& component = plan.components[index];
  if (component.copies++ == 0) component.first = static_cast<int>(plan.instances.size());
  const Vec half = 0.5 * (component.own_box_m.high - component.own_box_m.low);
  plan.instances.push_back(
      {.component = index, .half_m = (1 + 1e-9) * half, .bounding_radius_m = length(half) * (1 + 1e-9)});
  plan.component_of.push_back(index);
}

/// What its surface and outline tell of a component.
void measure(ComponentPlan& component) {
  component.own_box_m = bounds_of(component.surface, component.outline);
  component.entry_area_m2 = entry_area_m2(component);
  component.steepest_sine = steepest_sine(component);
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
                          .opens = static_cast<int>(i),
                          .above_m = entrance->height_m,
                          .jitter_rad = wall.jitter_rad,
                          .jitter_turns_sun = wall.jitter_turns_sun};
    measure(opening);
    plan.components.push_back(std::move(opening));
    for (int k = 0; k < wall.copies; ++k) add_instance(plan, static_cast<std::int32_t>(plan.components.size() - 1));
  }
}

SunFrame sun_frame(const Vec& toward) {
  const Frame f = facing({0, 0, 0}, toward);
  return {toward, f.ex, f.ey};
}

/// All but where things stand; `layout` tells how many copies there are.
Plan plan_of(const Scene& scene, const Layout& layout) {
  Plan plan{.sun_sampler = SunSampler(scene.sun.shape)};
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
    measure(p);
    if (c.role == Role::receiver) {
      p.receiver = static_cast<int>(plan.receivers.size());
      plan.receivers.push_back(static_cast<int>(plan.components.size()));
    }
    plan.components.push_back(std::move(p));
  }
  for (const Placed& placed : layout.placed) add_instance(plan, placed.component);
  add_entrances(plan);
  plan.frame_rows.resize(plan.instances.size());
  for (int i = 0; i < static_cast<int>(plan.components.size()); ++i) {
    ComponentPlan& component = plan.components[i];
    if (component.role == Role::primary) {
      if (entrance_of(component.surface)) continue;  // its entrance stands for it
      add_entry(plan.entries, i, component);
      component.rim_m2 = vector_area_m2(component.surface, component.outline);
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
  return plan;
}

/// Puts the copies where the layout has them. Copies that stand there already are left alone; `stood` is false the
/// first time, when nothing stands anywhere.
void stand_at(Plan& plan, const Layout& layout, bool stood, Moved& moved) {
  const auto stand_if_moved = [&](std::size_t number, const Frame& frame) {
    if (stood && is_same(plan.instances[number].frame, frame)) return;
    stand(plan, number, frame);
    moved.components[plan.instances[number].component] = 1;
  };
  std::size_t number = 0;
  for (const Placed& placed : layout.placed) stand_if_moved(number++, placed.frame);
  for (; number < plan.instances.size(); ++number) {
    const ComponentPlan& opening = plan.components[plan.instances[number].component];
    const int copy = static_cast<int>(number) - opening.first;
    Frame frame = plan.instances[plan.components[opening.opens].first + copy].frame;
    frame.origin = frame.origin + opening.above_m * frame.ez;
    stand_if_moved(number, frame);
  }
}

double extent_of(const Plan& plan) {
  double extent_m = 0;
  for (const Instance& instance : plan.instances) {
    for (const Vec& v : {instance.box_m.low, instance.box_m.high}) {
      for (const double x : {v.x, v.y, v.z}) extent_m = std::max(extent_m, std::fabs(x));
    }
  }
  return extent_m;
}

void require_same_scene(const Plan& plan, const Layout& layout) {
  const std::size_t count = layout.placed.size();
  bool same = count <= plan.instances.size();
  for (std::size_t i = 0; i < plan.instances.size() && same; ++i) {
    const bool is_entrance = plan.components[plan.instances[i].component].is_entrance;
    same = i < count ? layout.placed[i].component == plan.instances[i].component : is_entrance;
  }
  if (!same) throw std::invalid_argument("a layout of another scene");
}

Moved move(Plan& plan, const Layout& layout, double dni_W_m2, bool stood) {
  Moved moved{.sun = !stood || !(layout.to_sun == plan.sun.toward), .components = {}};
  moved.components.assign(plan.components.size(), 0);
  if (moved.sun) plan.sun = sun_frame(layout.to_sun);
  stand_at(plan, layout, stood, moved);
  if (!moved.sun && !moved.any_component() && dni_W_m2 == plan.dni_W_m2) return moved;
  plan.dni_W_m2 = dni_W_m2;
  const double before_m = plan.extent_m;
  plan.extent_m = extent_of(plan);
  moved.extent = plan.extent_m != before_m;
  plan_incident(plan);
  return moved;
}

}  // namespace

Plan make_plan(const Scene& scene, const Layout& layout, double dni_W_m2) {
  Plan plan = plan_of(scene, layout);
  move(plan, layout, dni_W_m2, false);
  return plan;
}

Moved move_plan(Plan& plan, const Layout& layout, double dni_W_m2) {
  require_same_scene(plan, layout);
  return move(plan, layout, dni_W_m2, true);
}

}  // namespace catoptra
