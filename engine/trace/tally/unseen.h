#pragma once
// The error of a number on which all replicates agree. docs/theory/tracing.md, "All replicates alike".
#include <array>
#include <cmath>
#include <vector>

#include "trace/plan.h"
#include "trace/result.h"
#include "trace/tally/ledger.h"

namespace catoptra {

/// The estimate with its error; where the replicates have no spread but rounding, with the error of a single sample,
/// which changes the number by `one_sample`. A number that is not defined stays so.
inline Estimate with_unseen(const Estimate& seen, double one_sample) {
  const bool has_spread = seen.standard_error > 1e-13 * std::fabs(seen.value);
  return has_spread || !std::isfinite(seen.value) ? seen : Estimate{seen.value, one_sample};
}

/// Whether a component can have anything in a term.
using PossibleTerms = std::array<bool, term_count>;

/// By the scene's components. A term that is not possible is exactly 0, and has no error; so has a cosine that follows
/// from the rims alone.
std::vector<PossibleTerms> possible_terms(const Plan& plan, const LedgerLayout& layout);

}  // namespace catoptra
