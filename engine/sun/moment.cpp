#include "sun/moment.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <stdexcept>
#include <string>

#include "numeric/field.h"
#include "numeric/lanes.h"

namespace catoptra {
namespace {

std::string date_text(const CivilDay& day) {
  return fmt::format("{:04}-{:02}-{:02}", day.year, day.month, day.day);
}

}  // namespace

std::vector<Moment> moments_of_day(const Station& station, const CivilDay& day, double every_s,
                                   double least_elevation_rad) {
  if (!(every_s > 0)) throw std::invalid_argument("the time between two suns must be more than 0");
  const GroundPlace& place = station.place;
  std::vector<Moment> out;
  double highest_rad = -pi;
  const int steps = static_cast<int>(std::ceil(86400 / every_s - 1e-9));
  for (int i = 0; i < steps; ++i) {
    const double of_day_s = i * every_s;
    const SunPosition sun =
        sun_position(place.latitude_rad, place.longitude_rad, place.altitude_m, instant(day, of_day_s), station.air);
    highest_rad = std::max(highest_rad, sun.elevation_rad);
    if (sun.elevation_rad > least_elevation_rad && sun.toward.z > 0)
      out.push_back({.to_sun = sun.toward,
                     .posix_s = posix_seconds(day, of_day_s),
                     .utc_offset_minutes = day.utc_offset_minutes,
                     .dni_W_m2 = station.dni_W_m2,
                     .weight_h = every_s / 3600});
  }
  if (!out.empty()) return out;
  const SunEvents events = sun_events(place, day);
  const double degree = units::degree_rad;
  if (events.is_polar_night())
    throw std::invalid_argument(
        fmt::format("polar night: on {} the sun does not rise; it stands {:.2f} degrees above "
                    "the horizon at most",
                    date_text(day), events.highest_rad / degree));
  throw std::invalid_argument(fmt::format(
      "on {} no sun asked for stands higher than {:.4g} degrees; the highest of them stands at {:.2f}, the "
      "day's highest at {:.2f}",
      date_text(day), std::max(0.0, least_elevation_rad) / degree, highest_rad / degree, events.highest_rad / degree));
}

std::vector<Moment> moments_of_twelve_days(const Station& station, int year, int utc_offset_minutes, double every_s,
                                           double least_elevation_rad) {
  std::vector<Moment> out;
  std::string refusal;
  for (int month = 1; month <= 12; ++month) {
    try {
      const auto day = moments_of_day(station, {year, month, 21, utc_offset_minutes}, every_s, least_elevation_rad);
      out.insert(out.end(), day.begin(), day.end());
    } catch (const std::invalid_argument& fault) {  // polar night
      refusal = fault.what();
    }
  }
  if (out.empty()) throw std::invalid_argument(refusal);
  return out;
}

}  // namespace catoptra
