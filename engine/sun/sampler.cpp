#include "sun/sampler.h"

#include <algorithm>
#include <cmath>
#include <sstream>
#include <stdexcept>
#include <type_traits>

#include "sun/radial_law.h"

namespace catoptra {
namespace {

double square(double x) {
  return x * x;
}

template <class Shape>
void require_ranges(const Shape& shape) {
  for (const auto& field : Shape::fields) {
    const auto* member = std::get_if<double Shape::*>(&field.member);
    if (!member) continue;
    const double value = shape.*(*member) / field.unit.to_si;
    if (field.range.holds(value)) continue;
    std::ostringstream text;
    text << "sunshape " << Shape::kind << ": " << field.key << " is " << value << ", allowed is "
         << (field.range.low_open ? "more than " : "at least ") << field.range.low << " and "
         << (field.range.high_open ? "less than " : "at most ") << field.range.high;
    throw std::invalid_argument(text.str());
  }
}

}  // namespace

SunSampler::SunSampler(const AnySunshape& any_shape) {
  std::visit(
      [this](const auto& shape) {
        using Shape = std::decay_t<decltype(shape)>;
        if constexpr (std::is_same_v<Shape, TableSun>) {
          shape.check();
        } else {
          require_ranges(shape);
        }
        if constexpr (std::is_same_v<Shape, DiscSun>) {
          // Even radiance: s = sin^2 is even up to sin^2 of the half-angle.
          scale_ = square(std::sin(shape.half_angle_rad));
          largest_angle_rad_ = shape.half_angle_rad;
          rms_per_axis_rad_ = std::sqrt(scale_ / 4);
        } else if constexpr (std::is_same_v<Shape, GaussianSun>) {
          // Radiance exp(-s / (2 sigma^2)): s is exponential with mean 2 sigma^2, s = -2 sigma^2 ln(1 - u). No double
          // below 1 is nearer to it than 2^-53: the law ends at 8.6 sigma by itself, short of the horizon.
          const double variance = square(shape.sigma_rad);
          scale_ = -2 * variance;
          law_ = Law::gaussian;
          const double farthest = 2 * variance * 53 * std::log(2.0);
          largest_angle_rad_ = std::asin(std::sqrt(farthest));
          rms_per_axis_rad_ = shape.sigma_rad;
          mean_over_centre_ = 2 * variance / farthest;
        } else if constexpr (std::is_same_v<Shape, BuieSun>) {
          const BuieProfile profile(shape.circumsolar_ratio);
          tabulate(RadialLaw([&](double t) { return profile.radiance(t); }, profile.breaks_rad()), profile.radiance(0));
        } else if constexpr (!std::is_same_v<Shape, PointSun>) {
          tabulate(RadialLaw([&](double t) { return shape.radiance(t); }, shape.breaks_rad()), shape.radiance(0));
        }
      },
      any_shape);
}

void SunSampler::tabulate(const RadialLaw& law, double centre_radiance) {
  law_ = Law::table;
  largest_angle_rad_ = law.extent_rad();
  rms_per_axis_rad_ = std::sqrt(law.mean_sine_squared() / 2);
  mean_over_centre_ = law.light() / (square(std::sin(largest_angle_rad_)) * centre_radiance);

  // A part of width h in u can never err by more than h, whatever jumps inside it: where the law is not smooth, halving
  // ends at 1 / (512 * 512) = 4e-6. Elsewhere it ends much sooner.
  constexpr double tolerance = 2e-6;
  constexpr int most_parts = 512;
  std::vector<double> nodes;
  for (int cell = 0; cell < cells; ++cell) {
    const auto u_at = [&](int parts, double part) { return (cell + part / parts) / cells; };
    for (int parts = 1;; parts *= 2) {
      nodes.clear();
      for (int part = 0; part <= parts; ++part) nodes.push_back(law.sine_squared(u_at(parts, part)));
      double worst = 0;
      for (int part = 0; part < parts; ++part) {
        for (const double share : {0.25, 0.5, 0.75}) {
          const double s = nodes[part] + share * (nodes[part + 1] - nodes[part]);
          worst = std::max(worst, std::abs(law.below(s) - u_at(parts, part + share)));
        }
      }
      if (worst > tolerance && parts < most_parts) continue;
      cells_.push_back({static_cast<double>(parts), static_cast<std::ptrdiff_t>(nodes_.size())});
      nodes_.insert(nodes_.end(), nodes.begin(), nodes.end() - 1);
      break;
    }
  }
  nodes_.push_back(square(std::sin(largest_angle_rad_)));
  // Each root is found by itself, so neighbours may disagree in their last digits. The table must never fall.
  for (std::size_t i = 1; i < nodes_.size(); ++i) nodes_[i] = std::max(nodes_[i], nodes_[i - 1]);
}

}  // namespace catoptra
