#include "sun/day.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <stdexcept>

#include "numeric/field.h"
#include "numeric/lanes.h"

using namespace catoptra;
using Catch::Matchers::Contains;

namespace {

constexpr double degree = units::degree_rad;

struct Row {
  double latitude_deg, longitude_deg, altitude_m;
  int year, month, day, utc_offset_minutes;
  double sunrise_s, noon_s, sunset_s;  // -1: none in this day
  GroundPlace place() const { return {latitude_deg * degree, longitude_deg * degree, altitude_m}; }
  CivilDay civil_day() const { return {year, month, day, utc_offset_minutes}; }
};

const Row astropy_rows[] = {
#include "astropy_events.inc"
};

void check_event(const std::optional<double>& found_s, double expected_s, double margin_s) {
  CHECK(found_s.has_value() == (expected_s >= 0));
  if (found_s && expected_s >= 0) CHECK(*found_s == Approx(expected_s).margin(margin_s));
}

}  // namespace

TEST_CASE("sunrise, noon and sunset: astropy, 40 days, polar ones, leap days and the date line among them", "[sun]") {
  for (const Row& row : astropy_rows) {
    INFO(row.year << '-' << row.month << '-' << row.day << " at " << row.latitude_deg << ", " << row.longitude_deg);
    const SunEvents events = sun_events(row.place(), row.civil_day());
    // Positions agree within 1 arcsec, which the sun's slope turns into time: 15 arcsec/s at the meridian, and times
    // the cosine of latitude and more near the poles at the horizon. The table is rounded to 0.01 s.
    check_event(events.noon_s, row.noon_s, 0.1 / std::cos(row.latitude_deg * degree));
    const double slope_rad_s = row.sunrise_s < 0 && row.sunset_s < 0 ? 1 : [&] {
      const double t = row.sunrise_s >= 0 ? row.sunrise_s : row.sunset_s;
      const auto height = [&](double s) {
        return sun_position(row.latitude_deg * degree, row.longitude_deg * degree, row.altitude_m,
                            instant(row.civil_day(), s))
            .elevation_rad;
      };
      return std::fabs(height(t + 1) - height(t)) / 1;
    }();
    const double margin_s = 0.02 + degree / 3600 / slope_rad_s;
    check_event(events.sunrise_s, row.sunrise_s, margin_s);
    check_event(events.sunset_s, row.sunset_s, margin_s);
  }
}

TEST_CASE("polar day and night are told apart", "[sun]") {
  const GroundPlace north{78.2 * degree, 15.6 * degree, 10}, south{-77.85 * degree, 166.7 * degree, 10};
  CHECK(sun_events(north, {2026, 6, 21, 120}).is_polar_day());
  CHECK(sun_events(north, {2026, 12, 21, 60}).is_polar_night());
  CHECK(sun_events(south, {2026, 6, 21, 720}).is_polar_night());
  CHECK(sun_events(south, {2026, 12, 21, 780}).is_polar_day());
  const auto ordinary = sun_events({0.5, -0.1, 0}, {2026, 6, 21, 0});
  CHECK_FALSE(ordinary.is_polar_day());
  CHECK_FALSE(ordinary.is_polar_night());
  // At the pole itself the sun circles at the height of its declination, 23.43 degrees at the solstice (obliquity).
  const auto pole = sun_events({pi / 2, 0, 0}, {2026, 6, 21, 0});
  CHECK(pole.is_polar_day());
  CHECK(pole.highest_rad / degree == Approx(23.436).margin(0.005));
  CHECK(pole.lowest_rad / degree == Approx(23.436).margin(0.005));
}

TEST_CASE("a day shorter than the steps that look for it is not missed", "[sun]") {
  // The highest elevation of the day falls with latitude by a degree a degree; just south of where it meets the
  // convention's -50', the sun is up for a few minutes.
  const CivilDay day{2026, 12, 21, 60};
  const double longitude = 15 * degree;
  double low = 60 * degree, high = 75 * degree;
  while (high - low > 1e-9) {
    const double middle = (low + high) / 2;
    (sun_events({middle, longitude, 0}, day).highest_rad > rise_and_set_rad ? low : high) = middle;
  }
  const auto events = sun_events({low - 1e-6, longitude, 0}, day);
  REQUIRE((events.sunrise_s && events.sunset_s));
  CHECK(*events.sunset_s > *events.sunrise_s);
  CHECK(*events.sunset_s - *events.sunrise_s < 600);
}

TEST_CASE("a moment of a civil day is the same as its words", "[sun]") {
  const auto same = [](const UtcInstant& a, const UtcInstant& b) {
    return std::abs((a.day - b.day) + (a.fraction - b.fraction)) < 1e-12;
  };
  const CivilDay day{2026, 6, 21, 60};
  CHECK(same(instant(day, 45300), utc_instant(2026, 6, 21, 12, 35, 0, 60)));
  CHECK(same(instant(day, 86399.5), utc_instant(2026, 6, 21, 23, 59, 59.5, 60)));
  CHECK(posix_seconds({1970, 1, 1, 0}, 0) == 0);
  CHECK(posix_seconds({2000, 3, 1, 0}, 0) == 951868800);  // `date -u -d 2000-03-01 +%s`
  CHECK(posix_seconds(day, 3600) == posix_seconds({2026, 6, 21, 0}, 0));
  CHECK_THROWS_WITH(instant({2023, 2, 29, 0}, 0), Contains("no day 29"));
  CHECK_THROWS_WITH(posix_seconds({2051, 1, 1, 0}, 0), Contains("between 1950 and 2050"));
}

TEST_CASE("mean solar time is 4 minutes a degree ahead", "[sun]") {
  CHECK(mean_solar_offset_minutes(0) == 0);
  CHECK(mean_solar_offset_minutes(15 * degree) == 60);
  CHECK(mean_solar_offset_minutes(-7.9 * degree) == -32);
  CHECK(mean_solar_offset_minutes(180 * degree) == 720);
}

TEST_CASE("the day's lowest sun stands as far below the horizon as the spherical triangle says", "[sun]") {
  // At lower culmination the elevation is declination + |latitude| - 90 degrees. At the June solstice the declination
  // is 23.44 degrees (Astronomical Almanac, from memory); the sun's centre without refraction, so to some hundredths.
  const SunEvents events = sun_events({40 * degree, 0, 0}, {2026, 6, 21, 0});
  CHECK(events.lowest_rad / degree == Approx(23.44 + 40 - 90).margin(0.05));
  CHECK(events.highest_rad / degree == Approx(90 - 40 + 23.44).margin(0.05));
}
