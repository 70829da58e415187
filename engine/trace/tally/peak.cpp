#include "trace/tally/peak.h"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>

#include "trace/tally/flux_grid.h"

namespace catoptra {

// One half of the replicates chooses the bin, and the other half tells its flux. Then the halves change places. Each
// bit of the replicates' numbers divides them in another way. What a half tells of a bin that it did not choose has no
// bias. The error is that of a single bin; the mean over all ways has a little less.
Peak peak_of(const FluxMap& map, std::span<const int> host, std::span<const Ledger> replicates, std::size_t first_bin,
             double watts) {
  const std::size_t bins = map.area_m2.size(), count = replicates.size();
  const double least_m2 = smallest_share_of_bin * *std::max_element(map.area_m2.begin(), map.area_m2.end());
  std::vector<double> area_m2(bins, 0.0);  // of a host with its guests; 0 of a guest
  for (std::size_t b = 0; b < bins; ++b) area_m2[static_cast<std::size_t>(host[b])] += map.area_m2[b];
  const auto may_be_peak = [&](std::size_t b) { return area_m2[b] > 0 && area_m2[b] >= least_m2; };
  Peak out;
  while (out.bin + 1 < bins && !may_be_peak(out.bin)) ++out.bin;
  const std::size_t first = out.bin;
  for (std::size_t b = first + 1; b < bins; ++b) {
    if (may_be_peak(b) && map.flux_W_m2[b] > map.flux_W_m2[out.bin]) out.bin = b;
  }
  // Of equally full bins the first. Empty ones, which most are, are not looked at.
  const auto fullest = [&](const Ledger& counts) {
    std::size_t best = first;
    double most = from_fixed(counts[first]) / area_m2[first];
    counts.for_each(0, bins, [&](std::size_t b, Wide sum) {
      if (!may_be_peak(b)) return;
      const double flux = from_fixed(sum) / area_m2[b];
      if (flux > most) best = b, most = flux;
    });
    return best;
  };
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
      const std::size_t b = fullest(half[chooses]);
      sum += from_fixed(half[tells][b]) / members[tells] * watts / area_m2[b];
      squares += map.standard_error_W_m2[b] * map.standard_error_W_m2[b];
    }
  }
  out.flux_W_m2 = {sum / (2 * ways), std::sqrt(squares / (2 * ways))};
  return out;
}

}  // namespace catoptra
