#include "sun/radial_law.h"

#include <algorithm>
#include <boost/math/quadrature/gauss.hpp>
#include <boost/math/tools/roots.hpp>
#include <cmath>
#include <stdexcept>
#include <utility>

#include "numeric/expects.h"
#include "numeric/lanes.h"

namespace catoptra {
namespace {

using Gauss = boost::math::quadrature::gauss<double, 15>;

double square(double x) {
  return x * x;
}

}  // namespace

RadialLaw::RadialLaw(std::function<double(double)> radiance, const std::vector<double>& breaks_rad)
    : radiance_(std::move(radiance)), panels_a_piece_(std::max<std::size_t>(2, 64 / breaks_rad.size())) {
  double from_rad = 0;
  for (const double to_rad : breaks_rad) {
    pieces_.push_back({from_rad, to_rad});
    from_rad = to_rad;
  }
  const std::size_t panels = panels_a_piece_ * pieces_.size();
  sum_.push_back(0);
  double moment = 0;
  for (std::size_t panel = 0; panel < panels; ++panel) {
    const double begin = panel_start(panel), end = begin + pi / static_cast<double>(panels_a_piece_);
    sum_.push_back(sum_.back() + light_within(panel, end));
    const auto weighted = [&](double v) { return square(std::sin(angle_rad(panel, v))) * density(panel, v); };
    moment += Gauss::integrate(weighted, begin, end);
  }
  if (!(light() > 0)) throw std::invalid_argument("a sunshape must hold light");
  mean_ = moment / light();
}

double RadialLaw::panel_start(std::size_t panel) const {
  return pi * static_cast<double>(panel % panels_a_piece_) / static_cast<double>(panels_a_piece_);
}

double RadialLaw::angle_rad(std::size_t panel, double v) const {
  const Piece piece = pieces_[panel / panels_a_piece_];
  return piece.from_rad + (piece.to_rad - piece.from_rad) * square(std::sin(0.5 * v));
}

double RadialLaw::density(std::size_t panel, double v) const {
  const Piece piece = pieces_[panel / panels_a_piece_];
  const double t = angle_rad(panel, v), dt_dv = 0.5 * (piece.to_rad - piece.from_rad) * std::sin(v);
  return radiance_(t) * std::sin(2 * t) * dt_dv;
}

double RadialLaw::light_within(std::size_t panel, double v) const {
  return Gauss::integrate([&](double w) { return density(panel, w); }, panel_start(panel), v);
}

double RadialLaw::below(double sine_squared) const {
  const double t = std::asin(std::sqrt(std::clamp(sine_squared, 0.0, 1.0)));
  if (t >= extent_rad()) return 1;
  const auto above = std::ranges::upper_bound(pieces_, t, {}, &Piece::to_rad);
  const auto index = static_cast<std::size_t>(above - pieces_.begin());
  const double share = std::clamp((t - above->from_rad) / (above->to_rad - above->from_rad), 0.0, 1.0);
  const double v = 2 * std::asin(std::sqrt(share));
  const auto within =
      std::min(panels_a_piece_ - 1, static_cast<std::size_t>(v / pi * static_cast<double>(panels_a_piece_)));
  const std::size_t panel = index * panels_a_piece_ + within;
  return std::min(1.0, (sum_[panel] + light_within(panel, v)) / light());
}

double RadialLaw::sine_squared(double u) const {
  CATOPTRA_EXPECTS(u >= 0 && u <= 1);
  const double wanted = u * light();
  if (!(wanted < light())) return square(std::sin(extent_rad()));
  const auto above = std::ranges::upper_bound(sum_, wanted);
  const auto panel = static_cast<std::size_t>(above - sum_.begin()) - 1;
  const double begin = panel_start(panel), end = begin + pi / static_cast<double>(panels_a_piece_);
  const auto excess = [&](double v) { return sum_[panel] + light_within(panel, v) - wanted; };
  if (excess(begin) >= 0) return square(std::sin(angle_rad(panel, begin)));
  if (excess(end) <= 0) return square(std::sin(angle_rad(panel, end)));
  std::uintmax_t steps = 60;
  const auto bracket =
      boost::math::tools::toms748_solve(excess, begin, end, boost::math::tools::eps_tolerance<double>(44), steps);
  return square(std::sin(angle_rad(panel, 0.5 * (bracket.first + bracket.second))));
}

}  // namespace catoptra
