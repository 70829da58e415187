#pragma once
// From counts to watts: means over the replicates, with their standard errors.
#include <string>
#include <utility>
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

/// What no sample changes in a receiver's result.
struct BlankReceiver {
  std::string name;
  FluxMap flux;                             // axes and areas
  std::vector<int> host;                    // FluxGrid::hosts()
  std::vector<std::pair<int, int>> guests;  // bins that are counted with another: that one, then the guest; sorted
  double area_m2 = 0;                       // all copies
  std::vector<double> radius_m;             // FluxGrid::radius_edges_m()
};
/// What no sample changes in a result.
struct BlankResult {
  std::vector<std::string> components;  // names
  std::vector<BlankReceiver> receivers;
};
/// Maps take longer than a short trace.
BlankResult blank_result(const Plan& plan, const Scene& scene, const LedgerLayout& layout);

/// Everything that the ledgers tell. Leaves paths, seed, timing and search to the caller.
TraceResult summarise(const Plan& plan, const BlankResult& blank, const LedgerLayout& layout,
                      const std::vector<Ledger>& replicates, SampleCounts counts);

}  // namespace catoptra
