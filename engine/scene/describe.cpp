#include "scene/describe.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <span>
#include <sstream>
#include <type_traits>
#include <vector>

#include "geometry/area.h"
#include "geometry/vector_area.h"
#include "scene/place_words.h"
#include "scene/roles.h"
#include "scene/words.h"

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

std::string degrees(double angle_rad) {
  return fmt::format("{:.1f} degrees", angle_rad / units::degree_rad);
}

std::string outline_words(const AnyOutline& outline) {
  struct Words {
    std::string operator()(const Ring& r) const {
      const std::string hole =
          r.inner_radius_m > 0 ? fmt::format(" with a hole of {:.4g} m", 2 * r.inner_radius_m) : "";
      return fmt::format("circle of {:.4g} m{}", 2 * r.outer_radius_m, hole);
    }
    std::string operator()(const Sector& s) const {
      return fmt::format("{} of a circle of {:.4g} m", degrees(s.span_rad()), 2 * s.ring().outer_radius_m);
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

/// Where a focus of a concave or convex surface lies, and the rim angle seen from there: the angle between the axis and
/// the line from the focus to the rim.
std::string optics_words(double curvature_per_m, double q, double rim_m, double rim_height_m) {
  if (curvature_per_m == 0) return "flat";
  const double c = curvature_per_m, radius_m = 1 / c, focus_m = radius_m / 2;
  std::string out = fmt::format("{}, radius of curvature {:.4g} m, paraxial focal length {:.4g} m",
                                c > 0 ? "concave" : "convex", std::fabs(radius_m), std::fabs(focus_m));
  if (q != 1) out += fmt::format(", conic constant {:.4g}", q - 1);
  if (c > 0)
    out +=
        fmt::format(", rim angle {} seen from the paraxial focus", degrees(std::atan2(rim_m, focus_m - rim_height_m)));
  return out;
}
/// Of a conic or its section carried along.
std::string optics_words(double curvature_per_m, double q, double rim_m) {
  const double c = curvature_per_m;
  const double rim_height_m = c * rim_m * rim_m / (1 + std::sqrt(std::fmax(0, 1 - q * c * c * rim_m * rim_m)));
  return optics_words(curvature_per_m, q, rim_m, rim_height_m);
}

std::string shape_words(const Component& component) {
  struct Words {
    const Component& component;
    std::string operator()(const Plane&) const { return "flat"; }
    std::string operator()(const Conic& s) const {
      return optics_words(s.curvature_per_m, s.q, radius_span_m(component.outline).largest_m);
    }
    std::string operator()(const Trough& s) const {
      const Box2 bounds = box(component.outline);
      return optics_words(s.curvature_per_m, s.q, std::fmax(-bounds.low.x, bounds.high.x));
    }
    std::string operator()(const Asphere& s) const {
      const double height_m = s.height(s.rim_m() * s.rim_m()).value;
      return optics_words(s.curvature_per_m(), s.q(), s.rim_m(), height_m) +
             fmt::format(", with polynomial terms; rim {:.4g} m above the vertex", height_m);
    }
    std::string operator()(const Cylinder& s) const {
      return fmt::format("diameter {:.4g} m, length {:.4g} m{}", 2 * s.radius_m, 2 * s.half_length_m, side(s.side));
    }
    std::string operator()(const Cone& s) const {
      const double grows_m = s.growth * s.half_height_m;
      return fmt::format("diameter {:.4g} m below, {:.4g} m above, height {:.4g} m{}",
                         2 * (s.middle_radius_m - grows_m), 2 * (s.middle_radius_m + grows_m), 2 * s.half_height_m,
                         side(s.side));
    }
    std::string operator()(const Ball& s) const {
      return fmt::format("diameter {:.4g} m{}", 2 * s.radius_m, side(s.side));
    }
    std::string operator()(const Corrector& s) const { return section(s.profile()); }
    std::string operator()(const TroughCorrector& s) const {
      return section(s.profile()) + fmt::format(", {:.4g} m long", 2 * s.half_length_m());
    }
    std::string operator()(const Cpc& s) const { return section(s.profile(), 2); }
    std::string operator()(const CpcTrough& s) const {
      return section(s.profile(), 1) + fmt::format(", {:.4g} m long", 2 * s.half_length_m());
    }
    static std::string section(const CpcProfile& p, int power) {
      const bool whole = p.height_m() >= p.full_height_m();
      return fmt::format(
          "acceptance half-angle {}, exit {:.4g} m, entrance {:.4g} m, {:.4g} m high{}, entrance / exit area {:.4g}",
          degrees(p.half_angle_rad()), 2 * p.exit_half_m(), 2 * p.entrance_half_m(), p.height_m(),
          whole ? std::string() : fmt::format(" of {:.4g}", p.full_height_m()),
          std::pow(p.entrance_half_m() / p.exit_half_m(), power));
    }
    static std::string section(const FocalProfile& p) {
      return fmt::format("vertex {:.4g} m from its focus, {:.4g} m across, {:.4g} m high, rim {} off its axis",
                         p.vertex_m(), 2 * p.width_m(), p.high_m() - p.low_m(), degrees(std::acos(p.rim_cosine())));
    }
    static std::string side(double side) { return side > 0 ? "" : ", front inside"; }
  };
  std::string out = component.shape_kind;
  const std::string more = std::visit(Words{component}, component.surface);
  if (more != "flat" || component.shape_kind != "plane") out += ": " + more;
  const std::string outline = outline_words(component.outline);
  const bool says_itself = std::holds_alternative<TroughCorrector>(component.surface) ||
                           std::holds_alternative<CpcTrough>(component.surface);
  return outline.empty() || says_itself ? out : out + "; " + outline;
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
      const std::string tilt = m.tilt_rad.x == m.tilt_rad.y ? degrees(m.tilt_rad.x)
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
  out += wrapped(fmt::format("azimuth {:.2f}, elevation {:.2f} degrees", azimuth_rad(sun.toward) / units::degree_rad,
                             std::asin(std::clamp(sun.toward.z, -1.0, 1.0)) / units::degree_rad),
                 2);
  return out + wrapped(fmt::format("DNI {:.4g} W/m2; sunshape {}", sun.dni_W_m2, sunshape_words(sun.shape)), 2);
}

std::string heat_words(const HeatLoss& heat) {
  return fmt::format("heat: emittance {:.4g} at {:.5g} K, surroundings {:.5g} K, convection {:.4g} W/m2 K",
                     heat.emittance, heat.temperature_K, heat.surroundings_K, heat.convection_W_m2K);
}

std::string component_words(const Scene& scene, const Component& component, std::span<const Placed> copies) {
  std::string out = fmt::format("{} '{}'\n", role_word(component.role), component.name);
  out += wrapped(shape_words(component), 2);
  const double aperture_m2 = aperture_area_m2(component.surface, component.outline);
  const bool mirror = (component.role == Role::primary || component.role == Role::secondary) && aperture_m2 > 0;
  const double each_m2 = mirror ? aperture_m2 : front_area_m2(component.surface, component.outline);
  out += wrapped(fmt::format("{} {:.4g} m2{}", mirror ? "aperture area" : "area", each_m2,
                             copies.size() > 1
                                 ? fmt::format(" each, {:.5g} m2 in all", each_m2 * static_cast<double>(copies.size()))
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

struct Totals {
  double aperture_m2 = 0, facing_m2 = 0, receiver_m2 = 0;
};

std::string totals_words(const Scene& scene, const Totals& totals) {
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
  const Layout layout = place(scene, scene.sun.toward);
  std::string out = wrapped(scene.title.empty() ? scene.path : scene.title, 0);
  out += '\n';
  out += sun_words(scene);
  Totals totals;
  std::span<const Placed> left(layout.placed);
  for (const Component& component : scene.components) {
    std::size_t number = 0;
    while (number < left.size() && left[number].component == left[0].component) ++number;
    const auto copies = left.first(number);
    left = left.subspan(number);
    out += '\n';
    out += component_words(scene, component, copies);
    if (component.role == Role::primary) {
      const double aperture_m2 = aperture_area_m2(component.surface, component.outline);
      const Facing facing(component.surface, component.outline);
      for (const Placed& copy : copies) {
        totals.aperture_m2 += aperture_m2;
        totals.facing_m2 += facing.area_m2(copy.frame.direction_to_local(layout.to_sun));
      }
    }
    if (component.role == Role::receiver)
      totals.receiver_m2 += front_area_m2(component.surface, component.outline) * static_cast<double>(number);
  }
  out += '\n';
  out += totals_words(scene, totals);
  out += '\n';
  out += wrapped(
      "Caution: concentrated sunlight burns and blinds. Before you build from these numbers, follow local codes and "
      "have licensed engineers check the design.",
      0);
  return out;
}

}  // namespace catoptra
