#pragma once
// What surfaces catch of parallel light, as far as it follows from their rims or their convexity.
#include <optional>

#include "geometry/surface.h"

namespace catoptra {

/// Vector area: the integral of the unit normal over the front, m^2, in the own frame. It depends on the rim alone;
/// what light from direction s passes the rim toward the front, less what passes it from behind, is its product with s.
/// 0 for surfaces without a rim (ball) or with two alike (tube). Error: 1e-12 of the outline's area, or 1e-13 of the
/// integral of |z| along the rim where that is more. Derivation: docs/theory/tracing.md, "Incident power".
Vec vector_area_m2(const AnySurface& surface, const AnyOutline& outline);

/// The integral of max(0, n . v) over the outside of a tube, a cone or a ball, m^2, which is all that light from there
/// finds of it: v toward the light, any length. None for other fronts, which may stand in their own light.
std::optional<double> lit_area_m2(const AnySurface& surface, const Vec& v);

/// What a front takes in of a point sun: through its rim, or with its lit side.
class Facing {
 public:
  Facing(const AnySurface& surface, const AnyOutline& outline);
  /// Power / DNI, m^2, for the sun in the direction s (unit, own frame). 0 where it sees the rim from behind: whether
  /// some of a bent front is lit all the same, samples tell.
  double area_m2(const Vec& s) const;

 private:
  AnySurface surface_;
  Vec rim_m2_;
};

}  // namespace catoptra
