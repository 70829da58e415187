#include "steer/path.h"

#include <algorithm>
#include <limits>

#include "numeric/expects.h"

namespace catoptra {

std::vector<std::size_t> best_path(std::span<const std::vector<double>> values,
                                   const std::function<double(std::size_t, std::size_t, std::size_t)>& cost) {
  std::vector<std::vector<std::size_t>> came_from(values.size());
  std::vector<double> sums;  // of the best way to each choice of the last station
  for (std::size_t i = 0; i < values.size(); ++i) {
    CATOPTRA_EXPECTS(!values[i].empty());
    std::vector<double> here = values[i];
    for (std::size_t k = 0; i > 0 && k < here.size(); ++k) {
      double best = -std::numeric_limits<double>::infinity();
      came_from[i].push_back(0);
      for (std::size_t j = 0; j < sums.size(); ++j) {
        const double sum = sums[j] - cost(i, j, k);
        if (!(sum > best)) continue;
        best = sum;
        came_from[i].back() = j;
      }
      here[k] += best;
    }
    sums = std::move(here);
  }
  std::vector<std::size_t> out(values.size());
  for (std::size_t i = values.size(); i-- > 0;)
    out[i] = i + 1 == values.size() ? static_cast<std::size_t>(std::ranges::max_element(sums) - sums.begin())
                                    : came_from[i + 1][out[i + 1]];
  return out;
}

}  // namespace catoptra
