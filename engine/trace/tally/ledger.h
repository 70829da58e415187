#pragma once
// Which count stands where.
#include <cstdint>
#include <vector>

#include "trace/plan.h"
#include "trace/result.h"
#include "trace/tally/counts.h"
#include "trace/tally/flux_grid.h"

namespace catoptra {

/// Where each count stands in a ledger's row: the budget's terms, then each receiver's scalars, flux bins and radii.
struct LedgerLayout {
  enum ReceiverScalar { arriving, absorbed, direct, on_front, receiver_scalars };
  struct ReceiverPlace {
    std::int64_t scalars = 0, flux = 0, radii = 0;  // flux begins a tile
  };
  std::vector<ReceiverPlace> receivers;
  std::vector<FluxGrid> grids;
  std::int64_t size = 0;

  explicit LedgerLayout(const Plan& plan, const Scene& scene);
  static int term(Term t) { return static_cast<int>(t); }
  /// What samples tell of the incident power. It takes the place of the term `cosine`, which no sample counts.
  static constexpr int incident = static_cast<int>(Term::cosine);
  /// Events that should never be, or hardly ever.
  static constexpr int rare_trapped = static_cast<int>(term_count);
  static constexpr int rare_heavy = rare_trapped + 1;
  static constexpr int fixed_terms = rare_heavy + 1;
};

}  // namespace catoptra
