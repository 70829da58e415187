#pragma once
// The number that the solver maximises, as a function of the free coordinates.
#include <cstdint>
#include <span>
#include <string>

#include "scene/moment.h"
#include "steer/clearance.h"
#include "steer/freedom.h"
#include "steer/memory.h"
#include "steer/objective.h"
#include "steer/prepared_pool.h"

namespace catoptra {

struct EvaluatorOptions {
  Objective objective = Objective::absorbed;
  std::uint64_t samples = 1 << 13;
  std::uint64_t seed = 1;
  double travel_cost_per_m = 0;  // share of the objective that a metre of travel must earn
  SearchMemory* memory = nullptr;
};

/// Common random numbers: every pose is traced with the same samples, so that the objective is smooth but for rays that
/// cross an edge. One a thread.
class Evaluator {
 public:
  /// Keeps references to all but the scene. `pool`: search_pool() of the scene, for as many evaluators as there are.
  Evaluator(const Scene& scene, const Freedom& freedom, const Clearance& clearance, PreparedPool& pool,
            const EvaluatorOptions& options);

  /// Of the sun and DNI from now on.
  void set_moment(const Moment& moment) { catoptra::set_moment(scene_, moment); }
  /// Travel is counted from these coordinates; not at all before the first call.
  void count_travel_from(std::span<const double> coordinates);

  /// The objective, less what the travel costs. A pose that is not clear of other bodies is worth less than any that
  /// is: minus its shortfall in metres.
  double operator()(std::span<const double> coordinates);

 private:
  double traced_value(Layout layout) const;

  Scene scene_, from_;
  bool counts_travel_ = false;
  const Freedom& freedom_;
  const Clearance& clearance_;
  PreparedPool& pool_;
  EvaluatorOptions options_;
  TraceOptions trace_options_;
  std::string question_;  // of the memory: the scene's text, made short, and the objective
};

/// What evaluators trace: maps cost more than so few samples; a peak needs one, but not a fine one, which would hold
/// noise.
PreparedPool search_pool(const Scene& scene, Objective objective);

}  // namespace catoptra
