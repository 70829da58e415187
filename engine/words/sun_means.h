#pragma once
// Means over the suns of a schedule, with their errors: the one rule, for terminal, comparisons, pages and figures.
#include <cstdint>
#include <span>
#include <vector>

#include "files/read_file.h"
#include "steer/schedule.h"

namespace catoptra {

/// Mean over suns. Errors of suns that have samples of their own add in quadrature; those of suns that share their
/// samples, as in files of schema 1, may err together, so they are added up, which is never too small.
Estimate mean_over_suns(std::span<const Estimate> suns, bool samples_apart);

/// Whether no two suns share a seed.
bool samples_are_apart(const Schedule& schedule);
bool samples_are_apart(const StoredFile& schedule);

/// Of a dataset whose first axis is /time: means over that axis, the other axes as they are. None for another dataset.
std::vector<Estimate> means_over_suns(const StoredFile& schedule, const StoredSet& set);

}  // namespace catoptra
