#pragma once
// The budget's terms as sums over the components at which the light was lost.
#include <vector>

#include "trace/plan.h"
#include "trace/result.h"
#include "trace/tally/ledger.h"

namespace catoptra {

/// A term's count, all components together.
Wide total_of(const Ledger& ledger, const LedgerLayout& layout, Term term);

/// By the scene's components, in their order; without their names. `watts`: what a count of weight 1 stands for.
std::vector<ComponentPowers> powers_by_component(const Plan& plan, const LedgerLayout& layout,
                                                 const std::vector<Ledger>& replicates, double watts);

}  // namespace catoptra
