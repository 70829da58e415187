#include "trace/tally/peak.h"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>

#include "trace/tally/flux_grid.h"

namespace catoptra {

// One half of the replicates chooses the bin, the other half tells its flux, and the other way round; so for each bit
// of the replicates' numbers, which parts them in as many ways. What a half tells of a bin that it did not choose has
// no bias. The error is that of a single bin: the ways' mean has a little less.
Peak peak_of(const FluxMap& map, std::span<const int> host, std::span<const Ledger> replicates, std::size_t first_bin,
             double watts) {
  const std::size_t bins = map.area_m2.size(), count = replicates.size();
  const double least_m2 = smallest_share_of_bin * *std::max_element(map.area_m2.begin(), map.area_m2.end());
  std::vector<double> area_m2(bins, 0.0);  // of a host with its guests; 0 of a guest
  for (std::size_t b = 0; b < bins; ++b) area_m2[static_cast<std::size_t>(host[b])] += map.area_m2[b];
  const auto fullest = [&](const auto& of_bin) {
    std::size_t best = bins;
    for (std::size_t b = 0; b < bins; ++b) {
      if (area_m2[b] > 0 && area_m2[b] >= least_m2 && (best == bins || of_bin(b) > of_bin(best))) best = b;
    }
    return best;
  };
  Peak out;
  out.bin = fullest([&](std::size_t b) { return map.flux_W_m2[b]; });
  double sum = 0, squares = 0;
  const auto ways = static_cast<int>(std::bit_width(count - 1));
  std::array<Ledger, 2> half{Ledger(bins), Ledger(bins)};
  for (int way = 0; way < ways; ++way) {
    std::array<double, 2> members{};
    for (Ledger& counts : half) counts.clear();
    for (std::size_t r = 0; r < count; ++r) {
      const std::size_t side = (r >> way) & 1;
      ++members[side];
      replicates[r].for_each(
          first_bin, bins, [&](std::size_t b, Wide more) { half[side].add(static_cast<std::size_t>(host[b]), more); });
    }
    for (const std::size_t chooses : {0, 1}) {
      const std::size_t tells = 1 - chooses;
      const std::size_t b = fullest([&](std::size_t k) { return from_fixed(half[chooses][k]) / area_m2[k]; });
      sum += from_fixed(half[tells][b]) / members[tells] * watts / area_m2[b];
      squares += map.standard_error_W_m2[b] * map.standard_error_W_m2[b];
    }
  }
  out.flux_W_m2 = {sum / (2 * ways), std::sqrt(squares / (2 * ways))};
  return out;
}

}  // namespace catoptra
