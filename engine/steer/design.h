#pragma once
// The shape search: the numbers of a scene that make its day or year best. Method: docs/theory/steering.md.
#include <cstddef>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "numeric/statistics.h"
#include "scene/vary.h"
#include "steer/schedule.h"

namespace catoptra {

/// A number that the search may change, in the unit of its key.
struct FreeParameter {
  std::string path;  // see find_number()
  double low = 0, high = 0;
  double step = 0;        // every value tried is a multiple of it, but for the bounds
  double original = 0;    // the scene's own
  bool is_whole = false;  // the key takes whole numbers only
};

/// Throws WrongPath where `path` leads to no number that the scene can have from `low` to `high`, with the reader's
/// own words where a bound is beyond what the key allows, and std::invalid_argument for an empty range.
FreeParameter free_parameter(const Scene& scene, const std::string& path, double low, double high);

struct Variant {
  std::vector<double> values;  // by parameter
  double objective = 0;        // mean over the suns of the search, from its samples; NaN: the scene can't be so
};

struct DesignOptions {
  ScheduleOptions schedule;  // travel costs are not counted in the search
  int evaluations = 100;     // variants to try, at most
  /// Told how much is done of how much, schedules and variants together; from any thread, one at a time.
  std::function<void(std::size_t, std::size_t)> progress;
};

struct Design {
  std::vector<FreeParameter> parameters;
  std::vector<Variant> variants;  // in the order in which they were tried
  std::size_t best = 0;           // of them
  std::size_t searched_suns = 0;  // that a variant was judged by
  // Means of the objective over the schedule's suns, from samples of their own, the same for both; and the difference,
  // whose error is smaller for that.
  Estimate original, found, gain;
  bool original_kept = false;  // fresh samples call the best variant worse: scene and schedule are those of before
  Scene scene;                 // the best: its text has the values and the pose for its own sun
  Schedule schedule;           // of the best
  std::string original_text;   // of the scene as it was
  bool interrupted = false;    // fewer variants than asked for, or fewer suns in the schedule
};

inline constexpr std::size_t most_searched_suns = 16;

/// Tries variants of the scene's text and judges each by the mean of the objective over up to 16 of the suns, evenly
/// picked, at poses that are found anew. Then finds and traces the schedule of the best, and traces the scene as it was
/// and the best once more with samples of their own. When told to stop it keeps the best so far; none where there is
/// nothing yet. The bits depend on scene, suns, parameters and options alone, not on the number of threads. Throws
/// WrongPath where a steered mount's pose can't be written, NoRoom, and what place() throws for the scene as it was.
std::optional<Design> search_design(const Scene& scene, const std::vector<Moment>& suns,
                                    const std::vector<FreeParameter>& parameters, const DesignOptions& options);

}  // namespace catoptra
