#pragma once
// The best poses known, by a search that shares nothing with that of steer/ but the number that it maximises.
#include <cstdint>
#include <functional>
#include <span>
#include <vector>

#include "numeric/statistics.h"
#include "scene/moment.h"
#include "steer/clearance.h"
#include "steer/evaluator.h"
#include "steer/freedom.h"

namespace catoptra::benchmark {

class PoseReferee {
 public:
  /// Keeps references to all but the suns.
  PoseReferee(const Scene& scene, std::vector<Moment> suns, Workers& workers, std::uint64_t seed);

  const std::vector<Moment>& suns() const { return suns_; }
  const Freedom& freedom() const { return freedom_; }

  /// Takes the pose for `sun` if it is better than what is known there.
  void offer(std::size_t sun, const std::vector<double>& at);
  /// At every sun `populations` of differential evolution, from nothing (R. Storn and K. Price, J. Global Optimization
  /// 11 (1997) 341: rand/1/bin), each followed by a climb.
  void evolve(int populations);
  /// Climbs from the poses of the suns before and after, and from those of suns of like height: as they stand, turned
  /// about the vertical and mirrored at the plane between the suns. Again and again, until nothing improves.
  void exchange();

  const std::vector<double>& best(std::size_t sun) const { return best_[sun].at; }
  double value(std::size_t sun) const { return best_[sun].value; }
  /// How far a pose stays below the best known, as a share of it, from fresh samples that both have in common.
  Estimate shortfall(std::size_t sun, const std::vector<double>& at);

 private:
  struct Known {
    std::vector<double> at;
    double value = -1e9;  // from many samples
    int changed = 0;      // the round in which it was found
  };
  double value_at(std::size_t sun, std::span<const double> at, std::uint64_t samples, std::uint64_t seed);
  std::vector<double> climbed(std::size_t sun, const std::vector<double>& start, double step);
  std::vector<double> evolved(std::size_t sun, std::uint64_t stream);
  /// The pose turned about the vertical through the origin, or mirrored, as one sun's azimuth is taken to the other's.
  std::vector<double> carried(const std::vector<double>& at, std::size_t from, std::size_t to, bool mirrored) const;
  void for_each_sun(const std::function<void(std::size_t)>& body);

  const Scene& scene_;
  std::vector<Moment> suns_;
  Workers& workers_;
  std::uint64_t seed_;
  Freedom freedom_;
  Clearance clearance_;
  PreparedPool pool_;
  std::vector<Known> best_;
};

}  // namespace catoptra::benchmark
