#pragma once
// The best pose of a scene's steered mounts for one sun after the other. Method: docs/theory/steering.md.
#include <cstdint>
#include <optional>
#include <span>
#include <stdexcept>
#include <vector>

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

struct Solution {
  std::vector<double> coordinates;  // of Freedom
  double value = 0;                 // of the objective, travel not counted, from the search's own samples
  bool branched = false;            // a pose apart from the one before was better than what that one leads to
};

class PoseSolver {
 public:
  /// Throws std::invalid_argument where no mount is free to move. The scene is copied.
  PoseSolver(const Scene& scene, const SolverOptions& options);
  PoseSolver(const PoseSolver&) = delete;
  PoseSolver& operator=(const PoseSolver&) = delete;

  const Freedom& freedom() const { return freedom_; }

  /// The best pose anywhere within the limits; searches run side by side on `workers`. Throws NoRoom.
  Solution globally(const Moment& moment, Workers& workers) const;

  /// The pose for a sun near to one whose pose is known: continued from `before` (the latest first; one or two), unless
  /// a look at the whole range (survey, guide, bisector) finds a branch that is better by more than a five-hundredth.
  Solution onward(const Moment& moment, std::span<const Solution> before, Workers& workers) const;

  /// What a pose that was found for the sun after this one leads to here, where that is better than what is `known` by
  /// more than a five-hundredth. Travel is counted from `before`, if that is not null.
  std::optional<Solution> backward(const Moment& moment, const Solution& known, const Solution& after,
                                   const Solution* before) const;

  /// Too far for one hill, by some coordinate.
  static bool are_apart(const Solution& one, const Solution& other);

  /// Where a climb from the best of `starts` ends, travel not counted. Throws NoRoom.
  Solution nearby(const Moment& moment, std::span<const std::vector<double>> starts) const;

 private:
  class Search;
  std::optional<std::vector<double>> bisector_start(const Moment& moment) const;
  /// Poses apart from which the guide says that light comes near; those that a trace agrees with first.
  std::vector<Optimum> guided_starts(const Moment& moment, Search& search) const;
  /// The ends of coarse climbs from `starts`, the bisector, `surveyed` places of a survey, and the guide's; by their
  /// values at the fine stage, best first. Travel is counted from `from`, if that is not null.
  std::vector<Optimum> rough_tops(const Moment& moment, const std::vector<double>* from, std::size_t surveyed,
                                  std::vector<std::vector<double>> starts, Workers& workers) const;
  Solution finished(Optimum best, const Moment& moment) const;
  /// What to throw where the best pose found is not clear: which bodies, by how much, and which limits it stands at.
  NoRoom no_room(const Optimum& best, const Moment& moment) const;

  Scene scene_;
  SolverOptions options_;
  Freedom freedom_;
  Clearance clearance_;
  Guide guide_;
  mutable PreparedPool pool_;  // from any thread
};

}  // namespace catoptra
