#pragma once
// Sunshapes written out a second time, from their papers, and integrated by another rule (tanh-sinh over the angle)
// than the engine's (Gauss in another variable): what the engine's sampler is compared with.
#include <algorithm>
#include <boost/math/quadrature/tanh_sinh.hpp>
#include <cmath>
#include <functional>
#include <vector>

namespace reference {

struct Law {
  std::function<double(double)> radiance;  // over the angle in rad
  std::vector<double> breaks_rad;

  /// Integral of `what` x L cos t sin t dt from 0 to `angle_rad`.
  double integral(double angle_rad, const std::function<double(double)>& what) const {
    static boost::math::quadrature::tanh_sinh<double> integrator;
    double sum = 0, from = 0;
    for (const double edge : breaks_rad) {
      const double to = std::min(edge, angle_rad);
      if (to <= from) break;
      // The edge is approached from below: a jump there belongs to the next piece.
      const auto integrand = [&](double t) {
        const double inside = std::clamp(t, from * (1 + 1e-15), edge * (1 - 1e-15));
        return what(t) * radiance(inside) * std::cos(t) * std::sin(t);
      };
      sum += integrator.integrate(integrand, from, to);
      from = to;
    }
    return sum;
  }
  double integral(double angle_rad) const {
    return integral(angle_rad, [](double) { return 1.0; });
  }
  double extent_rad() const { return breaks_rad.back(); }
  double below(double angle_rad) const { return integral(angle_rad) / integral(extent_rad()); }
  double mean(const std::function<double(double)>& what) const {
    return integral(extent_rad(), what) / integral(extent_rad());
  }
};

inline Law even_disc(double half_angle_rad) {
  return {[](double) { return 1.0; }, {half_angle_rad}};
}

/// Cox, Allen's Astrophysical Quantities, 2000, at 550 nm.
inline Law limb_darkened(double half_angle_rad) {
  return {[=](double t) {
            const double mu2 = 1 - std::pow(std::sin(t) / std::sin(half_angle_rad), 2);
            return 0.30 + 0.93 * std::sqrt(std::max(mu2, 0.0)) - 0.23 * mu2;
          },
          {half_angle_rad}};
}

inline Law gaussian(double sigma_rad) {
  return {[=](double t) { return std::exp(-std::pow(std::sin(t) / sigma_rad, 2) / 2); },
          {2 * sigma_rad, 4 * sigma_rad, 8.5 * sigma_rad}};
}

/// Buie, Monger and Dey, Solar Energy 74 (2003) 113, for their own chi.
inline Law buie(double chi) {
  const double kappa = 0.9 * std::log(13.5 * chi) * std::pow(chi, -0.3);
  const double gamma = 2.2 * std::log(0.52 * chi) * std::pow(chi, 0.43) - 0.1;
  return {[=](double t) {
            const double t_mrad = 1e3 * t;
            return t_mrad < 4.65 ? std::cos(0.326 * t_mrad) / std::cos(0.308 * t_mrad)
                                 : std::exp(kappa) * std::pow(t_mrad, gamma);
          },
          {4.65e-3, 43.6e-3}};
}

}  // namespace reference
