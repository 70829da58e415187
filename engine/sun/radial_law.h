#pragma once
#include <cstddef>
#include <functional>
#include <vector>

namespace catoptra {

/// The DNI-weighted law of sin^2(angle) for a radiance L over the angle from the sun's centre, and its inverse.
///
/// DNI from a ring is L cos t dw with dw = sin t dt dphi, and cos t sin t dt = d(sin^2 t) / 2: in s = sin^2 t the
/// density is L itself. Gauss quadrature on panels between the breaks of L; each piece [a, b] is written as
/// t = a + (b - a) (1 - cos v) / 2, which makes a square root at an end (a limb) smooth in v. Slow: for building
/// tables.
class RadialLaw {
 public:
  /// `breaks_rad`: increasing, the last one is the extent. Throws std::invalid_argument where L holds no light.
  RadialLaw(std::function<double(double)> radiance, const std::vector<double>& breaks_rad);

  double light() const { return sum_.back(); }        // integral of L ds
  double mean_sine_squared() const { return mean_; }  // of the law
  double extent_rad() const { return pieces_.back().to_rad; }
  double below(double sine_squared) const;  // cumulative law, 0..1
  double sine_squared(double u) const;      // its inverse, to some 1e-13

 private:
  struct Piece {
    double from_rad, to_rad;
  };
  double density(std::size_t panel, double v) const;       // L ds / dv
  double light_within(std::size_t panel, double v) const;  // from the panel's start to v
  double panel_start(std::size_t panel) const;
  double angle_rad(std::size_t panel, double v) const;

  std::function<double(double)> radiance_;
  std::vector<Piece> pieces_;
  std::size_t panels_a_piece_;
  std::vector<double> sum_;  // light before each panel, and the whole at the end
  double mean_ = 0;
};

}  // namespace catoptra
