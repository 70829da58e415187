#include "results/stored_scene.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <map>
#include <sstream>
#include <stdexcept>

#include "scene/read.h"
#include "trace/numbers.h"

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
  for (const StoredSet& set : file.sets()) {
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

/// Every number of the list that `group`, which ends with a slash, holds of the schedule's sun `row`; NaN where the
/// file, written by another version, has no such number.
template <class T>
void read_numbers(const StoredFile& file, const std::string& group, const auto& numbers, T& to, std::size_t row) {
  for (const Number<T>& number : numbers) number.set(to, file.estimate(group + number.key(), number.by_sun ? row : 0));
}

/// Where a file keeps the budget's terms: by their names, as another version may have had more or fewer.
class BudgetPlaces {
 public:
  explicit BudgetPlaces(const StoredFile& file) : file_(file), terms_(values<std::string>(file, "/budget/term")) {
    for (const auto& term : terms_)
      if (std::ranges::find(term_names, term) == term_names.end())
        throw std::runtime_error(fmt::format(
            "'{}' holds the loss '{}', which this program does not know; use a newer one", file.path, term));
  }

  /// Term `k` of this program at sun `row`; NaN where the file's version had no such term.
  Estimate estimate(std::size_t k, std::size_t row) const {
    const auto found = std::ranges::find(terms_, term_names[k]);
    if (found == terms_.end()) return {std::nan(""), std::nan("")};
    const auto place = static_cast<std::size_t>(found - terms_.begin());
    return file_.estimate("/budget/power_W", row * terms_.size() + place);
  }

 private:
  const StoredFile& file_;
  std::vector<std::string> terms_;
};

/// What the numbers of /paths/fate stand for in this file.
std::map<std::int64_t, Fate> fates_of(const StoredFile& file) {
  std::map<std::int64_t, Fate> out;
  const StoredSet* fate = file.find("/paths/fate");
  if (fate == nullptr) return out;
  const auto flags = fate->attributes.find("flag_values");
  const auto* numbers =
      flags == fate->attributes.end() ? nullptr : std::get_if<std::vector<std::int64_t>>(&flags->second.values);
  std::istringstream words(text_of(fate->attributes, "flag_meanings"));
  std::size_t i = 0;
  for (std::string word; numbers != nullptr && i < numbers->size() && words >> word; ++i) {
    const auto found = std::ranges::find(term_names, word);
    if (found == term_names.end())
      throw std::runtime_error(
          fmt::format("'{}' holds rays with the fate '{}', which this program does not know", file.path, word));
    out[(*numbers)[i]] = static_cast<Fate>(found - term_names.begin());
  }
  return out;
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
  const BudgetPlaces places(file);
  for (std::size_t i = 0; i < times.size(); ++i) {
    ScheduleRow row;
    row.sun = {vec_of(file, "/sun/to_sun", i), times[i], i < local.size() ? utc_offset_minutes(local[i]) : 0};
    for (const auto& component : out.components) row.poses.push_back(pose_of(file, component, i));
    row.branched = i < branched.size() && branched[i] != 0;
    read_numbers(file, "/", result_numbers, row.result, i);
    for (std::size_t k = 0; k < term_count; ++k) row.result.budget[k] = places.estimate(k, i);
    for (const auto& name : receivers_of(file)) {
      ReceiverResult receiver;
      receiver.name = name;
      read_numbers(file, "/receivers/" + name + "/", receiver_numbers, receiver, i);
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
  const auto fates = fates_of(file);
  std::vector<RayPath> out;
  for (std::size_t i = 0; i < fate.size(); ++i) {
    RayPath path{.vertices_m = {}, .power_W = power.at(i), .fate = fates.at(fate[i])};
    for (std::int64_t k = 0; k < count.at(i); ++k)
      path.vertices_m.push_back(vec_of(file, "/paths/vertices_m", static_cast<std::size_t>(offset.at(i) + k)));
    out.push_back(std::move(path));
  }
  return out;
}

}  // namespace catoptra
