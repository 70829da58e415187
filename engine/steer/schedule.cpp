#include "steer/schedule.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <fmt/format.h>
#include <limits>
#include <mutex>

#include "numeric/sobol.h"
#include "scene/steered_pose.h"

namespace catoptra {
namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();

bool is_steered(const Component& component) {
  return std::holds_alternative<SteeredMount>(component.mount);
}

constexpr double night_rad = 60 * units::degree_rad;  // suns further apart than this have a night between them

double angle_between(const Vec& a, const Vec& b) {
  return std::acos(std::clamp(dot(a, b), -1.0, 1.0));
}

/// Whether the mirrors go from one to the other: on one day of the site's clock, without a night between.
bool on_one_way(const Moment& a, const Moment& b) {
  const auto day = [](const Moment& m) { return std::floor((m.posix_s + 60.0 * m.utc_offset_minutes) / 86400); };
  return day(a) == day(b) && angle_between(a.to_sun, b.to_sun) <= night_rad;
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

/// Suns between two that stand far apart: over a long step a pose loses all light, and with it the way on. None over a
/// night.
std::vector<Moment> way_points(const Moment& from, const Moment& to) {
  constexpr double longest_step_rad = 8 * units::degree_rad;
  const double apart_rad = angle_between(from.to_sun, to.to_sun);
  std::vector<Moment> out;
  if (apart_rad > night_rad) return out;
  const int steps = static_cast<int>(std::ceil(apart_rad / longest_step_rad));
  for (int k = 1; k < steps; ++k) {
    const double share = static_cast<double>(k) / steps;
    out.push_back({.to_sun = unit((1 - share) * from.to_sun + share * to.to_sun),
                   .dni_W_m2 = from.dni_W_m2 + share * (to.dni_W_m2 - from.dni_W_m2)});
  }
  return out;
}

/// Solves the suns from the highest toward both ends of the day and back, and traces each.
class Scheduler {
 public:
  Scheduler(const Scene& scene, const std::vector<Moment>& suns, const ScheduleOptions& options, Workers& workers)
      : scene_(scene),
        suns_(suns),
        options_(options),
        workers_(workers),
        solver_(scene, options.solver),
        pool_(scene),
        rows_(suns.size()) {}

  Schedule operator()() {
    const auto began = std::chrono::steady_clock::now();
    Schedule out = empty_schedule(scene_, suns_.size(), options_);
    const auto highest = std::ranges::max_element(suns_, {}, [](const Moment& m) { return m.to_sun.z; });
    const auto first = static_cast<std::size_t>(highest - suns_.begin());
    Chain morning, evening;  // both begin at the highest sun
    try {
      morning.push_back({suns_[first], solver_.globally(suns_[first], workers_), first});
      evening = morning;
      finish(morning.front());
      run_all(workers_, {[&] { follow(evening, 1); }, [&] { follow(morning, -1); }});
      turn_highest(evening, morning);
      turn_highest(morning, evening);
    } catch (const Stopped&) {
      out.stopped = true;  // what is done stays
    }
    for (const Chain* side : {&morning, &evening}) mark_branches(*side);
    for (auto& row : rows_)
      if (row) out.rows.push_back(std::move(*row));
    finish_schedule(out);
    out.wall_time_s = std::chrono::duration<double>(std::chrono::steady_clock::now() - began).count();
    return out;
  }

 private:
  /// A sun that was solved, on the way from the highest to one end of the day.
  struct Link {
    Moment at;
    Solution solution;
    std::optional<std::size_t> row;  // none: a way point
  };
  using Chain = std::vector<Link>;

  /// To the end of the day, and back: a branch that a later sun was found on may reach to earlier ones.
  void follow(Chain& chain, int step) {
    const auto size = static_cast<std::ptrdiff_t>(suns_.size());
    for (auto i = static_cast<std::ptrdiff_t>(*chain.front().row) + step; i >= 0 && i < size; i += step) {
      const auto at = static_cast<std::size_t>(i);
      for (const Moment& between : way_points(suns_[at - step], suns_[at]))
        chain.push_back({between, onward(between, chain), std::nullopt});
      chain.push_back({suns_[at], onward(suns_[at], chain), at});
      finish(chain.back());
    }
    for (std::size_t k = chain.size() - 1; k-- > 1;) turn_back(chain[k], chain[k + 1], &chain[k - 1].solution);
  }

  Solution onward(const Moment& moment, const Chain& chain) const {
    std::vector<Solution> before{chain.back().solution};
    // A leap to another branch says nothing about where the branch goes on.
    if (chain.size() > 1 && !before.front().branched) before.push_back(chain[chain.size() - 2].solution);
    return solver_.onward(moment, before, workers_);
  }

  /// Lets a sun take over what the later one was found on; whether that is another branch than its own.
  bool turn_back(Link& link, Link& after, const Solution* before) {
    auto better = solver_.backward(link.at, link.solution, after.solution, before);
    if (!better) return false;
    const bool leaps = PoseSolver::are_apart(*better, link.solution);
    better->branched = leaps ? before != nullptr && PoseSolver::are_apart(*better, *before) : link.solution.branched;
    if (leaps) after.solution.branched = false;
    link.solution = std::move(*better);
    if (link.row) finish(link);
    return leaps;
  }

  /// The same for the highest sun, where both sides begin: it is then the other side that leaves its branch.
  void turn_highest(Chain& side, Chain& other) {
    if (side.size() < 2 || !turn_back(side.front(), side[1], nullptr)) return;
    other.front() = side.front();
    if (other.size() > 1) other[1].solution.branched = true;
  }

  /// A row leaves its neighbour's branch where it does or a way point between them did.
  void mark_branches(const Chain& chain) {
    bool branched = false;
    for (std::size_t k = 1; k < chain.size(); ++k) {
      branched = branched || chain[k].solution.branched;
      if (!chain[k].row) continue;
      if (auto& row = rows_[*chain[k].row]) row->branched = branched;
      branched = false;
    }
  }

  /// Traces the row, or traces it again.
  void finish(const Link& link) {
    Scene scene = scene_;
    set_moment(scene, link.at);
    solver_.freedom().apply(link.solution.coordinates, scene);
    ScheduleRow row = traced_row(pool_, scene, suns_[*link.row], *link.row, options_, workers_);
    row.branched = link.solution.branched;
    const std::scoped_lock lock(lock_);
    done_ += rows_[*link.row] ? 0 : 1;
    rows_[*link.row] = std::move(row);
    if (options_.progress) options_.progress(done_);
  }

  const Scene& scene_;
  const std::vector<Moment>& suns_;
  const ScheduleOptions& options_;
  Workers& workers_;
  const PoseSolver solver_;
  PreparedPool pool_;  // of the final traces
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
