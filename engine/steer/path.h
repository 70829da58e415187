#pragma once
// A way through a list of stations that each offer a choice.
#include <cstddef>
#include <functional>
#include <span>
#include <vector>

namespace catoptra {

/// Which choice to take at each station, so that the sum of `values` less the sum of `cost`(station, choice at the one
/// before, choice here) is largest: by dynamic programming (R. Bellman, Dynamic Programming, 1957, from memory). Of
/// equal ways the one of earlier choices. Every station must offer one.
std::vector<std::size_t> best_path(std::span<const std::vector<double>> values,
                                   const std::function<double(std::size_t, std::size_t, std::size_t)>& cost);

}  // namespace catoptra
