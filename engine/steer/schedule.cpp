#include "steer/schedule.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <fmt/format.h>
#include <limits>
#include <mutex>

#include "numeric/sobol.h"
#include "scene/steered_pose.h"
#include "steer/way.h"

namespace catoptra {
namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();

bool is_steered(const Component& component) {
  return std::holds_alternative<SteeredMount>(component.mount);
}

void fill_rates(std::vector<ScheduleRow>& rows) {
  for (std::size_t i = 1; i < rows.size(); ++i) {
    if (!on_one_way(rows[i - 1].sun, rows[i].sun)) continue;
    const double passed_s = rows[i].sun.posix_s - rows[i - 1].sun.posix_s;
    for (std::size_t k = 0; k < rows[i].poses.size(); ++k) {
      ScheduledPose& here = rows[i].poses[k];
      const ScheduledPose& there = rows[i - 1].poses[k];
      here.velocity_m_s = (1 / passed_s) * (here.position_m - there.position_m);
      here.turn_rate_rad_s = std::atan2(length(cross(there.axis, here.axis)), dot(there.axis, here.axis)) / passed_s;
    }
  }
}

/// What all rows have in common, which the first tells: `samples` is what was traced, rounded up to whole bundles.
void finish_schedule(Schedule& schedule) {
  fill_rates(schedule.rows);
  if (!schedule.rows.empty()) schedule.samples = schedule.rows.front().result.samples;
}

/// The final trace of a scene that stands as it shall for sun `number`. Throws Stopped.
ScheduleRow traced_row(PreparedPool& pool, const Scene& scene, const Moment& sun, std::size_t number,
                       const ScheduleOptions& options, Workers& workers) {
  const TraceOptions trace_options{.samples = options.samples,
                                   .seed = sun_seed(options.solver.seed + 1, number),
                                   .replicates = options.replicates,
                                   .workers = &workers,
                                   .paths = 0,
                                   .stop = options.solver.stop};
  TraceResult result;
  try {
    result = remembered_trace(pool, scene, trace_options, options.solver.memory);
  } catch (const StoppedEarly&) {
    throw Stopped();
  }
  if (result.interrupted) throw Stopped();
  for (auto& receiver : result.receivers) {
    receiver.flux = {};
    receiver.enclosed = {};
  }
  result.budget_by_replicate.clear();
  result.by_component.clear();
  return {sun, poses_of(scene), std::move(result), false};
}

/// A schedule without rows.
Schedule empty_schedule(const Scene& scene, std::size_t suns, const ScheduleOptions& options) {
  Schedule out;
  for (const std::size_t i : moving_components(scene)) {
    out.components.push_back(scene.components[i].name);
    if (!is_steered(scene.components[i])) ++out.by_law;
  }
  out.searched = Freedom(scene).size() > 0;
  out.objective = options.solver.objective;
  out.search_samples = out.searched ? options.solver.samples : 0;
  out.search_seed = options.solver.seed;
  out.samples = options.samples;
  out.seed = options.solver.seed + 1;
  out.travel_cost_per_m = options.solver.travel_cost_per_m;
  out.asked = suns;
  return out;
}

/// A sun that is solved.
struct Station {
  Moment at;
  std::optional<std::size_t> row;  // none: a way point
  bool is_knot = true;             // solved with all others; the rest lie between knots close by
  Solution solution;
};

/// The suns and the way points between them, in the order of time.
std::vector<Station> stations_of(const std::vector<Moment>& suns) {
  constexpr double nearest_knots_rad = 5.5 * units::degree_rad;
  std::vector<Station> out;
  for (std::size_t i = 0; i < suns.size(); ++i) {
    if (i > 0)
      for (const Moment& between : way_points(suns[i - 1], suns[i])) out.push_back({between, {}, true, {}});
    out.push_back({suns[i], i, true, {}});
  }
  std::size_t knot = 0;
  for (std::size_t k = 1; k + 1 < out.size(); ++k) {
    const bool at_end = !on_one_way(out[k - 1].at, out[k].at) || !on_one_way(out[k].at, out[k + 1].at);
    out[k].is_knot = at_end || angle_between_rad(out[knot].at.to_sun, out[k].at.to_sun) >= nearest_knots_rad;
    if (out[k].is_knot) knot = k;
  }
  return out;
}

/// Solves the suns and traces each.
class Scheduler {
 public:
  Scheduler(const Scene& scene, const std::vector<Moment>& suns, const ScheduleOptions& options, Workers& workers)
      : scene_(scene),
        suns_(suns),
        options_(options),
        workers_(workers),
        solver_(scene, options.solver),
        pool_(scene),
        stations_(stations_of(suns)),
        rows_(suns.size()) {}

  Schedule operator()() {
    const auto began = std::chrono::steady_clock::now();
    Schedule out = empty_schedule(scene_, suns_.size(), options_);
    const bool is_smooth = options_.solver.travel_cost_per_m > 0;
    try {
      solve_knots();
      const auto solve = [&](Station& station) {
        if (!station.is_knot) solve_between(station);
        if (!is_smooth) finish(station);
      };
      for_each_station(solve, [](const Station& station) { return station.is_knot; });
      for_each_station(solve, [](const Station& station) { return !station.is_knot; });
      if (is_smooth) {
        smooth();
        for_each_station([&](const Station& station) { finish(station); }, [](const Station&) { return true; });
      }
    } catch (const Stopped&) {
      out.stopped = true;  // what is done stays
    }
    mark_branches();
    for (auto& row : rows_)
      if (row) out.rows.push_back(std::move(*row));
    finish_schedule(out);
    out.wall_time_s = std::chrono::duration<double>(std::chrono::steady_clock::now() - began).count();
    return out;
  }

 private:
  void for_each_station(const std::function<void(Station&)>& body, const std::function<bool(const Station&)>& which) {
    std::vector<std::function<void()>> tasks;
    for (Station& station : stations_)
      if (which(station)) tasks.push_back([&] { body(station); });
    run_all(workers_, tasks);
  }

  void solve_knots() {
    std::vector<Moment> suns;
    for (const Station& station : stations_)
      if (station.is_knot) suns.push_back(station.at);
    std::vector<Solution> found = solver_.along(suns, workers_);
    std::size_t k = 0;
    for (Station& station : stations_)
      if (station.is_knot) station.solution = std::move(found[k++]);
    // Where no light arrives anywhere, the mirror stays where it stood toward noon.
    outward([&](Station& station, const Station& before) {
      if (!station.is_knot || !before.is_knot || station.solution.value > 0) return;
      try {
        Solution stays = solver_.between(station.at, std::span(&before.solution, 1));
        station.solution = std::move(stays);
      } catch (const NoRoom&) {
        // There it would touch another body.
      }
    });
  }

  /// From the knots on either side.
  void solve_between(Station& station) {
    std::vector<Solution> known;
    const auto at = &station - stations_.data();
    for (std::ptrdiff_t step : {-1, 1}) {
      auto k = at + step;
      while (!stations_[static_cast<std::size_t>(k)].is_knot) k += step;
      known.push_back(stations_[static_cast<std::size_t>(k)].solution);
    }
    station.solution = solver_.between(station.at, known);
  }

  /// Calls `body` for every station but the highest of its way, after the one beside it toward the highest.
  void outward(const std::function<void(Station&, const Station&)>& body) {
    for (std::size_t begin = 0, end = 0; begin < stations_.size(); begin = end) {
      end = begin + 1;
      while (end < stations_.size() && on_one_way(stations_[end - 1].at, stations_[end].at)) ++end;
      std::size_t highest = begin;
      for (std::size_t k = begin; k < end; ++k)
        if (stations_[k].at.to_sun.z > stations_[highest].at.to_sun.z) highest = k;
      for (std::size_t k = highest + 1; k < end; ++k) body(stations_[k], stations_[k - 1]);
      for (std::size_t k = highest; k-- > begin;) body(stations_[k], stations_[k + 1]);
    }
  }

  void smooth() {
    outward([&](Station& station, const Station& before) {
      station.solution = solver_.onward(station.at, station.solution, before.solution);
    });
  }

  /// A row leaves its neighbour's branch where it does or a way point between them did.
  void mark_branches() {
    bool leapt = false;
    const Station* last = nullptr;
    outward([&](const Station& station, const Station& before) {
      if (station.solution.coordinates.empty() || before.solution.coordinates.empty()) return;
      leapt = (leapt && last == &before) || solver_.leaps(before.at, before.solution, station.at, station.solution);
      last = &station;
      if (!station.row) return;
      if (auto& row = rows_[*station.row]) row->branched = leapt;
      leapt = false;
    });
  }

  /// Traces the row.
  void finish(const Station& station) {
    if (!station.row) return;
    Scene scene = scene_;
    set_moment(scene, station.at);
    solver_.freedom().apply(station.solution.coordinates, scene);
    ScheduleRow row = traced_row(pool_, scene, suns_[*station.row], *station.row, options_, workers_);
    const std::scoped_lock lock(lock_);
    ++done_;
    rows_[*station.row] = std::move(row);
    if (options_.progress) options_.progress(done_);
  }

  const Scene& scene_;
  const std::vector<Moment>& suns_;
  const ScheduleOptions& options_;
  Workers& workers_;
  const PoseSolver solver_;
  PreparedPool pool_;  // of the final traces
  std::vector<Station> stations_;
  std::mutex lock_;
  std::vector<std::optional<ScheduleRow>> rows_;
  std::size_t done_ = 0;
};

}  // namespace

std::uint64_t sun_seed(std::uint64_t seed, std::size_t sun) {
  return sun == 0 ? seed : mix(mix(seed) ^ sun);
}

Schedule make_schedule(const Scene& scene, const std::vector<Moment>& suns, const ScheduleOptions& options) {
  if (suns.empty()) throw std::invalid_argument("a schedule needs a sun");
  if (Freedom(scene).size() == 0)
    return trace_schedule(scene, suns, std::vector<std::vector<ScheduledPose>>(suns.size()), options);
  const GivenOrAll workers(options.workers);
  Schedule out;
  workers->inside([&] { out = Scheduler(scene, suns, options, *workers)(); });
  return out;
}

Schedule trace_schedule(const Scene& scene, const std::vector<Moment>& suns,
                        const std::vector<std::vector<ScheduledPose>>& poses, const ScheduleOptions& options) {
  if (suns.empty() || poses.size() != suns.size())
    throw std::invalid_argument("a schedule needs suns, each with poses");
  const auto began = std::chrono::steady_clock::now();
  const GivenOrAll workers(options.workers);
  PreparedPool pool(scene);
  Schedule out = empty_schedule(scene, suns.size(), options);
  Scene placed = scene;
  try {
    for (std::size_t i = 0; i < suns.size(); ++i) {
      set_moment(placed, suns[i]);
      if (!poses[i].empty()) set_poses(placed, poses[i]);
      workers->inside([&] { out.rows.push_back(traced_row(pool, placed, suns[i], i, options, *workers)); });
      if (options.progress) options.progress(i + 1);
    }
  } catch (const Stopped&) {
    out.stopped = true;  // what is done stays
  }
  finish_schedule(out);
  out.wall_time_s = std::chrono::duration<double>(std::chrono::steady_clock::now() - began).count();
  return out;
}

std::vector<std::size_t> moving_components(const Scene& scene) {
  std::vector<std::size_t> out, by_law;
  for (std::size_t i = 0; i < scene.components.size(); ++i) {
    const Component& component = scene.components[i];
    if (is_steered(component))
      out.push_back(i);
    else if (component.copies() == 1 && !std::holds_alternative<FixedMount>(component.mount) &&
             !std::holds_alternative<CarriedMount>(component.mount))
      by_law.push_back(i);
  }
  out.insert(out.end(), by_law.begin(), by_law.end());
  return out;
}

std::vector<ScheduledPose> poses_of(const Scene& scene) {
  std::vector<ScheduledPose> out;
  std::optional<Layout> layout;  // only laws need it
  for (const std::size_t i : moving_components(scene)) {
    if (const auto* mount = std::get_if<SteeredMount>(&scene.components[i].mount)) {
      out.push_back(
          {mount->offset_m, mount->home_m + mount->offset_m, mount->axis, mount->roll_rad, {nan, nan, nan}, nan});
      continue;
    }
    if (!layout) layout = place(scene, scene.sun.toward);
    const auto placed = std::ranges::find(layout->placed, static_cast<std::int32_t>(i), &Placed::component);
    const Frame& frame = placed->frame;
    out.push_back({{0, 0, 0}, frame.origin, frame.ez, roll_of(frame), {nan, nan, nan}, nan});
  }
  return out;
}

void set_poses(Scene& scene, const std::vector<ScheduledPose>& poses) {
  std::size_t k = 0;
  for (Component& component : scene.components) {
    auto* mount = std::get_if<SteeredMount>(&component.mount);
    if (mount == nullptr) continue;
    if (k == poses.size()) throw std::invalid_argument("a pose is needed for each steered component");
    mount->offset_m = poses[k].offset_m;
    mount->axis = poses[k].axis;
    mount->roll_rad = poses[k].roll_rad;
    ++k;
  }
}

Scene scene_at(const Scene& scene, const Schedule& schedule, std::size_t row) {
  Scene out = scene;
  set_moment(out, schedule.rows[row].sun);
  set_poses(out, schedule.rows[row].poses);
  return out;
}

}  // namespace catoptra
