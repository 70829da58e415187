#pragma once
// Tolerance curves as text, and what their outputs call them.
#include <string>
#include <vector>

#include "steer/tolerance.h"

namespace catoptra {

/// How outputs name a curve and the unit of its errors: "pointing_x" in mrad, "position_east" in mm, "slope" in mrad,
/// "focus" in percent, "curvature" in km-1; `suffix` stands for the unit at the end of keys.
struct CurveName {
  std::string name, unit, suffix;
  double to_si;
};
CurveName name_of(const ToleranceCurve& curve);

/// The errors that cost 1, 5 and 10 % of the absorbed power, a line a curve.
std::string tolerance_text(const std::vector<ToleranceCurve>& curves);

/// RFC 4180 with a line of names: a line a point of a curve.
std::string tolerance_csv(const std::vector<ToleranceCurve>& curves);

}  // namespace catoptra
