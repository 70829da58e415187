#pragma once
// Which suns of a list follow each other on one way of the mirrors, and what lies between two.
#include <vector>

#include "sun/moment.h"

namespace catoptra {

double angle_between_rad(const Vec& a, const Vec& b);

/// Whether the mirrors go from one to the other: on one day of the site's clock, without a night between.
bool on_one_way(const Moment& a, const Moment& b);

/// Suns between two that stand far apart: over a long step a pose loses all light, and with it the way on. None where
/// the two are not on one way.
std::vector<Moment> way_points(const Moment& from, const Moment& to);

}  // namespace catoptra
