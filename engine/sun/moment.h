#pragma once
// Moments to trace: the sun, the clock and the weather. Lists of them, for a day or for one day of each month.
#include <limits>
#include <vector>

#include "sun/day.h"

namespace catoptra {

struct Moment {
  Vec to_sun{0, 0, 1};                                        // unit
  double posix_s = std::numeric_limits<double>::quiet_NaN();  // since 1970-01-01 00:00 UTC; NaN: no clock
  int utc_offset_minutes = 0;
  double dni_W_m2 = 1000;
  double air_temperature_K = std::numeric_limits<double>::quiet_NaN();  // of the shade; NaN: not known
  double wind_speed_m_s = std::numeric_limits<double>::quiet_NaN();     // NaN: not known
  double weight_h = 0;  // the time that the moment stands for in sums over its list
};

/// What all moments of a list have in common.
struct Station {
  GroundPlace place;
  Air air;  // that refracts
  double dni_W_m2 = 1000;
};

/// Multiples of `every_s` from the day's midnight at which the sun's centre, refracted where the station's air is,
/// stands higher than `least_elevation_rad`; each stands for `every_s`. Throws std::invalid_argument, in words, for no
/// such moment (polar night among them), and dates that no calendar has.
std::vector<Moment> moments_of_day(const Station& station, const CivilDay& day, double every_s,
                                   double least_elevation_rad);

/// Those of the 21st of each month, by the clock `utc_offset_minutes` ahead of UTC: equinoxes and solstices among them.
/// Throws where moments_of_day() throws for every one of these days.
std::vector<Moment> moments_of_twelve_days(const Station& station, int year, int utc_offset_minutes, double every_s,
                                           double least_elevation_rad);

}  // namespace catoptra
