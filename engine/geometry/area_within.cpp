#include "geometry/area_within.h"

#include <algorithm>
#include <boost/math/special_functions/ellint_rc.hpp>
#include <boost/math/special_functions/ellint_rd.hpp>
#include <boost/math/special_functions/ellint_rf.hpp>
#include <cmath>

#include "geometry/bounded_integral.h"

namespace catoptra {

double ConicWithin::per_square(double s) const {
  const double q = conic_.q, p = 1 - q, u = conic_.curvature_per_m * conic_.curvature_per_m * s;
  if (q == 1) return 1 / (1 + std::sqrt(std::fmax(0, 1 - u)));
  if (q == 0) {
    const double root = std::sqrt(1 + u);
    return (root * root + root + 1) / (3 * (root + 1));
  }
  const double to_equator = std::fmax(0, 1 - q * u);
  const double at = to_equator > 0 ? u : 1 / q;
  const double root = std::sqrt(std::fmax(0, 1 + p * at) * to_equator), t = 1 + root, x = t * t;
  const double y = 2 + 2 * root + (p - q) * at;
  return boost::math::ellint_rc(x, y) + p * at * (1 / y + (p - q) / 3 * at * boost::math::ellint_rd(x, y, y));
}

AsphereWithin::AsphereWithin(const Asphere& asphere, double largest_m) : asphere_(asphere), ends_{0}, below_{0} {
  // As bounded_integral() has them, and kept.
  constexpr std::size_t most_pieces = 400;
  struct Piece {
    double a, b;
    int depth;
  };
  const auto f = [&](double s) { return slant(s); };
  const double whole = std::fmin(largest_m, asphere.rim_m()) * std::fmin(largest_m, asphere.rim_m());
  std::vector<Piece> pieces{{0, whole, 0}};
  double tolerance = 0;
  while (!pieces.empty()) {
    const Piece piece = pieces.back();
    pieces.pop_back();
    const auto [value, error, size] = kronrod_15(f, piece.a, piece.b);
    if (piece.depth == 0) tolerance = 1e-13 * size;
    if (!(error > tolerance) || piece.depth == 40 || ends_.size() + pieces.size() > most_pieces) {
      ends_.push_back(piece.b);
      below_.push_back(below_.back() + value);
    } else {
      const double middle = (piece.a + piece.b) / 2;
      pieces.push_back({middle, piece.b, piece.depth + 1});
      pieces.push_back({piece.a, middle, piece.depth + 1});
    }
  }
}

double AsphereWithin::slant(double s) const {
  const double slope = asphere_.height(s).slope;
  return std::sqrt(1 + 4 * s * slope * slope);
}

double AsphereWithin::per_square(double s) const {
  if (s <= 0) return 0.5;
  const double at = std::fmin(s, ends_.back());
  const auto next = std::lower_bound(ends_.begin() + 1, ends_.end(), at);  // so that the piece begins before it
  const auto piece = static_cast<std::size_t>(next - ends_.begin()) - 1;
  return (below_[piece] + kronrod_15([&](double v) { return slant(v); }, ends_[piece], at).value) / (2 * at);
}

double arc_m(const Plane&, double x) {
  return x;
}

double arc_m(const Trough& trough, double x) {
  const double c2 = trough.curvature_per_m * trough.curvature_per_m, p = 1 - trough.q;
  const double n = 1 + p * c2 * x * x, d = std::fmax(0, 1 - trough.q * c2 * x * x);
  return x * (boost::math::ellint_rf(1.0, n, d) + p * c2 * x * x / 3 * boost::math::ellint_rd(n, d, 1.0));
}

}  // namespace catoptra
