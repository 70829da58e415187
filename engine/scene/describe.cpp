#include "scene/describe.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <span>
#include <sstream>
#include <type_traits>
#include <vector>

#include "geometry/words.h"
#include "scene/facts.h"
#include "scene/place_words.h"
#include "scene/roles.h"
#include "scene/words.h"
#include "sun/bearing.h"

namespace catoptra {
namespace {

constexpr std::size_t columns = 80;

/// Wraps between words, further lines set in.
std::string wrapped(const std::string& text, std::size_t indent) {
  std::istringstream words(text);
  std::string out, line(indent, ' '), word;
  bool fresh = true;
  while (words >> word) {
    if (!fresh && line.size() + 1 + word.size() > columns) {
      out += line;
      out += '\n';
      line.assign(indent + 2, ' ');
      fresh = true;
    }
    if (!fresh) line += ' ';
    line += word;
    fresh = false;
  }
  out += line;
  out += '\n';
  return out;
}

std::string outline_words(const AnyOutline& outline) {
  struct Words {
    std::string operator()(const Ring& r) const {
      const std::string hole =
          r.inner_radius_m > 0 ? fmt::format(" with a hole of {:.4g} m", 2 * r.inner_radius_m) : "";
      return fmt::format("circle of {:.4g} m{}", 2 * r.outer_radius_m, hole);
    }
    std::string operator()(const Sector& s) const {
      return fmt::format("{} of a circle of {:.4g} m", degrees_words(s.span_rad()), 2 * s.ring().outer_radius_m);
    }
    std::string operator()(const Rectangle& r) const {
      return fmt::format("rectangle of {:.4g} m (x) by {:.4g} m (y)", 2 * r.half_width_m, 2 * r.half_length_m);
    }
    std::string operator()(const Polygon& p) const {
      return fmt::format("polygon of {} corners", p.corners_m().size());
    }
    std::string operator()(const Whole&) const { return ""; }
  };
  return std::visit(Words{}, outline);
}

std::string shape_words(const Component& component) {
  std::string out = component.shape_kind;
  const auto of = [&]<Surface S>(const S& s) {
    const std::string more = s.words(component.outline);
    if (more != "flat" || component.shape_kind != "plane") out += ": " + more;
    if constexpr (AboveOutline<S>) {
      if (const std::string outline = outline_words(component.outline); !outline.empty()) out += "; " + outline;
    }
  };
  std::visit(of, component.surface);
  return out;
}

std::string curve_words(const AngleCurve& curve) {
  if (curve.is_constant()) return fmt::format("{:.4g}", curve.rows.front().y);
  return fmt::format("{:.4g} to {:.4g} over the incidence angle", curve.rows.front().y, curve.rows.back().y);
}

std::string error_words(const PerAxis& rad) {
  if (rad.x == rad.y) return fmt::format("{:.4g} mrad", 1e3 * rad.x);
  return fmt::format("{:.4g} x {:.4g} mrad", 1e3 * rad.x, 1e3 * rad.y);
}

std::string finish_words(const Scene& scene, int index) {
  if (index < 0) return "dark: stops all light";
  const NamedFinish& named = scene.finishes[static_cast<std::size_t>(index)];
  struct Words {
    std::string operator()(const Mirror& m) const {
      return fmt::format("mirror, reflectance {}, slope error {}, specularity error {}", curve_words(m.reflectance),
                         error_words(m.slope_error_rad), error_words(m.specularity_error_rad));
    }
    std::string operator()(const Absorber& a) const {
      return fmt::format("absorber, absorptance {}, the rest is reflected {}", curve_words(a.absorptance),
                         a.rest.index == 0 ? "diffusely" : "as by a mirror");
    }
    std::string operator()(const Dark&) const { return "dark: stops all light"; }
    std::string operator()(const Glass& g) const { return words(g.pane()); }
    std::string operator()(const SellmeierGlass& g) const { return words(g.pane()); }
    static std::string words(const Pane& pane) {
      const auto passed = [&](double angle_deg) {
        return shares_of(pane, std::cos(angle_deg * units::degree_rad)).transmitted;
      };
      return fmt::format(
          "glass, refractive index {:.4f}, {:.4g} mm thick, absorption {:.4g} per m; transmits {:.3f} at normal "
          "incidence, "
          "{:.3f} at 60 degrees",
          pane.index, 1e3 * pane.thickness_m, pane.absorption_per_m, passed(0), passed(60));
    }
  };
  return fmt::format("'{}': {}", named.name, std::visit(Words{}, named.finish));
}

std::string tracking_words(double bias_rad, double jitter_rad) {
  return fmt::format("; tracking error {:.4g} mrad steady, {:.4g} mrad rms", 1e3 * bias_rad, 1e3 * jitter_rad);
}
std::string tracking_words(const PerAxis& bias, const PerAxis& jitter) {
  return fmt::format("; tracking error {} steady, {} rms", error_words(bias), error_words(jitter));
}

template <class Mount>
std::string aim_words(const Mount& mount) {
  return mount.aim.empty() ? point_text(mount.aim_m) : fmt::format("'{}'", mount.aim);
}

std::string mount_words(const Component& component) {
  struct Words {
    std::string operator()(const FixedMount&) const { return "fixed"; }
    std::string operator()(const SteeredMount& m) const {
      const double degree = units::degree_rad;
      const std::string tilt = m.tilt_rad.x == m.tilt_rad.y ? degrees_words(m.tilt_rad.x)
                                                            : fmt::format("{:.1f} x {:.1f} degrees",
                                                                          m.tilt_rad.x / degree, m.tilt_rad.y / degree);
      return fmt::format("steered: within {:.4g}, {:.4g}, {:.4g} m of home and {} of its axis there", m.travel_m.x,
                         m.travel_m.y, m.travel_m.z, tilt) +
             tracking_words(m.bias_rad, m.jitter_rad);
    }
    std::string operator()(const SingleAxisMount& m) const {
      return "follows the sun about one axis, " + heading(m.rotation_axis) + tracking_words(m.bias_rad, m.jitter_rad);
    }
    std::string operator()(const TwoAxisMount& m) const {
      return "follows the sun about two axes" + tracking_words(m.bias_rad, m.jitter_rad);
    }
    std::string operator()(const HeliostatMount& m) const {
      return "heliostat, aims at " + aim_words(m) + tracking_words(m.bias_rad, m.jitter_rad);
    }
    std::string operator()(const CarriedMount& m) const { return fmt::format("carried by '{}'", m.by); }
    std::string operator()(const BisectorMount& m) const {
      return fmt::format("reflects the sun's image formed by '{}' onto {}", m.primary, aim_words(m));
    }
    std::string operator()(const TurnAboutCentreMount& m) const {
      return fmt::format("turns with the sun about the centre of curvature of '{}'", m.primary);
    }
    std::string operator()(const TableMount& m) const {
      return fmt::format("follows the {1} poses in '{0}'", m.file.path, m.rows.size());
    }
    std::string operator()(const SharedDriveMount& m) const {
      return fmt::format("row on a shared drive, axis along {}, aims at the line through {}{}",
                         heading(m.rotation_axis), aim_words(m), tracking_words(m.bias_rad, m.jitter_rad));
    }
  };
  return std::visit(Words{}, component.mount);
}

std::string sunshape_words(const AnySunshape& shape) {
  std::string out;
  std::visit(
      [&]<class T>(const T& kind) {
        out = T::kind;
        for (const auto& field : T::fields) {
          std::visit(
              [&](auto member) {
                if constexpr (std::is_same_v<decltype(member), double T::*>) {
                  out += fmt::format(", {} = {:.4g}", field.key, kind.*member / field.unit.to_si);
                }
              },
              field.member);
        }
      },
      shape);
  return out;
}

std::string sun_words(const Scene& scene) {
  const Sun& sun = scene.sun;
  std::string out = "sun\n";
  if (scene.site) {
    const Site& site = *scene.site;
    out += wrapped(fmt::format("site: {}latitude {:.4f}, longitude {:.4f} degrees, altitude {:.0f} m",
                               site.name.empty() ? "" : site.name + ", ", site.latitude_rad / units::degree_rad,
                               site.longitude_rad / units::degree_rad, site.altitude_m),
                   2);
  }
  if (!sun.at.empty()) out += wrapped("time: " + sun.at, 2);
  out += wrapped(
      fmt::format("azimuth {:.2f}, elevation {:.2f} degrees", azimuth_deg(sun.toward), elevation_deg(sun.toward)), 2);
  return out + wrapped(fmt::format("DNI {:.4g} W/m2; sunshape {}", sun.dni_W_m2, sunshape_words(sun.shape)), 2);
}

std::string heat_words(const HeatLoss& heat) {
  return fmt::format("heat: emittance {:.4g} at {:.5g} K, surroundings {:.5g} K, convection {:.4g} W/m2 K",
                     heat.emittance, heat.temperature_K, heat.surroundings_K, heat.convection_W_m2K);
}

std::string component_words(const Scene& scene, const Component& component, const ComponentFacts& facts) {
  const auto copies = facts.copies;
  std::string out = fmt::format("{} '{}'\n", role_word(component.role), component.name);
  out += wrapped(shape_words(component), 2);
  out += wrapped(fmt::format("{} {:.4g} m2{}", facts.is_mirror ? "aperture area" : "area", facts.area_m2,
                             copies.size() > 1 ? fmt::format(" each, {:.5g} m2 in all",
                                                             facts.area_m2 * static_cast<double>(copies.size()))
                                               : std::string()),
                 2);
  out += wrapped("front " + finish_words(scene, component.front_finish), 2);
  if (component.back_finish >= 0) out += wrapped("back " + finish_words(scene, component.back_finish), 2);
  if (component.facets.size() > 1) out += wrapped(facets_words(component), 2);
  out += wrapped(mount_words(component), 2) + wrapped(place_words(component, copies), 2);
  if (component.role == Role::receiver) {
    out += wrapped(fmt::format("flux map of {} x {} bins", component.flux_bins[0], component.flux_bins[1]), 2);
    if (component.heat) out += wrapped(heat_words(*component.heat), 2);
  }
  return out;
}

std::string totals_words(const Scene& scene, const SceneFacts& totals) {
  std::string out = "totals for this sun\n";
  out += wrapped(fmt::format("primaries: {:.5g} m2 of aperture, {:.5g} m2 across the sun (cosine {:.4f})",
                             totals.aperture_m2, totals.facing_m2, totals.facing_m2 / totals.aperture_m2),
                 2);
  out += wrapped(fmt::format("incident power {:.5g} kW", 1e-3 * scene.sun.dni_W_m2 * totals.facing_m2), 2);
  if (totals.receiver_m2 > 0) {
    out += wrapped(fmt::format("geometric concentration {:.4g} (aperture of the primaries / {:.4g} m2 of receiver)",
                               totals.aperture_m2 / totals.receiver_m2, totals.receiver_m2),
                   2);
  }
  return out;
}

}  // namespace

std::string describe(const Scene& scene) {
  const SceneFacts facts = facts_of(scene);
  std::string out = wrapped(scene.title.empty() ? scene.path : scene.title, 0);
  out += '\n';
  out += sun_words(scene);
  for (std::size_t i = 0; i < scene.components.size(); ++i) {
    out += '\n';
    out += component_words(scene, scene.components[i], facts.components[i]);
  }
  out += '\n';
  out += totals_words(scene, facts);
  out += '\n';
  out += wrapped(
      "Caution: concentrated sunlight burns and blinds. Before you build from these numbers, follow local codes and "
      "have licensed engineers check the design.",
      0);
  return out;
}

}  // namespace catoptra
