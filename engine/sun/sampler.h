#pragma once
// Draws angles from the sun's centre.
#include <cstddef>
#include <vector>

#include "numeric/turn.h"
#include "sun/sunshape.h"

namespace catoptra {

class RadialLaw;

/// The angle of a sun ray from the direction to the sun's centre, drawn by DNI: the density of directions is
/// L(angle) cos(angle), so a sample on a surface of normal n carries DNI (ray . n) / cos(angle), without bias.
/// Equations and sources: docs/theory/sun.md.
class SunSampler {
 public:
  /// Throws std::invalid_argument where the sunshape is out of its range, naming the key and what is allowed.
  explicit SunSampler(const AnySunshape& shape);

  /// sin^2 of the angle, for 0 < u < 1: increasing and continuous in u, the same bits for a double and for each lane.
  /// Closed for point, disc and gaussian; for the others a table whose cumulative law errs by less than 1e-5.
  template <class Real>
  Real sine_squared(const Real& u) const {
    switch (law_) {
      case Law::linear:
        return scale_ * u;
      case Law::gaussian:
        return scale_ * natural_log(Real(1) - u);  // 1 - u is 2^-53 at least: positive and normal
      default:
        return look_up(u);
    }
  }

  bool is_point() const { return largest_angle_rad_ == 0; }
  double largest_angle_rad() const { return largest_angle_rad_; }
  /// sqrt(mean sin^2 / 2): rms of a ray's direction cosine along one axis across the centre.
  double rms_per_axis_rad() const { return rms_per_axis_rad_; }
  /// Mean radiance within largest_angle_rad() over that of the centre (1 for a point), weighted as DNI is. The highest
  /// local concentration that this sun allows, pi L(0) / DNI, is 1 / (sin^2(largest_angle_rad()) mean_over_centre()).
  double mean_over_centre() const { return mean_over_centre_; }

 private:
  enum class Law { linear, gaussian, table };
  // u is shared evenly by cells, and each cell evenly by its parts: many where the law bends.
  struct Cell {
    double parts = 0;
    std::ptrdiff_t first = 0;  // into nodes_
  };
  static constexpr int cells = 512;  // a power of two: u * cells is exact

  void tabulate(const RadialLaw& law, double centre_radiance);

  double look_up(double u) const {
    const double x = u * cells;
    const auto cell = static_cast<std::ptrdiff_t>(x);
    const Cell& in = cells_[static_cast<std::size_t>(cell)];
    const double y = (x - static_cast<double>(cell)) * in.parts;
    const auto part = static_cast<std::ptrdiff_t>(y);
    const double* node = nodes_.data() + (in.first + part);
    return node[0] + (y - static_cast<double>(part)) * (node[1] - node[0]);
  }
  Pack look_up(const Pack& u) const {  // lane by lane: no slower than AVX2's gathers (measured)
    double each[Pack::size];
    store(u, each);
    for (double& lane : each) lane = look_up(lane);
    return load<Pack>(each);
  }

  Law law_ = Law::linear;
  double scale_ = 0;
  double largest_angle_rad_ = 0, rms_per_axis_rad_ = 0, mean_over_centre_ = 1;
  std::vector<Cell> cells_;
  std::vector<double> nodes_;  // sin^2 of the angle
};

}  // namespace catoptra
