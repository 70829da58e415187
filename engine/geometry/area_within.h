#pragma once
// Areas of surfaces within a radius or up to a line: what turns the area of a part into an integral along its rim.
// Derivation: docs/theory/geometry.md, "Areas".
#include <vector>

#include "geometry/surface.h"

namespace catoptra {

/// Of a conic of revolution.
class ConicWithin {
 public:
  explicit ConicWithin(const Conic& conic) : conic_(conic) {}

  /// Area within the radius sqrt(s) of the axis, a radian and a unit of s: 1/2 where the surface is flat. Relative
  /// error 1e-14. Beyond an equator: the equator's.
  double per_square(double s) const;

 private:
  Conic conic_;
};

/// Of an asphere, from a table: relative error 1e-12.
class AsphereWithin {
 public:
  /// Good up to the radius `largest_m`.
  AsphereWithin(const Asphere& asphere, double largest_m);

  /// As above.
  double per_square(double s) const;

 private:
  double slant(double s) const;

  Asphere asphere_;
  std::vector<double> ends_;   // of pieces on which one rule is good, in s
  std::vector<double> below_;  // integral of the slant from 0 to each
};

/// Arc of a trough's section from x = 0 to x, m, signed as x is; x itself on a plane. Relative error 1e-14.
double arc_m(const Plane& plane, double x);
double arc_m(const Trough& trough, double x);

}  // namespace catoptra
