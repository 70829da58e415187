#include "steer/spoil.h"

#include <cmath>
#include <utility>

#include "geometry/scaled.h"
#include "scene/steered_pose.h"
#include "steer/schedule.h"

namespace catoptra {
namespace {

bool is_mirror(const Scene& scene, const Component& component) {
  return component.front_finish >= 0 &&
         std::holds_alternative<Mirror>(scene.finishes[static_cast<std::size_t>(component.front_finish)].finish);
}

SteeredMount& mount_of(Scene& scene, std::size_t component) {
  return std::get<SteeredMount>(scene.components[component].mount);
}

}  // namespace

Scene held(const Scene& scene) {
  const std::vector<std::size_t> moving = moving_components(scene);
  const std::vector<ScheduledPose> poses = poses_of(scene);
  Scene out = scene;
  for (std::size_t k = 0; k < moving.size(); ++k) {
    AnyMount& mount = out.components[moving[k]].mount;
    if (std::holds_alternative<SteeredMount>(mount)) continue;
    SteeredMount still;
    still.home_m = poses[k].position_m;
    still.home_axis = still.axis = poses[k].axis;
    still.roll_rad = poses[k].roll_rad;
    still.jitter_rad = tracking_jitter(mount);
    mount = still;
  }
  return out;
}

void point_wrongly(Scene& scene, std::size_t component, int axis, double error_rad) {
  SteeredMount& mount = mount_of(scene, component);
  const Frame frame = turned_about(facing({0, 0, 0}, mount.axis, mount.roll_rad), axis, error_rad);
  mount.axis = unit(frame.ez);
  mount.roll_rad = roll_of(frame);
}

void move_wrongly(Scene& scene, std::size_t component, int axis, double error_m) {
  Vec& offset_m = mount_of(scene, component).offset_m;
  double* const along[] = {&offset_m.x, &offset_m.y, &offset_m.z};
  *along[axis] += error_m;
}

void roughen(Scene& scene, std::size_t component, double error_rad) {
  Component& rough = scene.components[component];
  NamedFinish finish = scene.finishes[static_cast<std::size_t>(rough.front_finish)];
  auto& mirror = std::get<Mirror>(finish.finish);
  mirror.slope_error_rad = {std::hypot(mirror.slope_error_rad.x, error_rad),
                            std::hypot(mirror.slope_error_rad.y, error_rad)};
  rough.front_finish = static_cast<int>(scene.finishes.size());
  scene.finishes.push_back(std::move(finish));
}

void refocus(Scene& scene, std::size_t component, double share) {
  if (share == 0) return;
  AnySurface& surface = scene.components[component].surface;
  if (auto larger = scaled(surface, 1 + share)) surface = std::move(*larger);
}

void bend(Scene& scene, std::size_t component, double curvature_per_m) {
  if (curvature_per_m != 0) scene.components[component].surface = Conic{curvature_per_m, 0};
}

std::vector<ErrorKind> possible_errors(const Scene& scene, const Component& component) {
  std::vector<ErrorKind> out{ErrorKind::pointing, ErrorKind::position};
  if (!is_mirror(scene, component)) return out;
  out.push_back(ErrorKind::slope);
  if (std::holds_alternative<Plane>(component.surface)) out.push_back(ErrorKind::curvature);
  if (has_focal_length(component.surface) && least_scale(component.surface, component.outline) < 0.99)
    out.push_back(ErrorKind::focus);
  return out;
}

}  // namespace catoptra
