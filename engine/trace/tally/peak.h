#pragma once
// The largest irradiance of a map, without the bias of the largest of noisy numbers. docs/theory/tracing.md, "Peak".
#include <span>

#include "trace/result.h"
#include "trace/tally/counts.h"

namespace catoptra {

struct Peak {
  Estimate flux_W_m2;
  std::size_t bin = 0;  // the fullest by all replicates
};

/// `map` has its means and errors; `host` tells with which bin each is counted (FluxGrid::hosts); the bins' counts
/// stand in each replicate's ledger from `first_bin` on, `watts` a count of weight 1. Two replicates or more. A bin
/// that has less than smallest_share_of_bin of the largest one's area, its guests counted in, is no peak: few rays fall
/// there.
Peak peak_of(const FluxMap& map, std::span<const int> host, std::span<const Ledger> replicates, std::size_t first_bin,
             double watts);

}  // namespace catoptra
