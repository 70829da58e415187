#pragma once
// Colours of pictures, which readers with any of the usual kinds of colour blindness can tell apart.
#include <array>

#include "scene/model.h"
#include "trace/result.h"

namespace catoptra {

/// Red, green, blue in sRGB, 0 to 1.
using Colour = std::array<double, 3>;

/// A share of the largest irradiance, 0 to 1: ever lighter from black by way of purple and orange. The colour map
/// "inferno" (N. J. Smith and S. van der Walt 2015, CC0) at every sixteenth, straight between.
Colour flux_colour(double share);

/// The eight colours of M. Okabe and K. Ito, "Color Universal Design" (2008), given to fates.
Colour fate_colour(Fate fate);

/// Quiet tones for what is not painted with a result.
Colour role_colour(Role role);

/// The same colour by amounts of light (IEC 61966-2-1, sRGB), as glTF counts.
Colour linear(const Colour& colour);

}  // namespace catoptra
