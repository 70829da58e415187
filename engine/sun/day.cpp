#include "sun/day.h"

#include <algorithm>
#include <boost/math/tools/toms748_solve.hpp>
#include <chrono>
#include <cmath>
#include <cstdint>
#include <vector>

#include "numeric/lanes.h"

namespace catoptra {
namespace {

constexpr double day_s = 86400;
constexpr double step_s = 600;

/// The zero of `f` between a and b, whose values have different signs, within a millisecond.
template <class F>
double zero_between(const F& f, double a, double b, double f_a, double f_b) {
  std::uintmax_t most = 100;
  const auto close = [](double x, double y) { return std::fabs(x - y) < 1e-3; };
  const auto [low, high] = boost::math::tools::toms748_solve(f, a, b, f_a, f_b, close, most);
  return (low + high) / 2;
}

}  // namespace

UtcInstant instant(const CivilDay& day, double seconds) {
  const int minute = std::clamp(static_cast<int>(seconds / 60), 0, 24 * 60 - 1);
  return utc_instant(day.year, day.month, day.day, minute / 60, minute % 60, seconds - 60.0 * minute,
                     day.utc_offset_minutes);
}

double posix_seconds(const CivilDay& day, double seconds) {
  instant(day, 0);  // throws for what is no date
  using namespace std::chrono;
  const sys_days midnight{year(day.year) / month(static_cast<unsigned>(day.month)) /
                          std::chrono::day(static_cast<unsigned>(day.day))};
  return day_s * static_cast<double>(midnight.time_since_epoch().count()) + seconds - 60.0 * day.utc_offset_minutes;
}

int mean_solar_offset_minutes(double longitude_rad) {
  return static_cast<int>(std::lround(longitude_rad / (2 * pi) * day_s / 60));
}

SunEvents sun_events(const GroundPlace& place, const CivilDay& day) {
  const auto toward = [&](double t) {
    return sun_position(place.latitude_rad, place.longitude_rad, place.altitude_m, instant(day, t)).toward;
  };
  // Across the meridian the sun goes from east to west above the celestial pole, and back below it.
  const auto east = [&](double t) { return toward(t).x; };
  const auto elevation = [&](double t) {
    const Vec s = toward(t);
    return std::atan2(s.z, std::hypot(s.x, s.y));
  };
  const double last_s = day_s - 1e-3;
  SunEvents out;
  // Between transits the elevation rises or falls without turning back: with them as nodes no short day is missed.
  std::vector<double> nodes{0};
  double before = east(0);
  for (double t = step_s; t < day_s + step_s / 2; t += step_s) {
    const double now_s = std::min(t, last_s), now = east(now_s), then_s = nodes.back();
    if ((before > 0) != (now > 0)) {
      const double transit_s = zero_between(east, std::max(0.0, t - step_s), now_s, before, now);
      const Vec s = toward(transit_s);
      const bool upper = s.z * std::cos(place.latitude_rad) > s.y * std::sin(place.latitude_rad);
      if (upper && !out.noon_s) out.noon_s = transit_s;
      if (transit_s > then_s) nodes.push_back(transit_s);
    }
    nodes.push_back(now_s);
    before = now;
  }
  double a_s = 0, a = elevation(0);
  out.highest_rad = out.lowest_rad = a;
  const auto above = [&](double t) { return elevation(t) - rise_and_set_rad; };
  for (const double b_s : nodes) {
    const double b = elevation(b_s);
    out.highest_rad = std::max(out.highest_rad, b);
    out.lowest_rad = std::min(out.lowest_rad, b);
    if ((a > rise_and_set_rad) != (b > rise_and_set_rad)) {
      auto& event = b > a ? out.sunrise_s : out.sunset_s;
      if (!event) event = zero_between(above, a_s, b_s, a - rise_and_set_rad, b - rise_and_set_rad);
    }
    a_s = b_s;
    a = b;
  }
  return out;
}

}  // namespace catoptra
