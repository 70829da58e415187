#pragma once
// Traces a schedule's suns with an error put into each scene, always with the same samples.
#include <cstdint>
#include <functional>
#include <vector>

#include "steer/memory.h"
#include "steer/schedule.h"
#include "steer/spoil.h"

namespace catoptra {

/// Sums over the suns, a replicate each, W.
struct SpoiltPowers {
  std::vector<double> absorbed, arriving, leaving;
};

class SpoiltTracer {
 public:
  struct Options {
    std::uint64_t samples, seed;
    int replicates;
    const Stop* stop = nullptr;
    SearchMemory* memory = nullptr;
  };
  SpoiltTracer(const Scene& scene, const Schedule& schedule, Options options);

  /// `spoil(scene)` puts the error into each sun's scene, whose moving components are held(). On the caller's thread
  /// alone; may be called from several. `name` tells the error from others, for what is remembered. Throws Stopped.
  SpoiltPowers operator()(const std::string& name, const std::function<void(Scene&)>& spoil) const;

 private:
  SpoiltPowers traced(const std::function<void(Scene&)>& spoil) const;

  Options options_;
  std::vector<Scene> scenes_;
};

}  // namespace catoptra
