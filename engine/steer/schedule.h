#pragma once
// A day's poses: where the moving mirror stands hour by hour, and what that brings.
#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "scene/moment.h"
#include "steer/solver.h"
#include "trace/result.h"

namespace catoptra {

struct ScheduledPose {
  Vec offset_m{0, 0, 0};  // from home; 0 where a law moves the component
  Vec position_m{0, 0, 0}, axis{0, 0, 1};
  double roll_rad = 0;
  // On the way from the row before, evenly; NaN in the first row of each day, and after a night within one.
  Vec velocity_m_s{0, 0, 0};
  double turn_rate_rad_s = 0;  // of the axis
};

struct ScheduleRow {
  Moment sun;
  std::vector<ScheduledPose> poses;  // by moving component
  TraceResult result;                // of the final trace; maps, curves and paths are left out
  bool branched = false;             // the pose left the branch of its neighbour nearer to noon for a better one
};

struct Schedule {
  std::vector<std::string> components;  // that move: on steered mounts, then those that follow a law
  std::size_t by_law = 0;               // how many of them follow a law
  std::vector<ScheduleRow> rows;        // in the order of time
  bool searched = true;                 // false: nothing was free, every pose is a law's or the scene's own
  Objective objective = Objective::absorbed;
  std::uint64_t search_samples = 0, search_seed = 0, samples = 0, seed = 0;
  double travel_cost_per_m = 0;
  std::size_t asked = 0;  // rows, had it not been stopped
  double wall_time_s = 0;
  bool stopped = false;
  bool interrupted() const { return stopped || rows.size() < asked; }
  bool follows_law(std::size_t component) const { return component + by_law >= components.size(); }
};

struct ScheduleOptions {
  SolverOptions solver;                       // `seed` is the search's; the final traces take those of the next one
  std::uint64_t samples = 1 << 18;            // of each final trace
  int replicates = 32;                        // of each final trace
  Workers* workers = nullptr;                 // null: made for the call, all that the machine has
  std::function<void(std::size_t)> progress;  // told how many rows are done; from any thread, one at a time
};

/// The seed of the samples of a schedule's sun: each sun has its own, so that the errors of two suns are independent
/// and a mean over many gains from all of them. The first sun's is `seed`.
std::uint64_t sun_seed(std::uint64_t seed, std::size_t sun);

/// Branches of poses are searched for at all suns at once, suns learn from each other, and the best way through the
/// branches is taken. Where no mount is free to move nothing is searched: laws move what moves. Depends on the scene,
/// suns, objective, samples, seeds and replicates alone: any number of workers gives the same bits. When `solver.stop`
/// is asked, the rows that are done are returned. Throws NoRoom, and what place() throws.
Schedule make_schedule(const Scene& scene, const std::vector<Moment>& suns, const ScheduleOptions& options);

/// A schedule of poses that are known: `poses` by sun, as in ScheduleRow; steered components stay as the scene has them
/// where a sun has none. Throws as make_schedule() does; when told to stop, returns the rows that are done.
Schedule trace_schedule(const Scene& scene, const std::vector<Moment>& suns,
                        const std::vector<std::vector<ScheduledPose>>& poses, const ScheduleOptions& options);

/// Those that have poses: on a steered mount, then those that stand once and follow a law of the sun. (An array's
/// copies each have their own; what is carried, or fixed, has none.)
std::vector<std::size_t> moving_components(const Scene& scene);

/// Where the scene's moving components stand for its sun; rates are NaN. Throws what place() throws.
std::vector<ScheduledPose> poses_of(const Scene& scene);
/// Moves the steered ones there, which come first; laws need no telling.
void set_poses(Scene& scene, const std::vector<ScheduledPose>& poses);

/// The scene with its steered components where row `row` has them, its sun and its DNI there.
Scene scene_at(const Scene& scene, const Schedule& schedule, std::size_t row);

}  // namespace catoptra
