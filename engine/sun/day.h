#pragma once
// A civil day at a place: its moments, sunrise, solar noon and sunset.
#include <optional>

#include "sun/ephemeris.h"

namespace catoptra {

struct GroundPlace {
  double latitude_rad = 0, longitude_rad = 0, altitude_m = 0;  // geodetic; longitude east of Greenwich
};

/// A Gregorian date on a clock that is `utc_offset_minutes` ahead of UTC.
struct CivilDay {
  int year = 2000, month = 1, day = 1;
  int utc_offset_minutes = 0;
};

/// `seconds` (0 <= seconds < 86400) after the day's midnight. Throws std::invalid_argument for dates that no calendar
/// has, and outside 1950 to 2050.
UtcInstant instant(const CivilDay& day, double seconds);

/// Seconds since 1970-01-01 00:00 UTC, leap seconds not counted, as POSIX counts them. Throws as `instant`.
double posix_seconds(const CivilDay& day, double seconds);

/// The whole minutes by which local mean solar time is ahead of UTC: 4 a degree of longitude.
int mean_solar_offset_minutes(double longitude_rad);

/// By convention the sun rises and sets when its centre stands 50' below the geometric horizon: 34' of refraction and
/// 16' of radius (The Astronomical Almanac, section A; Reda and Andreas, NREL/TP-560-34302, 2008, section A.2).
inline constexpr double rise_and_set_rad = -50.0 / 60 * 3.14159265358979323846 / 180;

/// What happens within one civil day, seconds after its midnight. Near the poles, and on clocks far from the sun's
/// time, an event may be missing, or the sun may set before it rises.
struct SunEvents {
  std::optional<double> sunrise_s, sunset_s;  // the first of its kind in the day
  std::optional<double> noon_s;               // upper transit of the meridian
  double highest_rad = 0, lowest_rad = 0;     // elevation of the centre, geometric

  /// Above `rise_and_set_rad` all day, or below it.
  bool is_polar_day() const { return !sunrise_s && !sunset_s && lowest_rad > rise_and_set_rad; }
  bool is_polar_night() const { return !sunrise_s && !sunset_s && highest_rad < rise_and_set_rad; }
};

/// Within 0.1 s of where sun_position() without air says; UT1 = UTC. Throws as `instant` and sun_position().
SunEvents sun_events(const GroundPlace& place, const CivilDay& day);

}  // namespace catoptra
