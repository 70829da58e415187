#pragma once
// Phrases that surfaces say of themselves.
#include <string>

namespace catoptra {

/// "12.3 degrees".
std::string degrees_words(double angle_rad);

/// Of a conic of revolution, its section carried along, or a surface near one: how it bends, where its focus lies, and,
/// where it is concave, the angle between the axis and the line from the focus to the rim.
std::string conic_words(double curvature_per_m, double q, double rim_m, double rim_height_m);

}  // namespace catoptra
