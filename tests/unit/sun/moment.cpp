#include "sun/moment.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <set>

#include "numeric/field.h"

using namespace catoptra;
using Catch::Matchers::Contains;

namespace {

constexpr double degree = units::degree_rad;
const Station in_the_hills{{31.2 * degree, -7.9 * degree, 800}, {}, 850};
const Station far_north{{78 * degree, -7.9 * degree, 800}, {}, 850};

TEST_CASE("moments of a day: suns above the horizon, at their clock's times", "[sun]") {
  const auto moments = moments_of_day(in_the_hills, {2026, 6, 21, 60}, 600, 0);
  // Sunrise and sunset of that day at that place (astropy_events.inc, 800 m): 6:28:04 and 20:38:46, with the centre at
  // -50'; it passes 0 some 4.3 minutes inside of these.
  const double midnight_s = posix_seconds({2026, 6, 21, 60}, 0);
  CHECK(moments.front().posix_s == midnight_s + 6 * 3600 + 40 * 60);
  CHECK(moments.back().posix_s == midnight_s + 20 * 3600 + 30 * 60);
  CHECK(moments.size() == 84);
  double hours = 0;
  for (const Moment& moment : moments) {
    CHECK(moment.to_sun.z > 0);
    CHECK(moment.dni_W_m2 == 850);
    CHECK(moment.utc_offset_minutes == 60);
    CHECK(std::isnan(moment.air_temperature_K));
    CHECK(std::isnan(moment.wind_speed_m_s));
    hours += moment.weight_h;
  }
  CHECK(hours == Approx(14).epsilon(1e-12));                                     // 84 times ten minutes
  CHECK(moments_of_day(in_the_hills, {2026, 6, 21, 60}, 43200, 0).size() == 1);  // 0:00 and 12:00
}

TEST_CASE("moments of a day: what can't be is said in words", "[sun]") {
  CHECK_THROWS_WITH(moments_of_day(in_the_hills, {2026, 2, 29, 0}, 600, 0), Contains("no day 29"));
  CHECK_THROWS_WITH(moments_of_day(in_the_hills, {2026, 6, 21, 60}, 86400, 0),
                    Contains("no sun asked for stands higher"));
  CHECK_THROWS_WITH(moments_of_day(in_the_hills, {2026, 6, 21, 60}, 0, 0), Contains("more than 0"));
  CHECK_THROWS_WITH(moments_of_day(far_north, {2026, 12, 21, 0}, 600, 0), Contains("polar night: on 2026-12-21"));
  CHECK(moments_of_day(far_north, {2026, 6, 21, 0}, 3600, 0).size() == 24);  // polar day
}

TEST_CASE("moments of twelve days: the 21st of each month, but for polar nights", "[sun]") {
  const auto moments = moments_of_twelve_days(in_the_hills, 2026, 60, 6 * 3600, 0);
  const auto june = moments_of_day(in_the_hills, {2026, 6, 21, 60}, 6 * 3600, 0);
  const auto from = std::ranges::find(moments, june.front().posix_s, &Moment::posix_s);
  REQUIRE(from != moments.end());
  CHECK(from->to_sun == june.front().to_sun);
  CHECK(std::ranges::is_sorted(moments, {}, &Moment::posix_s));
  CHECK(moments.front().posix_s > posix_seconds({2026, 1, 21, 60}, 0));
  CHECK(moments.back().posix_s > posix_seconds({2026, 12, 21, 60}, 0));
  // At 78 degrees north the sun stays below the horizon while its declination is under -12 degrees or so: on the 21st
  // of January, November and December, not of February (-10.8; common almanacs, from memory).
  std::set<double> days;
  for (const Moment& moment : moments_of_twelve_days(far_north, 2026, 0, 3600, 0))
    days.insert(std::floor(moment.posix_s / 86400));
  CHECK(days.size() == 9);
  CHECK_THROWS_WITH(moments_of_twelve_days(far_north, 2026, 0, 3600, 80 * degree),
                    Contains("no sun asked for stands higher than 80") || Contains("polar night"));
}

}  // namespace
