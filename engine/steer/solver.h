#pragma once
// The best pose of a scene's steered mounts for one sun or many. Method: docs/theory/steering.md.
#include <cstddef>
#include <span>
#include <vector>

#include "steer/search_ground.h"

namespace catoptra {

struct Solution {
  std::vector<double> coordinates;  // of Freedom
  double value = 0;                 // of the objective, travel not counted, from the search's own samples
};

class PoseSolver {
 public:
  /// Throws std::invalid_argument where no mount is free to move. The scene is copied.
  PoseSolver(const Scene& scene, const SolverOptions& options) : ground_(scene, options) {}

  const Freedom& freedom() const { return ground_.freedom; }

  /// The best pose anywhere within the limits. Throws NoRoom.
  Solution globally(const Moment& moment, Workers& workers) const;

  /// The best poses of a day's suns, in the order of time, each sun having learnt from all others: of the branches at
  /// every sun those that together bring most, less what travel costs. One is left where another is better by more than
  /// a five-hundredth over all suns that it is better at. Throws NoRoom.
  std::vector<Solution> along(std::span<const Moment> suns, Workers& workers) const;

  /// The pose at a sun between others whose poses are known: what the nearest on each side, which come first, and
  /// others lead to. Throws NoRoom.
  Solution between(const Moment& moment, std::span<const Solution> known) const;

  /// The pose at a sun to which `before` moves on: less travel is worth `travel_cost_per_m`. Not worse in that than
  /// `planned` or standing still.
  Solution onward(const Moment& moment, const Solution& planned, const Solution& before) const;

  /// Whether `after` at its sun does not continue `before` at its own: too far apart for one hill.
  bool leaps(const Moment& sun_before, const Solution& before, const Moment& sun_after, const Solution& after) const;

  /// Where a climb from the best of `starts` ends, travel not counted. Throws NoRoom.
  Solution nearby(const Moment& moment, std::span<const std::vector<double>> starts) const;

 private:
  Solution finished(Optimum best, const Moment& moment) const;
  SearchGround ground_;
};

}  // namespace catoptra
