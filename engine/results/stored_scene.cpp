#include "results/stored_scene.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <stdexcept>

#include "scene/read.h"

namespace catoptra {
namespace {

template <class T>
std::vector<T> values(const StoredFile& file, const std::string& path) {
  const auto* found = file.values<T>(path);
  return found != nullptr ? *found : std::vector<T>();
}

Vec vec_of(const StoredFile& file, const std::string& path, std::size_t row) {
  return {file.number(path, 3 * row), file.number(path, 3 * row + 1), file.number(path, 3 * row + 2)};
}

std::vector<std::string> names_under(const StoredFile& file, const std::string& group) {
  std::vector<std::string> out;
  for (const StoredSet& set : file.sets) {
    if (!set.path.starts_with(group)) continue;
    std::string name = set.path.substr(group.size(), set.path.find('/', group.size()) - group.size());
    if (std::ranges::find(out, name) == out.end()) out.push_back(std::move(name));
  }
  return out;
}

ScheduledPose pose_of(const StoredFile& file, const std::string& component, std::size_t row) {
  const std::string group = "/poses/" + component + "/";
  return {.offset_m = vec_of(file, group + "offset_m", row),
          .position_m = vec_of(file, group + "position_m", row),
          .axis = vec_of(file, group + "axis", row),
          .roll_rad = file.number(group + "roll_deg", row) * units::degree_rad,
          .velocity_m_s = vec_of(file, group + "velocity_m_s", row),
          .turn_rate_rad_s = file.number(group + "turn_rate_rad_s", row)};
}

/// The clock's "+01:00" at the end of an ISO 8601 time, in minutes.
int utc_offset_minutes(const std::string& time) {
  const auto sign = time.size() > 6 ? time.size() - 6 : std::string::npos;
  if (sign == std::string::npos || (time[sign] != '+' && time[sign] != '-')) return 0;
  const int minutes = 60 * std::stoi(time.substr(sign + 1, 2)) + std::stoi(time.substr(sign + 4, 2));
  return time[sign] == '-' ? -minutes : minutes;
}

std::vector<FluxAxis> axes_of(const StoredFile& file, const std::string& group, const StoredSet& map) {
  std::vector<FluxAxis> out;
  for (const std::string& path : map.over) {
    const StoredSet* axis = file.find(path);
    if (axis == nullptr) throw std::runtime_error(fmt::format("'{}' has a flux map without axes", file.path));
    const std::string edges = text_of(axis->attributes, "edges");
    out.push_back({path.substr(group.size()), text_of(axis->attributes, "units"),
                   text_of(axis->attributes, "long_name"), values<double>(file, group + edges)});
  }
  return out;
}

}  // namespace

bool is_schedule(const StoredFile& file) {
  return file.text("content") == "schedule";
}

Scene scene_of(const StoredFile& file, std::size_t row) {
  std::vector<SourceFile> pulled_in;
  const auto paths = values<std::string>(file, "/scene/pulled_in/path");
  const auto texts = values<std::string>(file, "/scene/pulled_in/text");
  for (std::size_t i = 0; i < std::min(paths.size(), texts.size()); ++i) pulled_in.push_back({paths[i], texts[i]});
  const StoredSet* source = file.find("/scene/source");
  const auto text = values<std::string>(file, "/scene/source");
  if (source == nullptr || text.empty()) throw std::runtime_error(fmt::format("'{}' keeps no scene", file.path));
  ReadOutcome outcome = read_kept_scene(text.front(), text_of(source->attributes, "path"), std::move(pulled_in));
  if (!outcome.scene)
    throw std::runtime_error(
        fmt::format("the scene that '{}' keeps is not understood:\n{}", file.path, outcome.problems.front().text()));
  Scene scene = std::move(*outcome.scene);
  if (is_schedule(file)) stand_at(scene, file, row);
  return scene;
}

void stand_at(Scene& scene, const StoredFile& file, std::size_t row) {
  scene.sun.toward = vec_of(file, "/sun/to_sun", row);
  std::vector<ScheduledPose> poses;
  for (const Component& component : scene.components)
    if (std::holds_alternative<SteeredMount>(component.mount)) poses.push_back(pose_of(file, component.name, row));
  set_poses(scene, poses);
}

Schedule schedule_of(const StoredFile& file) {
  if (!is_schedule(file)) throw std::invalid_argument("not a schedule");
  Schedule out;
  out.components = names_under(file, "/poses/");
  for (const auto& component : out.components)
    if (file.find("/poses/" + component + "/offset_m") == nullptr) ++out.by_law;
  const auto times = values<double>(file, "/time");
  const auto local = values<std::string>(file, "/local_time");
  const auto branched = values<std::int64_t>(file, "/branched");
  const auto estimate = [&](const std::string& path, const std::string& error_path, std::size_t place) {
    return Estimate{file.number(path, place), file.number(error_path, place)};
  };
  for (std::size_t i = 0; i < times.size(); ++i) {
    ScheduleRow row;
    row.sun = {vec_of(file, "/sun/to_sun", i), times[i], i < local.size() ? utc_offset_minutes(local[i]) : 0};
    for (const auto& component : out.components) row.poses.push_back(pose_of(file, component, i));
    row.branched = i < branched.size() && branched[i] != 0;
    row.result.optical_efficiency = estimate("/optical_efficiency", "/optical_efficiency_standard_error", i);
    row.result.intercept_factor = estimate("/intercept_factor", "/intercept_factor_standard_error", i);
    for (std::size_t k = 0; k < term_count; ++k)
      row.result.budget[k] = estimate("/budget/power_W", "/budget/standard_error_W", i * term_count + k);
    for (const auto& name : receivers_of(file)) {
      const std::string group = "/receivers/" + name + "/";
      ReceiverResult receiver;
      receiver.name = name;
      const auto of = [&](const std::string& what, const std::string& error) {
        return estimate(group + what, group + error, i);
      };
      receiver.intercept_factor = of("intercept_factor", "intercept_factor_standard_error");
      receiver.absorbed_power_W = of("absorbed_power_W", "absorbed_power_standard_error_W");
      receiver.direct_power_W = of("direct_power_W", "direct_power_standard_error_W");
      receiver.area_m2 = file.number(group + "area_m2");
      receiver.peak_concentration = of("peak_concentration", "peak_concentration_standard_error");
      receiver.mean_concentration = of("mean_concentration", "mean_concentration_standard_error");
      row.result.receivers.push_back(std::move(receiver));
    }
    out.rows.push_back(std::move(row));
  }
  out.asked = out.rows.size();
  return out;
}

std::vector<std::string> receivers_of(const StoredFile& file) {
  return names_under(file, "/receivers/");
}

std::optional<FluxMap> flux_of(const StoredFile& file, const std::string& receiver) {
  const std::string group = "/receivers/" + receiver + "/";
  const StoredSet* map = file.find(group + "flux_W_m2");
  if (map == nullptr) return std::nullopt;
  auto axes = axes_of(file, group, *map);
  return FluxMap{std::move(axes.at(0)), std::move(axes.at(1)), values<double>(file, group + "flux_W_m2"),
                 values<double>(file, group + "flux_standard_error_W_m2"), values<double>(file, group + "bin_area_m2")};
}

std::vector<RayPath> paths_of(const StoredFile& file) {
  const auto offset = values<std::int64_t>(file, "/paths/offset"),
             count = values<std::int64_t>(file, "/paths/vertex_count");
  const auto fate = values<std::int64_t>(file, "/paths/fate");
  const auto power = values<double>(file, "/paths/power_W");
  std::vector<RayPath> out;
  for (std::size_t i = 0; i < fate.size(); ++i) {
    RayPath path{.vertices_m = {}, .power_W = power.at(i), .fate = static_cast<Fate>(fate[i])};
    for (std::int64_t k = 0; k < count.at(i); ++k)
      path.vertices_m.push_back(vec_of(file, "/paths/vertices_m", static_cast<std::size_t>(offset.at(i) + k)));
    out.push_back(std::move(path));
  }
  return out;
}

}  // namespace catoptra
