#pragma once
// Prepared copies of one scene, for as many threads as trace it at once.
#include <memory>
#include <mutex>
#include <vector>

#include "scene/model.h"
#include "trace/trace.h"

namespace catoptra {

class PreparedPool {
 public:
  /// Nothing is made ready before the first trace.
  explicit PreparedPool(Scene scene) : scene_(std::move(scene)) {}

  /// trace() of the scene as `stand` has it. From any thread.
  TraceResult trace(const Stand& stand, const TraceOptions& options);

  /// For traces that run side by side, each on the thread that asks for it.
  Workers& alone() { return alone_; }

 private:
  std::unique_ptr<PreparedScene> take(const Stand& stand);

  const Scene scene_;
  Workers alone_{1};
  std::mutex lock_;  // on all below
  std::vector<std::unique_ptr<PreparedScene>> idle_;
};

/// `scene` with at most so many bins a side in its flux maps.
Scene with_bins(Scene scene, int most);

}  // namespace catoptra
