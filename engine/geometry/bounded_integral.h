#pragma once
// Integrals whose work has a bound, whatever the integrand.
#include <array>
#include <boost/math/quadrature/gauss_kronrod.hpp>
#include <cmath>

namespace catoptra {

struct RuleOutcome {
  double value;
  double error;  // how far Gauss's rule of 7 points is from it, or its rounding
  double size;   // of the integral of |f|
};

/// Integral of f from a to b, a < b, by Kronrod's rule of 15 points.
template <class F>
RuleOutcome kronrod_15(const F& f, double a, double b) {
  RuleOutcome out{};
  out.value = boost::math::quadrature::gauss_kronrod<double, 15>::integrate(f, a, b, 0, 0.0, &out.error, &out.size);
  out.error *= (b - a) / 2;  // Boost tells it for the interval from -1 to 1
  return out;
}

/// Integral of f from a to b, either way round. Kronrod's rule of 15 points; a piece on which it differs from Gauss's
/// of 7 by more than `tolerance` is halved. The tolerance is that of the whole, so that halving ends: a piece at an end
/// where f has a root or a pole of a root shrinks until its share no longer counts. At most 2 x `most_halvings` + 1
/// times 15 values of f are taken. Error: far below `tolerance` a piece where f is smooth, as the rule of 15 points is
/// so much better than that of 7; no less than 1e-13 of the integral of |f|.
template <class F>
double bounded_integral(const F& f, double a, double b, double tolerance) {
  constexpr int most_halvings = 200, deepest = 48;
  struct Piece {
    double a, b;
    int depth;
  };
  if (a == b) return 0;
  if (a > b) return -bounded_integral(f, b, a, tolerance);
  std::array<Piece, deepest + 2> pieces;
  int count = 0, halvings = 0;
  pieces[count++] = {a, b, 0};
  double sum = 0;
  while (count > 0) {
    const Piece piece = pieces[--count];
    const auto [value, error, size] = kronrod_15(f, piece.a, piece.b);
    if (piece.depth == 0) tolerance = std::fmax(tolerance, 1e-13 * size);
    const double middle = piece.a + (piece.b - piece.a) / 2;
    if (!(error > tolerance) || piece.depth == deepest || halvings == most_halvings) {
      sum += value;
    } else {
      ++halvings;
      pieces[count++] = {middle, piece.b, piece.depth + 1};
      pieces[count++] = {piece.a, middle, piece.depth + 1};
    }
  }
  return sum;
}

}  // namespace catoptra
