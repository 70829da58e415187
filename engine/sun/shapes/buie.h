#pragma once
#include <array>
#include <limits>
#include <string_view>
#include <vector>

#include "numeric/field.h"

namespace catoptra {

/// Disc and aureole of a real sky by one number. D. Buie, A. G. Monger and C. J. Dey, Sunshape distributions for
/// terrestrial solar simulations, Solar Energy 74 (2003) 113.
struct BuieSun {
  static constexpr std::string_view kind = "buie";
  double circumsolar_ratio = std::numeric_limits<double>::quiet_NaN();

  static constexpr std::array<Field<BuieSun>, 1> fields{{
      {"circumsolar_ratio", &BuieSun::circumsolar_ratio, units::none, Range{0, 0.8, false, true}, Need::required,
       "DNI from beyond the disc (4.65 to 43.6 mrad) as a share of all DNI: what the sunshape delivers"},
  }};
};

/// The radiance that delivers a circumsolar ratio, relative to the centre; t in mrad:
///   disc     cos(0.326 t) / cos(0.308 t)            0 <= t <= 4.65
///   aureole  e^kappa t^gamma                        4.65 < t <= 43.6
///   kappa = 0.9 ln(13.5 chi) chi^-0.3,  gamma = 2.2 ln(0.52 chi) chi^0.43 - 0.1
/// The fit's own parameter chi is not the ratio that these equations deliver (chi = 0.05 gives 0.0431, 0.2 gives
/// 0.187): chi is solved for. The ratio grows with chi throughout, so the answer is unique.
class BuieProfile {
 public:
  /// 0 <= circumsolar_ratio < 0.8; throws std::invalid_argument outside.
  explicit BuieProfile(double circumsolar_ratio);

  double chi() const { return chi_; }  // 0: no aureole
  double radiance(double angle_rad) const;
  std::vector<double> breaks_rad() const;

 private:
  double chi_ = 0, kappa_ = 0, gamma_ = 0;
};

}  // namespace catoptra
