#pragma once
// How light enters a surface: see geometry/entry.h.
#include "numeric/vec.h"

namespace catoptra {

/// A point of an entry surface for (u, v) in the unit square; see entry_point().
template <class Real>
struct EntryPoint {
  Vec3<Real> point_m;
  Vec3<Real> normal;  // unit, toward the front
  Real measure_m2;    // its mean over the unit square of (u, v) is the surface's area
};

}  // namespace catoptra
