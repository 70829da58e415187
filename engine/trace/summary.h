#pragma once
// From counts to watts: means over the replicates, with their standard errors.
#include <vector>

#include "trace/plan.h"
#include "trace/result.h"
#include "trace/tally/ledger.h"

namespace catoptra {

/// Samples that each replicate has behind it.
struct SampleCounts {
  std::uint64_t by_primaries = 0, direct = 0;
};

/// The intercept factor of all receivers together: what `--precision` watches.
Estimate intercept_factor(const std::vector<Ledger>& replicates, const LedgerLayout& layout);

/// Everything that the ledgers tell. Leaves paths, seed, timing and search to the caller.
TraceResult summarise(const Plan& plan, const Scene& scene, const LedgerLayout& layout,
                      const std::vector<Ledger>& replicates, SampleCounts counts);

}  // namespace catoptra
