#pragma once
// A heliostat field traced as a script would: what the engine's search is measured against.
#include <cstdint>

#include "trace/plan.h"

namespace catoptra::benchmark {

struct BareTowerResult {
  double optical_efficiency = 0;
  double intercept_factor = 0;
  double peak_share = 0;  // of the arriving power, in the fullest bin: keeps the flux map alive
  std::uint64_t samples = 0;
  double seconds = 0;
};

/// Every flat rectangle of `plan` as two triangles (an Embree quad) in floats; heliostat by heliostat, sixteen samples
/// at a time: scalar pseudo-random sampling of mirror, disc sun and slope error, a packet of shadow rays, a packet of
/// reflected rays, a 64 x 64 flux map. No budget, no error bars. At least `samples`, a multiple of 16 a heliostat.
BareTowerResult bare_tower(const Plan& plan, std::uint64_t samples, std::uint64_t seed);

}  // namespace catoptra::benchmark
