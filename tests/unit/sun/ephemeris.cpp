#include "sun/ephemeris.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <erfa.h>
#include <random>
#include <stdexcept>

#include "numeric/field.h"
#include "numeric/lanes.h"

using namespace catoptra;
using Catch::Matchers::Contains;

namespace {

constexpr double degree = units::degree_rad;
constexpr double arcsecond = degree / 3600;

double angle_between_rad(const Vec& a, const Vec& b) {
  return std::atan2(length(cross(a, b)), dot(a, b));
}

Vec direction(double azimuth_rad, double elevation_rad) {
  return {std::sin(azimuth_rad) * std::cos(elevation_rad), std::cos(azimuth_rad) * std::cos(elevation_rad),
          std::sin(elevation_rad)};
}

struct Row {
  double latitude_deg, longitude_deg, altitude_m;
  int year, month, day, hour, minute;
  double second, azimuth_deg, elevation_deg, distance_au;
  UtcInstant when() const { return utc_instant(year, month, day, hour, minute, second); }
};

const Row astropy_rows[] = {
#include "astropy_positions.inc"
};

/// The low-precision formulae of the Astronomical Almanac (section C), stated there to 0.01 degree for 1950 to 2050;
/// constants from memory. They know nothing of UT1, of parallax (0.0024 degrees) or of the ellipsoid.
Vec almanac_direction(const Row& row) {
  const UtcInstant when = row.when();
  const double days = (when.day - 2451545.0) + when.fraction;
  const double mean_longitude = 280.460 + 0.9856474 * days, anomaly = (357.528 + 0.9856003 * days) * degree;
  const double longitude = (mean_longitude + 1.915 * std::sin(anomaly) + 0.020 * std::sin(2 * anomaly)) * degree;
  const double obliquity = (23.439 - 0.0000004 * days) * degree;
  const double right_ascension = std::atan2(std::cos(obliquity) * std::sin(longitude), std::cos(longitude));
  const double declination = std::asin(std::sin(obliquity) * std::sin(longitude));
  // Mean sidereal time at Greenwich: 280.46062 + 360.98564737 d degrees.
  const double hour_angle = (280.46062 + 360.98564737 * days + row.longitude_deg) * degree - right_ascension;
  const double latitude = row.latitude_deg * degree;
  return {
      -std::cos(declination) * std::sin(hour_angle),
      std::sin(declination) * std::cos(latitude) - std::cos(declination) * std::sin(latitude) * std::cos(hour_angle),
      std::sin(declination) * std::sin(latitude) + std::cos(declination) * std::cos(latitude) * std::cos(hour_angle)};
}

SunPosition at(const Row& row) {
  return sun_position(row.latitude_deg * degree, row.longitude_deg * degree, row.altitude_m, row.when());
}

}  // namespace

TEST_CASE("sun position: the worked example of Reda and Andreas", "[sun]") {
  // NREL/TP-560-34302 (2008), table A5.1: zenith (refracted) 50.11162 degrees, azimuth 194.34024 degrees; they take
  // UT1 = UTC, and state +-0.0003 degrees.
  const double azimuth_deg = 194.340241, zenith_deg = 50.111622, stated_deg = 0.0003;
  const double latitude = 39.742476 * degree, longitude = -105.1786 * degree;
  const UtcInstant when = utc_instant(2003, 10, 17, 12, 30, 30, -7 * 60);

  SECTION("without refraction, theirs taken off by their own formula") {
    // Their equation 42; e0 in degrees is what adds with it to the elevation they print, 90 - 50.111622.
    const double e0_deg = 39.872046;
    const double refraction_deg =
        820.0 / 1010 * 283 / (273 + 11) * 1.02 / (60 * std::tan((e0_deg + 10.3 / (e0_deg + 5.11)) * degree));
    const auto sun = sun_position(latitude, longitude, 1830.14, when);
    CHECK(sun.azimuth_rad / degree == Approx(azimuth_deg).margin(stated_deg));
    CHECK(90 - sun.elevation_rad / degree == Approx(zenith_deg + refraction_deg).margin(stated_deg));
  }
  SECTION("with refraction: the two formulae part by 0.05 minutes of arc, theirs is stated to 0.1") {
    const auto sun = sun_position(latitude, longitude, 1830.14, when, {82000, 284.15, 0});
    CHECK(sun.azimuth_rad / degree == Approx(azimuth_deg).margin(stated_deg));
    CHECK(90 - sun.elevation_rad / degree == Approx(zenith_deg).margin(0.1 / 60 + stated_deg));
  }
  SECTION("with the true UT1 the sun stands 0.363 s x 15 arcsec/s elsewhere") {
    const double ut1_minus_utc_s = -0.363;  // IERS, October 2003
    const auto with = sun_position(latitude, longitude, 1830.14, when, {}, ut1_minus_utc_s);
    const auto without = sun_position(latitude, longitude, 1830.14, when);
    const double declination_deg = -9.3;  // the arc shrinks by its cosine
    CHECK(angle_between_rad(with.toward, without.toward) / degree ==
          Approx(0.363 * 360 / 86400 * std::cos(declination_deg * degree)).epsilon(0.01));
    CHECK(with.azimuth_rad / degree == Approx(azimuth_deg).margin(0.0025));
  }
}

TEST_CASE("sun position: astropy, 208 places and times, poles and date line among them", "[sun]") {
  for (const Row& row : astropy_rows) {
    INFO(row.year << '-' << row.month << '-' << row.day << ' ' << row.hour << ':' << row.minute << " at "
                  << row.latitude_deg << ", " << row.longitude_deg);
    const auto sun = at(row);
    const Vec expected = direction(row.azimuth_deg * degree, row.elevation_deg * degree);
    // What may differ: polar motion (up to 0.6 arcsec), which astropy takes from IERS tables.
    CHECK(angle_between_rad(sun.toward, expected) < 1 * arcsecond);
    CHECK(sun.distance_au == Approx(row.distance_au).epsilon(1e-8));
    CHECK(angle_between_rad(sun.toward, direction(sun.azimuth_rad, sun.elevation_rad)) < 1e-12);
    CHECK(sun.azimuth_rad >= 0);
    CHECK(sun.azimuth_rad < 2 * pi);
  }
}

TEST_CASE("sun position: the almanac's short formulae, which share nothing with ERFA", "[sun]") {
  for (const Row& row : astropy_rows) {
    INFO(row.year << '-' << row.month << '-' << row.day << ' ' << row.hour << ':' << row.minute);
    // 0.01 degree stated for right ascension and declination, 0.0024 parallax.
    CHECK(angle_between_rad(at(row).toward, almanac_direction(row)) < 0.015 * degree);
  }
}

TEST_CASE("sun position: interpolation over the day costs under 0.02 arcsec", "[sun]") {
  // Against ERFA's own chain, which recomputes the Earth and the pole at the very moment.
  std::mt19937 random(3);
  std::uniform_real_distribution<double> uniform(0, 1);
  for (int i = 0; i < 40; ++i) {
    const double latitude = (uniform(random) - 0.5) * pi, longitude = (2 * uniform(random) - 1) * pi;
    UtcInstant when = utc_instant(1972 + i, 1 + i % 12, 1 + i % 28, i % 24, (7 * i) % 60, 3.0 * (i % 20));
    eraASTROM place;
    double equation_of_origins = 0;
    eraApco13(when.day, when.fraction, 0, longitude, latitude, 500, 0, 0, 0, 10, 0, 0.55, &place, &equation_of_origins);
    double tai1 = 0, tai2 = 0, tt1 = 0, tt2 = 0;
    eraUtctai(when.day, when.fraction, &tai1, &tai2);
    eraTaitt(tai1, tai2, &tt1, &tt2);
    double from_sun[2][3], from_barycentre[2][3], to_sun[3], light_time_d = 499.004782 / 86400;
    for (int pass = 0; pass < 2; ++pass) {
      eraEpv00(tt1, tt2 - light_time_d, from_sun, from_barycentre);
      for (int k = 0; k < 3; ++k) to_sun[k] = from_barycentre[0][k] - from_sun[0][k] - place.eb[k];
      light_time_d = eraPm(to_sun) * 499.004782 / 86400;
    }
    double r = 0, natural[3], proper[3], intermediate[3], ra = 0, dec = 0, az = 0, zd = 0, ha = 0, dob = 0, rob = 0;
    eraPn(to_sun, &r, natural);
    eraAb(natural, place.v, place.em, place.bm1, proper);
    eraRxp(place.bpn, proper, intermediate);
    eraC2s(intermediate, &ra, &dec);
    eraAtioq(ra, dec, &place, &az, &zd, &ha, &dob, &rob);
    const auto sun = sun_position(latitude, longitude, 500, when);
    CHECK(angle_between_rad(sun.toward, direction(az, pi / 2 - zd)) < 0.02 * arcsecond);
  }
}

TEST_CASE("sun position: the answer does not depend on what was asked before", "[sun]") {
  const UtcInstant when = utc_instant(2026, 6, 21, 12, 30, 0, 60);
  const auto first = sun_position(0.5, -0.1, 800, when);
  for (const int year : {1950, 2050, 2026}) sun_position(0.5, -0.1, 800, utc_instant(year, 6, 22, 0, 0, 0));
  CHECK(sun_position(0.5, -0.1, 800, when).toward == first.toward);
}

TEST_CASE("sun position: refraction lifts the sun, by the published amount", "[sun]") {
  // Allen's Astrophysical Quantities, 1973, section 55: R = 58.3 arcsec tan z - 0.067 arcsec tan^3 z for visible light
  // at 760 mmHg and 10 degrees Celsius (from memory).
  const UtcInstant when = utc_instant(2026, 6, 21, 7, 30, 0);
  const auto bare = sun_position(0.5445, -0.138, 800, when);
  const auto lifted = sun_position(0.5445, -0.138, 800, when, {101325, 283.15, 0.5});
  const double t = std::tan(pi / 2 - bare.elevation_rad);
  REQUIRE(bare.elevation_rad > 15 * degree);
  CHECK((lifted.elevation_rad - bare.elevation_rad) / arcsecond == Approx(58.3 * t - 0.067 * t * t * t).epsilon(0.01));
  CHECK(lifted.azimuth_rad == Approx(bare.azimuth_rad).margin(1e-9));
}

TEST_CASE("time: offsets carry over days, months and leap days", "[sun]") {
  const auto same = [](const UtcInstant& a, const UtcInstant& b) {
    return std::abs((a.day - b.day) + (a.fraction - b.fraction)) < 1e-12;
  };
  CHECK(same(utc_instant(2024, 3, 1, 0, 30, 0, 60), utc_instant(2024, 2, 29, 23, 30, 0)));
  CHECK(same(utc_instant(2023, 12, 31, 20, 0, 0, -5 * 60), utc_instant(2024, 1, 1, 1, 0, 0)));
  CHECK(same(utc_instant(2026, 6, 21, 12, 30, 0, 345), utc_instant(2026, 6, 21, 6, 45, 0)));
  // Julian date of 2000-01-01 12:00 is 2451545 by definition.
  const auto epoch = utc_instant(2000, 1, 1, 12, 0, 0);
  CHECK(epoch.day + epoch.fraction == 2451545.0);
  // The leap second at the end of 2016 (IERS Bulletin C 52) makes that day 86,401 s long.
  const auto leap = utc_instant(2016, 12, 31, 23, 59, 60);
  CHECK((leap.day - 2457753.5) + leap.fraction == Approx(86400.0 / 86401).epsilon(1e-12));
  CHECK(same(utc_instant(2017, 1, 1, 0, 59, 60, 60), leap));
}

TEST_CASE("time: what no calendar has is refused in words", "[sun]") {
  const auto refused = [](int y, int mo, int d, int h, int mi, double s, int offset, const std::string& words) {
    CHECK_THROWS_AS(utc_instant(y, mo, d, h, mi, s, offset), std::invalid_argument);
    CHECK_THROWS_WITH(utc_instant(y, mo, d, h, mi, s, offset), Contains(words));
  };
  refused(2023, 2, 29, 0, 0, 0, 0, "no day 29");
  refused(2100, 2, 29, 0, 0, 0, 0, "between 1950 and 2050");
  refused(1949, 12, 31, 23, 0, 0, 0, "between 1950 and 2050");
  refused(1950, 1, 1, 0, 0, 0, 60, "between 1950 and 2050");  // still 1949 in UTC
  refused(2026, 13, 1, 0, 0, 0, 0, "the month");
  refused(2026, 257, 1, 0, 0, 0, 0, "the month");
  refused(2026, 4, 31, 0, 0, 0, 0, "no day 31");
  refused(2026, 4, 0, 0, 0, 0, 0, "no day 0");
  refused(2026, 4, 1, 24, 0, 0, 0, "the hour");
  refused(2026, 4, 1, 0, 60, 0, 0, "the minute");
  refused(2026, 4, 1, 0, 0, std::nan(""), 0, "the second");
  refused(2026, 4, 1, 23, 59, 60, 0, "leap second");
  refused(2016, 12, 31, 12, 0, 60, 0, "leap second");
  refused(2026, 4, 1, 0, 0, 0, 1440, "the offset");
}

TEST_CASE("sun position: places and air out of range are refused in words", "[sun]") {
  const UtcInstant when = utc_instant(2026, 6, 21, 12, 0, 0);
  CHECK_THROWS_WITH(sun_position(1.6, 0, 0, when), Contains("latitude"));
  CHECK_THROWS_WITH(sun_position(std::nan(""), 0, 0, when), Contains("latitude"));
  CHECK_THROWS_WITH(sun_position(0, 7, 0, when), Contains("longitude"));
  CHECK_THROWS_WITH(sun_position(0, 0, 1e6, when), Contains("altitude"));
  CHECK_THROWS_WITH(sun_position(0, 0, 0, when, {-1}), Contains("pressure"));
  CHECK_THROWS_WITH(sun_position(0, 0, 0, when, {1e5, 20}), Contains("temperature"));
  CHECK_THROWS_WITH(sun_position(0, 0, 0, when, {1e5, 290, 50}), Contains("humidity"));
}

TEST_CASE("moist air bends visible light a little less than dry air", "[sun]") {
  // Water vapour has the smaller refractivity at 0.55 um (Edlen's formulas as revised by Birch and Downs, Metrologia 31
  // (1994) 315; from memory): at 30 degrees Celsius and saturation some thousandths of the refraction.
  const UtcInstant when = utc_instant(2026, 3, 20, 7, 0, 0, 0);
  const auto elevation_rad = [&](double humidity) {
    return sun_position(0.5, 0, 0, when, {101e3, 303, humidity}).elevation_rad;
  };
  const double bare = sun_position(0.5, 0, 0, when).elevation_rad;
  REQUIRE(bare > 0);
  const double dry = elevation_rad(0) - bare, moist = elevation_rad(1) - bare;
  CHECK(moist < dry);
  CHECK(moist > 0.98 * dry);
}
