#pragma once
// The best poses that lie apart, at many suns at once. Method: docs/theory/steering.md, "Branches".
#include <cstddef>
#include <span>
#include <vector>

#include "steer/search_ground.h"

namespace catoptra {

/// By sun, best first. The values are means over samples that no climb has seen where rivals are close, and of the
/// search's own samples else. Every sun has one branch at least, which may be dark (0), or not clear of other bodies
/// (less than 0) where none is. Depends on the scene, suns and options alone.
std::vector<std::vector<Optimum>> find_branches(const SearchGround& ground, std::span<const Moment> suns,
                                                Workers& workers);

/// What poses of suns close by lead to at one between them: climbs from them, and from the middle of `ends`, the first
/// two.
std::vector<Optimum> branches_between(const SearchGround& ground, const Moment& sun,
                                      std::span<const std::vector<double>> ends);

}  // namespace catoptra
