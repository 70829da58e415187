#pragma once
// Where the sun stands, for a place and a time.
#include "numeric/vec.h"

namespace catoptra {

/// A moment of civil time, as the two-part quasi Julian date of UTC that ERFA works with.
struct UtcInstant {
  double day = 0, fraction = 0;
};

/// `utc_offset_minutes`: how far the clock is ahead of UTC. Gregorian calendar, 1950 to 2050 (in UTC). Second 60 is
/// allowed where a leap second was inserted. Leap seconds that are not announced yet are taken as none: 1 s moves the
/// sun by 0.004 degrees. Throws std::invalid_argument naming what is wrong.
UtcInstant utc_instant(int year, int month, int day, int hour, int minute, double second, int utc_offset_minutes = 0);

/// The air that refracts. Without pressure there is no refraction: the geometric direction is what a clear-sky model
/// or a published table without refraction means.
struct Air {
  double pressure_Pa = 0;
  double temperature_K = 283.15;
  double relative_humidity = 0;  // 0..1
};

struct SunPosition {
  double azimuth_rad;    // from north, clockwise, 0 <= azimuth < 2 pi
  double elevation_rad;  // of the sun's centre above the horizon; refracted where Air has pressure
  Vec toward;            // unit, from the ground to the sun's centre: x east, y north, z up
  double distance_au;    // from the place to the sun's centre
};

/// Apparent place of the sun: light time, aberration, IAU 2006/2000A precession and nutation, parallax of the place on
/// the WGS84 ellipsoid (ERFA's Earth ephemeris and observer routines). Accurate to an arcsecond but for UT1.
///
/// `longitude_rad` is east of Greenwich. `ut1_minus_utc_s`: IERS Bulletin A; it stays within 0.9 s since 1972, and
/// leaving it at 0 errs by at most 0.004 degrees. Polar motion (under 0.0002 degrees) is left out.
/// Refraction holds to some arcseconds above 10 degrees; nearer to the horizon the air itself is not known that well.
/// Throws std::invalid_argument: latitude beyond the poles, numbers that are not finite, air out of range.
/// The answer depends on the arguments alone, whatever was asked before; each thread keeps the last two days' slow
/// parts, so times in order are answered in microseconds.
SunPosition sun_position(double latitude_rad, double longitude_rad, double altitude_m, const UtcInstant& when,
                         const Air& air = {}, double ut1_minus_utc_s = 0);

}  // namespace catoptra
