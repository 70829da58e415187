#pragma once
// What is counted, as fixed-point integers: their sums do not depend on order, so neither the number of threads nor
// the way the work was cut shows in a result.
#include <bit>
#include <cstdint>
#include <vector>

#include "trace/plan.h"
#include "trace/result.h"
#include "trace/tally/flux_grid.h"

namespace catoptra {

/// Weights are counted in steps of 2^-40. The trick: adding 1.5 x 2^52 leaves the rounded number in the low bits.
/// Exact to half a step for |weight| < 2^11; a step of 1e-12 a term keeps every budget closed far below 1e-9.
inline constexpr double fixed_steps_per_unit = 0x1p40;
inline constexpr double largest_weight = 1024;
inline std::int64_t to_fixed(double weight) {
  constexpr double shift = 0x1.8p52;
  return std::bit_cast<std::int64_t>(weight * fixed_steps_per_unit + shift) - std::bit_cast<std::int64_t>(shift);
}
/// A replicate's counts: wide enough for 1e12 samples of any weight.
__extension__ using Wide = __int128;

inline double from_fixed(Wide sum) {
  return static_cast<double>(sum) / fixed_steps_per_unit;
}

/// After this many contacts a ray is given up and counted: light caught between mirrors that lose nothing.
inline constexpr int most_bounces = 500;

/// Where each count stands in a ledger's row: the budget's terms, then each receiver's scalars, flux bins and radii.
struct LedgerLayout {
  enum ReceiverScalar { arriving, absorbed, direct, on_front, receiver_scalars };
  struct ReceiverPlace {
    int scalars = 0, flux = 0, radii = 0;
  };
  std::vector<ReceiverPlace> receivers;
  std::vector<FluxGrid> grids;
  int size = 0;

  explicit LedgerLayout(const Plan& plan, const Scene& scene);
  static int term(Term t) { return static_cast<int>(t); }
  /// What samples tell of the incident power. It takes the place of the term `cosine`, which no sample counts.
  static constexpr int incident = static_cast<int>(Term::cosine);
  /// Events that should never be, or hardly ever.
  static constexpr int rare_trapped = static_cast<int>(term_count);
  static constexpr int rare_heavy = rare_trapped + 1;
  static constexpr int fixed_terms = rare_heavy + 1;
};

/// One piece of work's counts: 64 bits are enough for 2^12 bundles of the largest weights that occur.
using ChunkLedger = std::vector<std::int64_t>;
/// A replicate's counts.
using Ledger = std::vector<Wide>;

template <class Counts>
void add(const Counts& counts, Ledger& to) {
  for (std::size_t i = 0; i < counts.size(); ++i) to[i] += counts[i];
}

}  // namespace catoptra
