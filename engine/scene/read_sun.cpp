#include "scene/read_sun.h"

#include <cmath>
#include <fmt/format.h>
#include <sstream>

#include "scene/read_kind.h"
#include "scene/words.h"
#include "sun/bearing.h"
#include "sun/ephemeris.h"

namespace catoptra {
namespace {

constexpr const char* time_example = "a date and time with its offset from UTC, as 2026-06-21T12:30:00+01:00";

std::optional<AnySunshape> read_shape(TableReader& sun) {
  const std::string example = kind_example(kind_words<AnySunshape>());
  const toml::node* node = sun.find("shape");
  if (node == nullptr) return AnySunshape{};
  const auto* table = table_in(*node, "shape", sun.what(), example, sun.problems());
  if (table == nullptr) return std::nullopt;
  TableReader reader(*table, place_of(node->source()), "shape of the sun", sun.reading());
  return read_kind<AnySunshape>(reader);
}

/// The direction to the sun at a moment; `sun` keeps the moment's words, its offset and the air.
std::optional<Vec> direction_at(const toml::node& node, TableReader& reader, const Site& site, const SunKeys& keys,
                                Sun& sun) {
  const Place place = place_of(node.source());
  const auto* moment = node.as_date_time();
  if (moment == nullptr || !moment->get().offset) {
    std::vector<std::string> notes{
        "found: " + (moment == nullptr ? found_text(node) : "a time without an offset from UTC"),
        fmt::format("allowed: {}", time_example)};
    if (node.is_string()) notes.emplace_back("a time stands without quotes");
    reader.problems().error(place, fmt::format("wrong type for 'at' in {}", reader.what()), std::move(notes));
    return std::nullopt;
  }
  const toml::date_time& t = moment->get();
  std::ostringstream text;
  text << t;
  sun.at = text.str();
  sun.utc_offset_minutes = t.offset->minutes;
  try {
    const double second = t.time.second + 1e-9 * t.time.nanosecond;
    const UtcInstant when =
        utc_instant(t.date.year, t.date.month, t.date.day, t.time.hour, t.time.minute, second, t.offset->minutes);
    sun.air.pressure_Pa = keys.pressure_Pa;
    sun.air.temperature_K = 273.15 + keys.temperature_degC;
    return sun_position(site.latitude_rad, site.longitude_rad, site.altitude_m, when, sun.air).toward;
  } catch (const std::invalid_argument& fault) {
    reader.problems().error(place, fmt::format("can't place the sun: {}", fault.what()),
                            {fmt::format("allowed: {}", time_example)});
    return std::nullopt;
  }
}

/// Either `at` or both angles; anything else is reported.
std::optional<Vec> read_direction(TableReader& reader, const SunKeys& keys, const std::optional<Site>& site,
                                  bool site_given, Sun& sun) {
  const toml::node* at = reader.find("at");
  const bool azimuth = reader.table().contains("azimuth_deg"), elevation = reader.table().contains("elevation_deg");
  Problems& problems = reader.problems();
  const char* both = "allowed: 'at' alone, or 'azimuth_deg' and 'elevation_deg'";
  if (at != nullptr && (azimuth || elevation)) {
    problems.error(place_of(at->source()), fmt::format("a time and angles in {}", reader.what()), {both});
    return std::nullopt;
  }
  if (at == nullptr) {
    for (const auto* air : {"pressure_hPa", "temperature_degC"}) {
      if (reader.table().contains(air)) {
        problems.error(reader.place_of_value(air), fmt::format("'{}' in {} without 'at'", air, reader.what()),
                       {"refraction is computed for a time only: given angles are taken as they are"});
      }
    }
    if (azimuth && elevation) return direction_of(keys.azimuth_rad, keys.elevation_rad);
    const char* missing = azimuth ? "no 'elevation_deg'" : elevation ? "no 'azimuth_deg'" : "no direction";
    problems.error(reader.place(), fmt::format("{} in {}", missing, reader.what()), {both});
    return std::nullopt;
  }
  if (!site) {
    if (!site_given) {
      problems.error(place_of(at->source()), fmt::format("'at' in {} needs a site", reader.what()),
                     {"allowed: a table [site] with latitude_deg and longitude_deg, or angles instead of 'at'"});
    }
    return std::nullopt;
  }
  return direction_at(*at, reader, *site, keys, sun);
}

/// Nominal irradiance of the sun above the air, IAU 2015 resolution B3; at perihelion 3.4 % more. Below a hundredth of
/// a clear sky nobody concentrates sunlight: 0.95 was kW.
void check_dni(TableReader& reader, double dni_W_m2) {
  constexpr double above_air_W_m2 = 1361, least_W_m2 = 10;
  const Place place = reader.place_of_value("dni_W_m2");
  if (dni_W_m2 < least_W_m2)
    reader.problems().warning(
        place, fmt::format("a DNI of {} W/m2 is almost no sun", number_text(dni_W_m2)),
        {fmt::format("{} kW/m2 is dni_W_m2 = {}", number_text(dni_W_m2), number_text(1000 * dni_W_m2))});
  if (dni_W_m2 > 1.034 * above_air_W_m2)
    reader.problems().warning(place, fmt::format("a DNI of {} W/m2 is more than the sun sends", number_text(dni_W_m2)),
                              {"above the air it is 1361 W/m2 on average; a clear sky lets some 900 to 1000 pass"});
}

}  // namespace

std::optional<Site> read_site(const toml::node& node, const Reading& reading) {
  Problems& problems = reading.problems;
  const auto* table = table_in(node, "site", "the scene", "a table [site]", problems);
  if (table == nullptr) return std::nullopt;
  const std::size_t errors_before = problems.error_count();
  TableReader reader(*table, place_of(node.source()), "[site]", reading);
  Site site;
  ReadFields()(site, reader);
  reader.finish();
  return problems.error_count() == errors_before ? std::optional(site) : std::nullopt;
}

std::optional<Sun> read_sun(const toml::node& node, const std::optional<Site>& site, bool site_given,
                            const Reading& reading) {
  Problems& problems = reading.problems;
  const auto* table = table_in(node, "sun", "the scene", "a table [sun]", problems);
  if (table == nullptr) return std::nullopt;
  const std::size_t errors_before = problems.error_count();
  TableReader reader(*table, place_of(node.source()), "[sun]", reading);
  SunKeys keys;
  ReadFields()(keys, reader);
  Sun sun;
  sun.dni_W_m2 = keys.dni_W_m2;
  check_dni(reader, keys.dni_W_m2);
  if (auto shape = read_shape(reader)) sun.shape = std::move(*shape);
  reader.find("at");
  const bool keys_sound = problems.error_count() == errors_before;
  if (keys_sound) {
    if (const auto toward = read_direction(reader, keys, site, site_given, sun)) sun.toward = *toward;
  }
  reader.finish();
  if (problems.error_count() != errors_before) return std::nullopt;
  if (sun.toward.z <= 0) {
    const std::string when = sun.at.empty() ? std::string() : " at " + sun.at;
    problems.error(
        reader.place_of_value(sun.at.empty() ? "elevation_deg" : "at"),
        fmt::format("the sun stands below the horizon{}", when),
        {fmt::format("found: elevation {:.2f} degrees", elevation_deg(sun.toward)), "allowed: an elevation above 0"});
    return std::nullopt;
  }
  return sun;
}

}  // namespace catoptra
