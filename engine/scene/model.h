#pragma once
// What a scene file means, after reading and checking: SI units and radians throughout.
#include <array>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "geometry/frame.h"
#include "geometry/outline.h"
#include "geometry/surface.h"
#include "numeric/field.h"
#include "optics/finish.h"
#include "scene/key_places.h"
#include "scene/mount.h"
#include "sun/ephemeris.h"
#include "sun/sunshape.h"

namespace catoptra {

enum class Role { primary, secondary, receiver, obstacle, cover };

struct Site {
  std::string name;
  double latitude_rad = 0, longitude_rad = 0, altitude_m = 0;  // longitude east of Greenwich

  static constexpr std::array<Field<Site>, 4> fields{{
      {"name", &Site::name, units::none, range::any, Need::optional, "what people call the place"},
      {"latitude_deg", &Site::latitude_rad, units::degree, range::within(-90, 90), Need::required,
       "geodetic latitude, north positive"},
      {"longitude_deg", &Site::longitude_rad, units::degree, range::within(-180, 180), Need::required,
       "longitude, east of Greenwich positive"},
      {"altitude_m", &Site::altitude_m, units::metre, range::within(-500, 9000), Need::optional,
       "height above the sea"},
  }};
};

struct Sun {
  double dni_W_m2 = 1000;
  AnySunshape shape;
  Vec toward{0, 0, 1};                    // unit, from the ground to the sun's centre
  std::string at;                         // the scene's own words for the time; empty where angles were given
  std::optional<int> utc_offset_minutes;  // of `at`
  Air air;                                // that refracts, with `at`
};

/// A named entry of [finish.*].
struct NamedFinish {
  std::string name;
  AnyFinish finish;
};

/// What a receiver loses as heat, and to what: the keys of its `heat`. The model is in study/heat.h.
struct HeatLoss {
  double emittance = 0;
  double temperature_K = 0;
  double surroundings_K = 300;
  double convection_W_m2K = 0;

  static constexpr std::array<Field<HeatLoss>, 4> fields{{
      {"emittance", &HeatLoss::emittance, units::none, range::within(0, 1), Need::required,
       "hemispherical, of the front at its temperature"},
      {"temperature_K", &HeatLoss::temperature_K, units::kelvin, range::within(1, 6000), Need::required,
       "of the front, one for all of it"},
      {"surroundings_K", &HeatLoss::surroundings_K, units::kelvin, range::within(1, 1000), Need::optional,
       "what it radiates to, the air that cools it, and the cold side of the heat engine"},
      {"convection_W_m2K", &HeatLoss::convection_W_m2K, units::watt_per_square_metre_kelvin, range::within(0, 1e4),
       Need::optional, "heat transfer coefficient to the air; conduction may be added to it"},
  }};
};

/// Anything that light can meet. Each frame of `array` is ground on which a mount of its own stands; a carried
/// component has no ground, but as many mounts as its carrier. Each frame of `facets` is a panel in the frame that a
/// mount holds; what it carries knows nothing of them.
struct Component {
  std::string name;
  Role role = Role::primary;
  std::string shape_kind;  // the scene's word: "sphere", "paraboloid", …
  AnySurface surface;
  AnyOutline outline = Whole{};
  int front_finish = -1, back_finish = -1;  // into Scene::finishes; -1: dark
  AnyMount mount;
  std::vector<Frame> array{Frame{}}, facets{Frame{}};
  std::size_t carrier_mounts = 0;           // of a carried component
  std::array<int, 2> flux_bins{64, 64};     // receivers
  std::optional<HeatLoss> heat;             // receivers whose heat balance is asked for
  std::shared_ptr<const KeyPlaces> places;  // none where it was not read from a text

  std::size_t mounts() const { return carrier_mounts > 0 ? carrier_mounts : array.size(); }
  std::size_t copies() const { return mounts() * facets.size(); }  // facets counted one by one
  /// Where a key stands in the scene's text: "mount.aim_m".
  Place place_of(std::string_view key) const { return places ? places->at(key) : Place{}; }

  static constexpr std::array<Field<Component>, 1> flux_fields{{
      {"bins", &Component::flux_bins, units::none, range::within(1, 4096), Need::optional,
       "bins of the flux map: around and along a tube, cone or ball; along x and y of what is flat or curved"},
  }};
};

struct SourceFile {
  std::string path, text;
};

struct Scene {
  std::string title;
  std::optional<Site> site;
  Sun sun;
  std::vector<NamedFinish> finishes;
  std::vector<Component> components;
  std::string path;                   // as the user gave it
  std::string text;                   // the exact bytes read
  std::vector<SourceFile> pulled_in;  // tables and positions that the scene named
};

/// One copy of a component, or one facet of it, where it stands for a given sun.
struct Placed {
  std::int32_t component = 0;
  Frame frame;
};

/// Everything where it stands for one position of the sun; tracking bias is built in, jitter is left to the tracer.
struct Layout {
  Vec to_sun{0, 0, 1};
  std::vector<Placed> placed;  // grouped by component, in the scene's order; facets of one copy beside each other
};

/// Where all components stand for a sun in the direction `to_sun` (unit). Throws std::runtime_error with the
/// component's name where a mount can't do it (sun below the horizon of a tracker, aim point on the mirror).
Layout place(const Scene& scene, const Vec& to_sun);

}  // namespace catoptra
