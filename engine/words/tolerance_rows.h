#pragma once
// Tolerance curves as text.
#include <string>
#include <vector>

#include "steer/tolerance.h"

namespace catoptra {

/// The errors that cost 1, 5 and 10 % of the absorbed power, a line a curve.
std::string tolerance_text(const std::vector<ToleranceCurve>& curves);

/// RFC 4180 with a line of names: a line a point of a curve.
std::string tolerance_csv(const std::vector<ToleranceCurve>& curves);

}  // namespace catoptra
