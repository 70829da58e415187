#pragma once
// Which count stands where.
#include <cstdint>
#include <vector>

#include "trace/plan.h"
#include "trace/result.h"
#include "trace/tally/counts.h"
#include "trace/tally/flux_grid.h"

namespace catoptra {

/// Where each count stands in a ledger's row: rare events, each component's terms of the budget, then each receiver's
/// scalars, flux bins and radii.
struct LedgerLayout {
  enum ReceiverScalar { arriving, absorbed, direct, on_front, receiver_scalars };
  struct ReceiverPlace {
    std::int64_t scalars = 0, flux = 0, radii = 0;  // flux begins a tile
  };
  std::vector<ReceiverPlace> receivers;
  std::vector<FluxGrid> grids;
  std::int64_t size = 0;

  explicit LedgerLayout(const Plan& plan, const Scene& scene);
  /// Of a component of the scene.
  std::int64_t term(int component, Term t) const {
    return first_term + std::int64_t{component} * static_cast<int>(term_count) + static_cast<int>(t);
  }
  /// What samples tell of the incident power takes the place of the term `cosine`, which no sample counts.
  static constexpr Term incident = Term::cosine;
  /// Events that should never be, or hardly ever.
  static constexpr int rare_trapped = 0, rare_heavy = 1, first_term = 2;

  int components = 0;      // of the scene
  std::vector<int> owner;  // of a plan's component: that of the scene, which for an entrance is what lies behind it
};

}  // namespace catoptra
