#pragma once
// What a trace will take of the machine, told before it begins. Bytes.
#include <cstdint>

#include "scene/model.h"
#include "trace/trace.h"

namespace catoptra {

struct Footprint {
  double maps_B = 0;         // flux maps with their errors and areas, and curves: what a result holds
  double largest_map_B = 0;  // of these, the largest receiver's: a summary works on one at a time
  double counts_B = 0;       // about the most that counts take while rays are traced
  double scene_B = 0;        // the program and the scene made ready
  std::int64_t receivers = 0, bins = 0;

  /// About the most that the process takes while it traces and sums up. Each bin's area and host are made ready too.
  double traced_B() const { return scene_B + counts_B + 1.5 * maps_B + largest_map_B / 3; }
};

/// Light is taken to fall on the receivers once a sample, wherever it makes the most of their memory.
Footprint footprint_of(const Scene& scene, const TraceOptions& options);

}  // namespace catoptra
