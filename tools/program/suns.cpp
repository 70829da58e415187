#include "suns.h"

#include <CLI/CLI.hpp>
#include <fmt/format.h>
#include <stdexcept>

#include "arguments.h"
#include "files/names.h"
#include "scene/moment.h"
#include "scene/placement.h"

namespace catoptra {

void add_sun_options(CLI::App& command, TypedSuns& typed) {
  add_text_option(command, "--day", typed.day, "DATE", "All sun positions of this day, as 2026-06-21");
  add_text_option(command, "--twelve-days", typed.twelve_days, "YEAR", "All sun positions of the 21st of each month");
  add_text_option(command, "--every", typed.every, "TIME", "Time step: 10min, 1h, 90s [10min, with --twelve-days 1h]");
  add_text_option(command, "--utc-offset", typed.utc_offset, "+HH:MM", "How far the day's clock is ahead of UTC");
}

std::vector<Moment> suns_of(const TypedSuns& typed, const Scene& scene) {
  if (typed.day.empty() && typed.twelve_days.empty()) {
    if (!typed.every.empty() || !typed.utc_offset.empty())
      throw UsageError(
          "--every and --utc-offset need --day or --twelve-days\n  allowed: --day 2026-06-21 --every 10min");
    return {own_moment(scene)};
  }
  if (!typed.day.empty() && !typed.twelve_days.empty())
    throw UsageError("--day and --twelve-days exclude each other\n  allowed: one of them");
  const bool is_day = typed.twelve_days.empty();
  const char* option = is_day ? "--day" : "--twelve-days";
  CivilDay day = is_day ? day_of("--day", typed.day)
                        : CivilDay{static_cast<int>(integer_of(option, typed.twelve_days, 1950, 2050)), 1, 1, 0};
  if (!scene.site)
    throw UsageError(fmt::format(
        "{} needs to know where '{}' stands\n  allowed: a table [site] with latitude_deg and longitude_deg in it",
        option, scene.path));
  if (!typed.utc_offset.empty()) {
    day.utc_offset_minutes = utc_offset_of("--utc-offset", typed.utc_offset);
  } else {
    day.utc_offset_minutes =
        scene.sun.utc_offset_minutes.value_or(mean_solar_offset_minutes(scene.site->longitude_rad));
  }
  const double every_s = typed.every.empty() ? (is_day ? 600 : 3600) : duration_s_of("--every", typed.every, 1, 86400);
  try {
    const Station station = station_of(scene);
    return is_day ? moments_of_day(station, day, every_s, 0)
                  : moments_of_twelve_days(station, day.year, day.utc_offset_minutes, every_s, 0);
  } catch (const std::invalid_argument& fault) {
    throw UsageError(fmt::format("{} is '{}': {}", option, is_day ? typed.day : typed.twelve_days, fault.what()));
  }
}

void require_places(const Scene& scene, const std::vector<Moment>& suns) {
  for (const Moment& sun : suns) {
    try {
      place(scene, sun.to_sun);
    } catch (const PlacementError& fault) {
      throw UsageError(
          fmt::format("{}\n  at {}, azimuth {:.2f}, elevation {:.2f} degrees\n"
                      "  allowed: --day, --every and --utc-offset with suns that it can serve",
                      fault.what(), time_text(scene, sun, true), azimuth_deg(sun.to_sun), elevation_deg(sun.to_sun)));
    }
  }
}

}  // namespace catoptra
