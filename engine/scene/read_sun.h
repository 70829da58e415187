#pragma once
#include <optional>

#include "scene/model.h"
#include "scene/table_reader.h"

namespace catoptra {

/// The keys of [sun] that are plain numbers.
struct SunKeys {
  double dni_W_m2 = 1000;  // common practice, no source: a clear day at noon
  double azimuth_rad = 0, elevation_rad = 0;
  double pressure_Pa = 0, temperature_degC = 10;

  static constexpr Unit hectopascal{"_hPa", "hPa", 100};
  static constexpr Unit celsius{"_degC", "degrees Celsius", 1};  // an offset, not a factor: added where it is used
  static constexpr std::array<Field<SunKeys>, 5> fields{{
      {"dni_W_m2", &SunKeys::dni_W_m2, units::watt_per_square_metre, Range{0, 1e4, true, false}, Need::optional,
       "direct normal irradiance"},
      {"azimuth_deg", &SunKeys::azimuth_rad, units::degree, range::within(-360, 360), Need::optional,
       "of the sun's centre, from north by east; with elevation_deg, instead of at"},
      {"elevation_deg", &SunKeys::elevation_rad, units::degree, range::within(-90, 90), Need::optional,
       "of the sun's centre above the horizon: more than 0"},
      {"pressure_hPa", &SunKeys::pressure_Pa, hectopascal, range::within(0, 1100), Need::optional,
       "of the air at the site, with at: turns refraction on"},
      {"temperature_degC", &SunKeys::temperature_degC, celsius, range::within(-60, 60), Need::optional,
       "of the air at the site, with pressure_hPa"},
  }};
};

std::optional<Site> read_site(const toml::node& node, const Reading& reading);
/// None where anything was wrong. `site` may be none: then `at` is reported, unless `site_given` says that a site was
/// there but wrong.
std::optional<Sun> read_sun(const toml::node& node, const std::optional<Site>& site, bool site_given,
                            const Reading& reading);

}  // namespace catoptra
