#pragma once
// The Monte Carlo tracer.
#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <vector>

#include "scene/model.h"
#include "trace/prepared.h"
#include "trace/result.h"
#include "trace/run_state.h"
#include "trace/stop.h"
#include "trace/workers.h"

namespace catoptra {

struct Progress {
  std::uint64_t samples_done = 0, samples_expected = 0;
  double seconds = 0;
  std::optional<double> relative_error;  // of the intercept factor, where known
};

/// What samples are made of. Pseudo-random numbers are there to be compared with: they need several times the samples.
enum class Numbers { scrambled_sobol, pseudo_random };

struct TraceOptions {
  std::uint64_t samples = 1 << 20;                     // rounded up to whole bundles in every replicate
  double precision = 0;                                // wanted standard error / intercept factor; 0: trace `samples`
  std::uint64_t max_samples = std::uint64_t{1} << 32;  // where `precision` gives up
  std::uint64_t seed = 1;
  int replicates = 32;  // independent scramblings; at least 2
  Numbers numbers = Numbers::scrambled_sobol;
  Workers* workers = nullptr;                     // null: made for the call, all that the machine has
  int paths = 200;                                // ray paths kept
  std::function<void(const Progress&)> progress;  // called now and then
  const Stop* stop = nullptr;                     // looked at every few milliseconds
  const RunState* resume = nullptr;               // of the same run: same scene, options and program
  /// Told after each pass, and before it stops; it asks for the state where it wants to keep it.
  std::function<void(const std::function<RunState()>&)> commit;
};

/// Traces `scene` for its own sun. The result depends on the scene, seed, samples and replicates alone: any number of
/// workers gives the same bits. Throws std::runtime_error where the scene can't be placed for this sun, and
/// StoppedEarly.
TraceResult trace(const Scene& scene, const TraceOptions& options);

/// The same as `scene` stands, without making anything ready anew.
TraceResult trace(PreparedScene& scene, const TraceOptions& options);

/// One of many traces of a scene.
struct SeededStand {
  Stand stand;
  std::uint64_t seed = 1;
};
/// Each as trace() of the moved scene with its seed; short ones side by side. None where it was stopped before that
/// one's first results. `options` without `resume`, `commit` and `progress`, which belong to one trace.
std::vector<std::optional<TraceResult>> trace_each(const PreparedScene& scene, std::span<const SeededStand> cases,
                                                   const TraceOptions& options);

}  // namespace catoptra
