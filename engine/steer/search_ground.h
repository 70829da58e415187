#pragma once
// What every part of a search for poses stands on: the scene, what is free in it, and how a pose is judged.
#include <cstdint>
#include <stdexcept>
#include <string>
#include <vector>

#include "steer/carry.h"
#include "steer/clearance.h"
#include "steer/evaluator.h"
#include "steer/freedom.h"
#include "steer/guide.h"
#include "steer/memory.h"
#include "steer/optimise.h"

namespace catoptra {

struct SolverOptions {
  Objective objective = Objective::absorbed;
  std::uint64_t samples = 1 << 13;  // of one evaluation, at the fine stage
  std::uint64_t seed = 1;
  double travel_cost_per_m = 0;  // share of the objective that a metre of travel between two suns must earn
  const Stop* stop = nullptr;
  SearchMemory* memory = nullptr;  // of traces; null: none is remembered
};

/// Thrown out of a search that was told to stop.
struct Stopped : std::runtime_error {
  Stopped() : std::runtime_error("stopped") {}
};

/// No pose within the limits keeps clear of the other bodies.
struct NoRoom : std::runtime_error {
  using std::runtime_error::runtime_error;
};

struct SearchGround {
  /// Throws std::invalid_argument where no mount is free to move. The scene is copied.
  SearchGround(const Scene& scene, const SolverOptions& options);
  SearchGround(const SearchGround&) = delete;
  SearchGround& operator=(const SearchGround&) = delete;

  /// What to throw where the best pose found is not clear: which bodies, by how much, and which limits it stands at.
  NoRoom no_room(const Optimum& best, const Moment& moment) const;
  /// Throws Stopped where that is asked.
  void look_up() const;

  const Scene scene;
  const SolverOptions options;
  const Freedom freedom;
  const Clearance clearance;
  const Guide guide;
  const Carry carry;
  mutable PreparedPool pool;  // from any thread
};

/// Whether two poses lie too far from each other, in some coordinate, for one hill.
bool are_apart(const std::vector<double>& one, const std::vector<double>& other);

/// Climbs for one sun on one set of samples. One a thread.
class Climber {
 public:
  /// Travel is counted from `from`, if that is not null.
  Climber(const SearchGround& ground, const Moment& moment, std::uint64_t samples,
          const std::vector<double>* from = nullptr)
      : Climber(ground, moment, samples, ground.options.seed, from) {}
  /// On samples of another seed than the search's own.
  Climber(const SearchGround& ground, const Moment& moment, std::uint64_t samples, std::uint64_t seed,
          const std::vector<double>* from = nullptr);

  /// The objective. Throws Stopped.
  double operator()(std::span<const double> at);
  Optimum valued(std::vector<double> at) {
    const double value = (*this)(at);
    return {std::move(at), value};
  }
  /// From `start`, by steps of `step`, until they are smaller than `tolerance`. The value is of these samples; never
  /// less than the start's.
  Optimum climbed(const std::vector<double>& start, double step, double tolerance);

 private:
  const SearchGround& ground_;
  Evaluator evaluate_;
};

}  // namespace catoptra
