#pragma once
// Realisations as text.
#include <string>
#include <vector>

#include "steer/realisations.h"

namespace catoptra {

/// What the builds come to: mean and percentiles of the absorbed share.
std::string realisations_text(const Realisations& realisations);

/// RFC 4180 with a line of names: a line a build, with its errors.
std::string realisations_csv(const Realisations& realisations);

}  // namespace catoptra
