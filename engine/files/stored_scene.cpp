#include "files/stored_scene.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <map>
#include <sstream>
#include <stdexcept>
#include <unordered_set>

#include "scene/read.h"
#include "trace/numbers.h"

namespace catoptra {
namespace {

template <class T>
std::vector<T> values(const StoredFile& file, const std::string& path) {
  const auto* found = file.values<T>(path);
  return found != nullptr ? *found : std::vector<T>();
}

[[noreturn]] void unfit(const StoredFile& file, const std::string& set, std::string_view words) {
  throw std::runtime_error(fmt::format("'{}' is damaged: '{}' {}", file.path, set, words));
}

/// What no file of this kind can be without; `count` values at least.
template <class T>
const std::vector<T>& needed(const StoredFile& file, const std::string& path, std::size_t count) {
  const auto* found = file.values<T>(path);
  if (found == nullptr) unfit(file, path, "is missing, or of another type");
  if (found->size() < count) unfit(file, path, "is too short");
  return *found;
}

double number_of(const StoredFile& file, const std::string& path, std::size_t place) {
  return needed<double>(file, path, place + 1)[place];
}

Vec vec_of(const StoredFile& file, const std::string& path, std::size_t row) {
  const auto& found = needed<double>(file, path, 3 * row + 3);
  return {found[3 * row], found[3 * row + 1], found[3 * row + 2]};
}

/// Names of the groups right below `group`.
std::vector<std::string> names_under(const StoredFile& file, const std::string& group) {
  std::vector<std::string> out;
  std::unordered_set<std::string> known;
  for (const StoredSet& set : file.sets()) {
    const auto end = set.path.find('/', group.size());
    if (!set.path.starts_with(group) || end == std::string::npos) continue;
    std::string name = set.path.substr(group.size(), end - group.size());
    if (known.insert(name).second) out.push_back(std::move(name));
  }
  return out;
}

ScheduledPose pose_of(const StoredFile& file, const std::string& component, std::size_t row) {
  const std::string group = "/poses/" + component + "/";
  const bool by_law = file.find(group + "offset_m") == nullptr;
  return {.offset_m = by_law ? Vec{0, 0, 0} : vec_of(file, group + "offset_m", row),
          .position_m = vec_of(file, group + "position_m", row),
          .axis = vec_of(file, group + "axis", row),
          .roll_rad = number_of(file, group + "roll_deg", row) * units::degree_rad,
          .velocity_m_s = vec_of(file, group + "velocity_m_s", row),
          .turn_rate_rad_s = number_of(file, group + "turn_rate_rad_s", row)};
}

/// The clock's "+01:00" at the end of an ISO 8601 time, in minutes.
int utc_offset_minutes(const std::string& time) {
  const auto sign = time.size() > 6 ? time.size() - 6 : std::string::npos;
  if (sign == std::string::npos || (time[sign] != '+' && time[sign] != '-')) return 0;
  const auto digits = [&](std::size_t at) {
    const auto digit = [](char c) { return c >= '0' && c <= '9' ? c - '0' : 0; };
    return 10 * digit(time[at]) + digit(time[at + 1]);
  };
  const int minutes = 60 * digits(sign + 1) + digits(sign + 4);
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
  explicit BudgetPlaces(const StoredFile& file) : file_(file), terms_(needed<std::string>(file, "/budget/term", 1)) {
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
    if (axis == nullptr || !path.starts_with(group)) unfit(file, map.path, "has no axes");
    const std::string edges = text_of(axis->attributes, "edges");
    needed<double>(file, group + edges, 2);
    out.push_back({path.substr(group.size()), text_of(axis->attributes, "units"),
                   text_of(axis->attributes, "long_name"), values<double>(file, group + edges)});
  }
  return out;
}

}  // namespace

bool is_schedule(const StoredFile& file) {
  return file.text("content") == "schedule";
}

SourceFile scene_text_of(const StoredFile& file) {
  const StoredSet* source = file.find("/scene/source");
  const auto text = values<std::string>(file, "/scene/source");
  if (source == nullptr || text.empty()) throw std::runtime_error(fmt::format("'{}' keeps no scene", file.path));
  return {text_of(source->attributes, "path"), text.front()};
}

std::vector<SourceFile> pulled_in_of(const StoredFile& file) {
  std::vector<SourceFile> out;
  const auto paths = values<std::string>(file, "/scene/pulled_in/path");
  const auto texts = values<std::string>(file, "/scene/pulled_in/text");
  for (std::size_t i = 0; i < std::min(paths.size(), texts.size()); ++i) out.push_back({paths[i], texts[i]});
  return out;
}

Scene scene_of(const StoredFile& file, std::size_t row) {
  SourceFile source = scene_text_of(file);
  ReadOutcome outcome = read_kept_scene(std::move(source.text), source.path, pulled_in_of(file));
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
  const BudgetPlaces places(file);
  const auto& times = needed<double>(file, "/time", 1);
  const auto& local = needed<std::string>(file, "/local_time", times.size());
  const auto branched = values<std::int64_t>(file, "/branched");
  for (std::size_t i = 0; i < times.size(); ++i) {
    ScheduleRow row;
    row.sun = {.to_sun = vec_of(file, "/sun/to_sun", i),
               .posix_s = times[i],
               .utc_offset_minutes = utc_offset_minutes(local[i]),
               .dni_W_m2 = file.number("/sun/dni_W_m2")};
    for (const auto& component : out.components) row.poses.push_back(pose_of(file, component, i));
    if (const auto* seeds = file.values<std::uint64_t>("/sun/seed"); seeds != nullptr && i < seeds->size())
      row.result.seed = (*seeds)[i];
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
  if (axes.size() != 2) unfit(file, map->path, "has not two axes");
  const std::size_t bins = (axes[0].edges.size() - 1) * (axes[1].edges.size() - 1);
  const auto all = [&](const std::string& name) {
    const auto& found = needed<double>(file, group + name, bins);
    if (found.size() != bins) unfit(file, group + name, "does not fit its axes");
    return found;
  };
  return FluxMap{std::move(axes[0]), std::move(axes[1]), all("flux_W_m2"), all("flux_standard_error_W_m2"),
                 all("bin_area_m2")};
}

std::vector<RayPath> paths_of(const StoredFile& file) {
  const auto fate = values<std::int64_t>(file, "/paths/fate");
  std::vector<RayPath> out;
  if (fate.empty()) return out;
  const auto& offset = needed<std::int64_t>(file, "/paths/offset", fate.size());
  const auto& count = needed<std::int64_t>(file, "/paths/vertex_count", fate.size());
  const auto& power = needed<double>(file, "/paths/power_W", fate.size());
  const auto vertices = static_cast<std::int64_t>(needed<double>(file, "/paths/vertices_m", 0).size() / 3);
  const auto fates = fates_of(file);
  for (std::size_t i = 0; i < fate.size(); ++i) {
    // Paths follow each other, so that all of them together are no longer than the file.
    if (count[i] < 0 || offset[i] < 0 || offset[i] > vertices || count[i] > vertices - offset[i] ||
        (i > 0 && offset[i] != offset[i - 1] + count[i - 1]))
      unfit(file, "/paths/vertex_count", "does not fit the vertices");
    const auto known = fates.find(fate[i]);
    if (known == fates.end()) unfit(file, "/paths/fate", "has a number without meaning");
    RayPath path{.vertices_m = {}, .power_W = power[i], .fate = known->second};
    for (std::int64_t k = 0; k < count[i]; ++k)
      path.vertices_m.push_back(vec_of(file, "/paths/vertices_m", static_cast<std::size_t>(offset[i] + k)));
    out.push_back(std::move(path));
  }
  return out;
}

}  // namespace catoptra
