#pragma once
// --tolerance and --realisations: what errors of the moving components cost a schedule.
#include <optional>
#include <string>
#include <vector>

#include "steer/realisations.h"
#include "steer/tolerance.h"

namespace CLI {
class App;
}

namespace catoptra {

struct TypedErrors {  // as typed; empty: not given
  bool tolerance = false;
  std::string realisations;
  std::vector<std::string> draw;

  bool wanted() const { return tolerance || !realisations.empty(); }
};

void add_error_options(CLI::App& command, TypedErrors& typed);

/// Throws UsageError for what can't be read, and where nothing that moves could have such errors.
void require_sound(const TypedErrors& typed, const Scene& scene);

/// Of the schedule, with its samples, replicates and workers, and a display of how far it is.
/// None where it was stopped, which is said: the schedule is whole without them.
std::vector<ToleranceCurve> find_tolerance(const Scene& scene, const Schedule& schedule, const ScheduleOptions& of,
                                           bool quiet);
/// None where it was stopped before the first build was done.
std::optional<Realisations> find_realisations(const TypedErrors& typed, const Scene& scene, const Schedule& schedule,
                                              const ScheduleOptions& of, bool quiet);

}  // namespace catoptra
