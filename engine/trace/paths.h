#pragma once
// A sample of ray paths, kept for pictures and for checking a scene by eye.
#include <vector>

#include "trace/result.h"

namespace catoptra {

/// Follows the first rays of one bundle.
class PathRecorder {
 public:
  explicit PathRecorder(int rays) : paths_(rays) {}

  bool follows(int place) const { return place < static_cast<int>(paths_.size()); }
  void visit(int place, const Vec& at_m) { paths_[place].vertices_m.push_back(at_m); }
  /// The last call for a ray decides; `power` in the tracer's weight units until scaled.
  void end(int place, Fate fate, double weight) {
    paths_[place].fate = fate;
    paths_[place].power_W = weight;
  }
  std::vector<RayPath> take(double watts_per_weight) {
    for (RayPath& path : paths_) path.power_W *= watts_per_weight;
    return std::move(paths_);
  }

 private:
  std::vector<RayPath> paths_;
};

}  // namespace catoptra
