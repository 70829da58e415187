// Each key of [sun] arrives where it belongs: the air among them, which only bends the light of a low sun.
#include <catch2/catch.hpp>
#include <cmath>
#include <fmt/format.h>

#include "scene/describe.h"
#include "small_scene.h"

namespace catoptra {
namespace {

Scene with_sun(const std::string& keys, const std::string& altitude_m = "800") {
  const std::string site = "[site]\nlatitude_deg = 31.2\nlongitude_deg = -7.9\naltitude_m = " + altitude_m + "\n";
  auto outcome =
      read_scene_text(varied("[sun]\nazimuth_deg = 180\nelevation_deg = 60\n", site + "[sun]\n" + keys), "s.toml");
  REQUIRE(outcome.scene);
  return std::move(*outcome.scene);
}
double elevation_deg(const Scene& scene) {
  return std::asin(scene.sun.toward.z) / units::degree_rad;
}

TEST_CASE("pressure and temperature bend a low sun's light as the handbook says", "[scene][sun]") {
  const std::string at = "at = 2026-03-20T08:30:00+01:00\n";
  const double bare = elevation_deg(with_sun(at));
  REQUIRE(bare > 5);
  REQUIRE(bare < 25);
  const auto bent_deg = [&](const std::string& air) { return elevation_deg(with_sun(at + air)) - bare; };
  const double standard = bent_deg("pressure_hPa = 1010\ntemperature_degC = 10\n");
  // Minutes of arc, h the true elevation in degrees: 1.02 / tan(h + 10.3 / (h + 5.11)) at 1010 hPa and 283 K.
  // J. Meeus, Astronomical Algorithms, 2nd ed. 1998, chapter 16 (from memory). A formula for the eye, so a tenth.
  CHECK(standard == Approx(1.02 / 60 / std::tan((bare + 10.3 / (bare + 5.11)) * units::degree_rad)).epsilon(0.1));
  // It grows as the air's density: the pressure over the absolute temperature.
  for (const auto& [pressure, temperature] : {std::pair{700.0, 10.0}, {1010.0, 40.0}, {900.0, -20.0}}) {
    const double bent = bent_deg(fmt::format("pressure_hPa = {}\ntemperature_degC = {}\n", pressure, temperature));
    CAPTURE(pressure, temperature);
    CHECK(bent / standard == Approx(pressure / 1010 * 283.15 / (273.15 + temperature)).epsilon(0.02));
  }
  // The temperature is 10 degrees unless it is said, and without a pressure there is no air.
  CHECK(bent_deg("pressure_hPa = 1010\n") == standard);
  CHECK(bent_deg("pressure_hPa = 0\n") == 0);
}

TEST_CASE("the clock's offset, the second's parts and the DNI arrive", "[scene][sun]") {
  const Scene scene = with_sun("at = 2026-06-21T09:00:00-03:30\ndni_W_m2 = 870\n");
  CHECK(scene.sun.dni_W_m2 == 870);
  CHECK(scene.sun.utc_offset_minutes == -210);
  const Scene same = with_sun("at = 2026-06-21T12:30:00Z\n");
  CHECK(length(scene.sun.toward - same.sun.toward) < 1e-12);
  CHECK(length(scene.sun.toward - with_sun("at = 2026-06-21T09:00:00-02:30\n").sun.toward) > 0.1);
  // Half a second is 2.1 arc seconds of the earth's turn, of which the sun takes up some.
  const double half = length(with_sun("at = 2026-06-21T12:30:00.5Z\n").sun.toward - same.sun.toward);
  CHECK(half > 2e-5);
  CHECK(half < 4e-5);
  // From higher up the sun stands elsewhere by its parallax alone: 8.8 arc seconds times 1e-3 of the earth's radius.
  CHECK(length(with_sun("at = 2026-06-21T12:30:00Z\n", "7200").sun.toward - same.sun.toward) > 1e-9);
}

TEST_CASE("check's words for what comes in more than one: copies, sides, axes", "[scene][describe]") {
  const auto outcome = read_scene_text(R"toml(schema = 1
[site]
name = "Plateau test field (invented)"
latitude_deg = 31.25
longitude_deg = -7.5
altitude_m = 800
[sun]
azimuth_deg = 180
elevation_deg = 60
[finish.silver]
kind = "mirror"
reflectance = 0.94
slope_error_mrad = [2, 1]
[finish.black]
kind = "absorber"
absorptance = 0.95
[[primary]]
name = "dish"
shape = { kind = "paraboloid", focal_length_m = 5 }
aperture = { kind = "annulus", outer_diameter_m = 6, inner_diameter_m = 0.5 }
finish = "silver"
mount = { kind = "two_axis", bias_mrad = 0.3, jitter_mrad = 0.7 }
array = { kind = "grid", count = [3, 2], spacing_m = [40, 50] }
[[primary]]
name = "slab"
shape = { kind = "plane" }
aperture = { kind = "rectangle", width_m = 3, length_m = 2 }
finish = "silver"
mount = { kind = "fixed", position_m = [0, 300, 0], axis = [0, 0, -1] }
[[secondary]]
name = "pilot"
shape = { kind = "plane" }
aperture = { kind = "circle", diameter_m = 1 }
finish = "silver"
mount = { kind = "steered", home_m = [0, 300, 20], travel_m = [1, 2, 3], tilt_deg = [10, 20] }
[[receiver]]
name = "plate"
shape = { kind = "plane" }
aperture = { kind = "rectangle", width_m = 0.2, length_m = 0.1 }
finish = "black"
mount = { kind = "carried", by = "dish", position_m = [0, 0, 5], axis = [0, 0, -1] }
flux = { bins = [40, 10] }
heat = { emittance = 0.2, temperature_K = 650, surroundings_K = 285, convection_W_m2K = 9 }
[[receiver]]
name = "funnel"
shape = { kind = "cone", bottom_radius_m = 0.1, top_radius_m = 0.2, height_m = 0.3 }
finish = "black"
mount = { kind = "fixed", position_m = [0, 300, 40] }
)toml",
                                       "s.toml");
  std::string faults;
  for (const auto& problem : outcome.problems)
    if (problem.severity == Severity::error) faults += problem.text();
  INFO(faults);
  CHECK(faults.empty());
  REQUIRE(outcome.scene);
  std::string text = describe(*outcome.scene);
  for (auto at = text.find('\n'); at != std::string::npos; at = text.find('\n', at)) text.replace(at, 1, " ");
  for (auto at = text.find("  "); at != std::string::npos; at = text.find("  ")) text.replace(at, 2, " ");
  const double dish_m2 = pi * (9 - 0.0625);
  for (const std::string& words : std::vector<std::string>{
           "latitude 31.2500, longitude -7.5000 degrees, altitude 800 m", "circle of 6 m with a hole of 0.5 m",
           fmt::format("aperture area {:.4g} m2 each, {:.5g} m2 in all", dish_m2, 6 * dish_m2),
           "slope error 2 x 1 mrad", "0.3 mrad steady, 0.7 mrad rms", "6 copies between [-40.000, -25.000, 0.000] m",
           "and [40.000, 25.000, 0.000] m", "rectangle of 3 m (x) by 2 m (y)", "within 1, 2, 3 m of home",
           "10.0 x 20.0 degrees", "flux map of 40 x 10 bins", "emittance 0.2 at 650 K, surroundings 285 K",
           "convection 9 W/m2 K", "area 0.02 m2 each, 0.12 m2 in all", "diameter 0.2 m below, 0.4 m above",
           // The slab shows the sun its back: its aperture is there, but nothing falls on its front.
           fmt::format("primaries: {:.5g} m2 of aperture, {:.5g} m2 across the sun (cosine {:.4f})", 6 * dish_m2 + 6,
                       6 * dish_m2, dish_m2 / (dish_m2 + 1)),
           fmt::format("incident power {:.5g} kW", 6 * dish_m2)}) {
    INFO(words);
    CHECK(text.find(words) != std::string::npos);
  }
  // All of the funnel's outside and six plates.
  const double receivers_m2 = 6 * 0.02 + pi * 0.3 * std::hypot(0.1, 0.3);
  INFO(text);
  CHECK(text.find(fmt::format("/ {:.4g} m2 of receiver", receivers_m2)) != std::string::npos);
}

TEST_CASE("a shade of less than half a mirror is no fault, one of more is", "[scene][messages]") {
  const auto shaded_by = [](double diameter_m) {
    return complaints(varied("[[receiver]]", fmt::format(R"([[secondary]]
name = "lid"
shape = {{ kind = "plane" }}
aperture = {{ kind = "circle", diameter_m = {} }}
finish = "silver"
mount = {{ kind = "fixed", position_m = [0, 0, 6], axis = [0, 0, -1] }}
[[receiver]])",
                                                         diameter_m)));
  };
  // The sun stands 30 degrees off the axis: the lid's shade on the rim's plane is as large as the lid, and lies within
  // the bowl of 20 m while its edge, 6 tan 30 = 3.5 m off, does. 60 % of the area belong to a lid of 15.5 m.
  CHECK(shaded_by(12).find("keeps the sun from") == std::string::npos);
  CHECK(shaded_by(16.5).find("keeps the sun from") != std::string::npos);
}

TEST_CASE("shade is looked for on each copy of a mirror, not on the first alone", "[scene][messages]") {
  // Flat squares of 2 m whose middles stand at x = -15, -5, 5 and 15 m, under a sun straight above; and a lid above
  // them, which covers some of them wholly.
  const auto shaded_by = [](double x_m, double width_m) {
    return complaints(fmt::format(R"(schema = 1
[sun]
azimuth_deg = 180
elevation_deg = 90
[finish.silver]
kind = "mirror"
reflectance = 0.94
[finish.black]
kind = "absorber"
absorptance = 0.95
[[primary]]
name = "flats"
shape = {{ kind = "plane" }}
aperture = {{ kind = "rectangle", width_m = 2, length_m = 2 }}
finish = "silver"
mount = {{ kind = "heliostat", position_m = [0, 0, 1], aim_m = [0, 0, 60] }}
array = {{ kind = "grid", count = [4, 1], spacing_m = [10, 10] }}
[[secondary]]
name = "lid"
shape = {{ kind = "plane" }}
aperture = {{ kind = "rectangle", width_m = {}, length_m = 4 }}
finish = "silver"
mount = {{ kind = "fixed", position_m = [{}, 0, 20], axis = [0, 0, -1] }}
[[receiver]]
name = "can"
shape = {{ kind = "cylinder", radius_m = 0.5, length_m = 2 }}
finish = "black"
mount = {{ kind = "fixed", position_m = [0, 0, 60] }}
)",
                                  width_m, x_m));
  };
  // Over all but the first: three quarters. Over the first alone: a quarter, which is no fault.
  CHECK(shaded_by(5, 24).find("secondary 'lid' keeps the sun from 75 % of primary 'flats'") != std::string::npos);
  CHECK(shaded_by(-15, 4).find("keeps the sun from") == std::string::npos);
  CHECK(shaded_by(0, 34).find("keeps the sun from 100 %") != std::string::npos);
}

}  // namespace
}  // namespace catoptra
