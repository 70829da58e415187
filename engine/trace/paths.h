#pragma once
// A sample of ray paths, kept for pictures and for checking a scene by eye.
#include <cmath>
#include <vector>

#include "trace/result.h"

namespace catoptra {

/// Follows the first rays of one bundle, each to where most of its power ends.
class PathRecorder {
 public:
  explicit PathRecorder(int rays) : paths_(rays), ends_(rays) {}

  bool follows(int place) const { return place < static_cast<int>(paths_.size()); }
  void visit(int place, const Vec& at_m) { paths_[place].vertices_m.push_back(at_m); }
  /// The call with the largest weight decides; of equal ones, the last. In the tracer's weight units until taken.
  void end(int place, Fate fate, double weight) {
    RayPath& path = paths_[place];
    weight = std::fmax(weight, 0);  // light that comes from behind
    if (weight < path.power_W) return;
    path.fate = fate;
    path.power_W = weight;
    ends_[place] = path.vertices_m.size();
  }
  std::vector<RayPath> take(double watts_per_weight) {
    for (std::size_t i = 0; i < paths_.size(); ++i) {
      paths_[i].power_W *= watts_per_weight;
      paths_[i].vertices_m.resize(ends_[i]);  // what went on was the lesser part
    }
    return std::move(paths_);
  }

 private:
  std::vector<RayPath> paths_;
  std::vector<std::size_t> ends_;  // vertices up to the end that decided
};

}  // namespace catoptra
