#include "sun/shapes/buie.h"

#include <boost/math/quadrature/gauss_kronrod.hpp>
#include <boost/math/tools/roots.hpp>
#include <cmath>
#include <stdexcept>

namespace catoptra {
namespace {

constexpr double disc_mrad = 4.65, aureole_mrad = 43.6;

double disc_radiance(double t_mrad) {
  return std::cos(0.326 * t_mrad) / std::cos(0.308 * t_mrad);
}

struct Aureole {
  double kappa, gamma;
  explicit Aureole(double chi)
      : kappa(0.9 * std::log(13.5 * chi) * std::pow(chi, -0.3)),
        gamma(2.2 * std::log(0.52 * chi) * std::pow(chi, 0.43) - 0.1) {}
  double radiance(double t_mrad) const { return std::exp(kappa + gamma * std::log(t_mrad)); }
};

/// Contribution to DNI, up to a factor: radiance x cos x solid angle, whose ring is 2 pi sin t dt.
template <class Radiance>
double dni(const Radiance& radiance, double from_mrad, double to_mrad) {
  const auto integrand = [&](double t_mrad) { return radiance(t_mrad) * std::sin(2e-3 * t_mrad); };
  return boost::math::quadrature::gauss_kronrod<double, 31>::integrate(integrand, from_mrad, to_mrad, 10, 1e-13);
}

double delivered_ratio(double chi, double disc_dni) {
  const Aureole aureole(chi);
  const double beyond = dni([&](double t) { return aureole.radiance(t); }, disc_mrad, aureole_mrad);
  return beyond / (beyond + disc_dni);
}

}  // namespace

BuieProfile::BuieProfile(double circumsolar_ratio) {
  if (!(circumsolar_ratio >= 0 && circumsolar_ratio < 0.8)) {
    throw std::invalid_argument("circumsolar_ratio of a buie sunshape must be at least 0 and below 0.8");
  }
  if (circumsolar_ratio < 1e-16) return;  // an aureole that no double would notice
  const double disc_dni = dni(disc_radiance, 0, disc_mrad);
  // In log chi: the ratio is below 1e-100 at chi = 1e-5 and is 0.90 at chi = 1.
  const auto excess = [&](double log_chi) {
    return std::log(delivered_ratio(std::exp(log_chi), disc_dni) / circumsolar_ratio);
  };
  std::uintmax_t steps = 100;
  const auto bracket = boost::math::tools::toms748_solve(excess, std::log(1e-5), 0.0,
                                                         boost::math::tools::eps_tolerance<double>(50), steps);
  chi_ = std::exp(0.5 * (bracket.first + bracket.second));
  const Aureole aureole(chi_);
  kappa_ = aureole.kappa;
  gamma_ = aureole.gamma;
}

double BuieProfile::radiance(double angle_rad) const {
  const double t_mrad = 1e3 * angle_rad;
  if (t_mrad <= disc_mrad) return disc_radiance(t_mrad);
  return chi_ > 0 && t_mrad <= aureole_mrad ? std::exp(kappa_ + gamma_ * std::log(t_mrad)) : 0;
}

std::vector<double> BuieProfile::breaks_rad() const {
  if (chi_ == 0) return {1e-3 * disc_mrad};
  return {1e-3 * disc_mrad, 1e-3 * aureole_mrad};
}

}  // namespace catoptra
