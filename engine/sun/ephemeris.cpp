#include "sun/ephemeris.h"

#include <array>
#include <chrono>
#include <cmath>
#include <erfa.h>
#include <erfam.h>
#include <limits>
#include <stdexcept>
#include <string>

#include "numeric/lanes.h"

namespace catoptra {
namespace {

void require(bool holds, const std::string& what) {
  if (!holds) throw std::invalid_argument(what);
}

struct Julian {
  double day, fraction;
};

struct EarthState {
  Vec position_au, velocity_au_day;
};

/// What is slow to compute and slow to change, at a midnight of TT.
struct Midnight {
  double day = std::numeric_limits<double>::quiet_NaN();
  EarthState from_barycentre{}, from_sun{};
  double pole_x = 0, pole_y = 0, cio_s = 0;  // celestial intermediate pole and origin
};

EarthState state(const double pv[2][3]) {
  return {{pv[0][0], pv[0][1], pv[0][2]}, {pv[1][0], pv[1][1], pv[1][2]}};
}

/// Each midnight is a function of its day alone, so keeping the last even and the last odd one changes no answer.
const Midnight& midnight(double day) {
  thread_local std::array<Midnight, 2> kept;
  Midnight& out = kept[static_cast<std::size_t>(std::fmod(day - 0.5, 2))];
  if (out.day != day) {
    double sun_to_earth[2][3], barycentre_to_earth[2][3];
    eraEpv00(day, 0, sun_to_earth, barycentre_to_earth);
    out.from_sun = state(sun_to_earth);
    out.from_barycentre = state(barycentre_to_earth);
    eraXys06a(day, 0, &out.pole_x, &out.pole_y, &out.cio_s);
    out.day = day;
  }
  return out;
}

/// Cubic Hermite over a day. Its remainder, n^4 / 384 of the orbit with n = 2 pi / 365.25 a day, is 2e-10 rad.
EarthState between(const EarthState& a, const EarthState& b, double t) {
  const double h00 = (1 + 2 * t) * (1 - t) * (1 - t), h10 = t * (1 - t) * (1 - t);
  const double h01 = t * t * (3 - 2 * t), h11 = t * t * (t - 1);
  const double d00 = 6 * t * (t - 1), d10 = (1 - t) * (1 - 3 * t), d11 = t * (3 * t - 2);
  return {h00 * a.position_au + h10 * a.velocity_au_day + h01 * b.position_au + h11 * b.velocity_au_day,
          d00 * a.position_au + d10 * a.velocity_au_day + (-d00) * b.position_au + d11 * b.velocity_au_day};
}

double between(double a, double b, double t) {
  return a + t * (b - a);
}

Julian terrestrial_time(const UtcInstant& when) {
  Julian tai{}, tt{};
  eraUtctai(when.day, when.fraction, &tai.day, &tai.fraction);
  eraTaitt(tai.day, tai.fraction, &tt.day, &tt.fraction);
  return tt;
}

Julian universal_time(const UtcInstant& when, double ut1_minus_utc_s) {
  Julian ut1{};
  eraUtcut1(when.day, when.fraction, ut1_minus_utc_s, &ut1.day, &ut1.fraction);
  return ut1;
}

/// Barycentric vectors of the Earth and the sun around one moment; days are counted from `first`'s midnight.
struct SolarSystem {
  const Midnight &first, &second;
  EarthState earth(double t) const { return between(first.from_barycentre, second.from_barycentre, t); }
  EarthState earth_from_sun(double t) const { return between(first.from_sun, second.from_sun, t); }
  Vec sun_au(double t) const { return earth(t).position_au - earth_from_sun(t).position_au; }
};

}  // namespace

UtcInstant utc_instant(int year, int month, int day, int hour, int minute, double second, int utc_offset_minutes) {
  using namespace std::chrono;
  const year_month_day date{std::chrono::year(year), std::chrono::month(static_cast<unsigned>(month)),
                            std::chrono::day(static_cast<unsigned>(day))};
  require(year >= 1949 && year <= 2051, "the year must lie between 1950 and 2050");
  require(month >= 1 && month <= 12, "the month must lie between 1 and 12");
  require(day >= 1 && day <= 31 && date.ok(), "the month has no day " + std::to_string(day));
  require(hour >= 0 && hour <= 23, "the hour must lie between 0 and 23");
  require(minute >= 0 && minute <= 59, "the minute must lie between 0 and 59");
  require(second >= 0 && second < 61, "the second must lie between 0 and 60");
  require(std::abs(utc_offset_minutes) < 24 * 60, "the offset from UTC must be less than a day");

  const auto whole_minutes = sys_days(date) + hours(hour) + minutes(minute - utc_offset_minutes);
  const auto utc_day = floor<days>(whole_minutes);
  const year_month_day utc_date(utc_day);
  const int utc_year = static_cast<int>(utc_date.year());
  require(utc_year >= 1950 && utc_year <= 2050, "the year must lie between 1950 and 2050");
  const auto of_day = static_cast<int>((whole_minutes - utc_day).count());

  UtcInstant out;
  const int status = eraDtf2d("UTC", utc_year, static_cast<int>(static_cast<unsigned>(utc_date.month())),
                              static_cast<int>(static_cast<unsigned>(utc_date.day())), of_day / 60, of_day % 60, second,
                              &out.day, &out.fraction);
  // Status 1: leap seconds of that year not known (too early, or too far ahead): as documented. 2 and 3: the minute
  // is over. Minutes of the 1960s that end some milliseconds early are let through.
  require(status >= 0, "not a time of day");
  require(!(second >= 60 && status >= 2), "second 60 exists only where a leap second was inserted");
  return out;
}

SunPosition sun_position(double latitude_rad, double longitude_rad, double altitude_m, const UtcInstant& when,
                         const Air& air, double ut1_minus_utc_s) {
  require(std::abs(latitude_rad) <= pi / 2, "the latitude must lie between -90 and 90 degrees");
  require(std::abs(longitude_rad) <= 2 * pi, "the longitude must lie between -360 and 360 degrees");
  require(altitude_m >= -1000 && altitude_m <= 20000, "the altitude must lie between -1000 and 20000 m");
  require(air.pressure_Pa >= 0 && air.pressure_Pa <= 120e3, "the air pressure must lie between 0 and 120000 Pa");
  require(air.temperature_K >= 150 && air.temperature_K <= 350, "the air temperature must lie between 150 and 350 K");
  require(air.relative_humidity >= 0 && air.relative_humidity <= 1, "the relative humidity must lie between 0 and 1");
  require(std::abs(ut1_minus_utc_s) <= 60, "UT1 - UTC must lie between -60 and 60 s");

  const Julian tt = terrestrial_time(when), ut1 = universal_time(when, ut1_minus_utc_s);
  const double first_day = std::floor(tt.day + tt.fraction - 0.5) + 0.5;
  const double t = (tt.day - first_day) + tt.fraction;
  const Midnight first = midnight(first_day), second = midnight(first_day + 1);
  const SolarSystem at{first, second};

  double refraction_a = 0, refraction_b = 0;  // of tan z and tan^3 z
  constexpr double wavelength_um = 0.55;      // near the middle of sunlight's energy
  eraRefco(1e-2 * air.pressure_Pa, air.temperature_K - 273.15, air.relative_humidity, wavelength_um, &refraction_a,
           &refraction_b);

  const EarthState earth = at.earth(t);
  const Vec sun_to_earth = at.earth_from_sun(t).position_au;
  double earth_pv[2][3] = {{earth.position_au.x, earth.position_au.y, earth.position_au.z},
                           {earth.velocity_au_day.x, earth.velocity_au_day.y, earth.velocity_au_day.z}};
  double from_sun[3] = {sun_to_earth.x, sun_to_earth.y, sun_to_earth.z};
  eraASTROM place;
  eraApco(tt.day, tt.fraction, earth_pv, from_sun, between(first.pole_x, second.pole_x, t),
          between(first.pole_y, second.pole_y, t), between(first.cio_s, second.cio_s, t),
          eraEra00(ut1.day, ut1.fraction), longitude_rad, latitude_rad, altitude_m, 0, 0, eraSp00(tt.day, tt.fraction),
          refraction_a, refraction_b, &place);

  // Light that arrives now left the sun's centre one light time ago: seen from the place's barycentric position.
  const Vec here_au{place.eb[0], place.eb[1], place.eb[2]};
  const double light_time_d = length(at.sun_au(t) - here_au) * ERFA_AULT / ERFA_DAYSEC;
  const Vec to_sun_au = at.sun_au(t - light_time_d) - here_au;
  const double distance_au = length(to_sun_au);
  const Vec natural = unit(to_sun_au);

  double natural_direction[3] = {natural.x, natural.y, natural.z}, proper[3], intermediate[3];
  eraAb(natural_direction, place.v, place.em, place.bm1, proper);
  eraRxp(place.bpn, proper, intermediate);
  double right_ascension = 0, declination = 0;
  eraC2s(intermediate, &right_ascension, &declination);
  double azimuth = 0, zenith = 0, hour_angle = 0, observed_declination = 0, observed_right_ascension = 0;
  eraAtioq(right_ascension, declination, &place, &azimuth, &zenith, &hour_angle, &observed_declination,
           &observed_right_ascension);

  const double elevation = pi / 2 - zenith;
  return {azimuth,
          elevation,
          {std::sin(azimuth) * std::sin(zenith), std::cos(azimuth) * std::sin(zenith), std::cos(zenith)},
          distance_au};
}

}  // namespace catoptra
