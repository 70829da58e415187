#include "geometry/fermat.h"

#include <algorithm>
#include <cmath>

namespace catoptra {

namespace {

constexpr int rays = 400;  // looked at across the half beam

/// Whether this ray meets the corrector on the right side of both of its caustics: nearer than both, or beyond both.
bool is_regular(const CorrectorPoint& p, bool beyond) {
  const bool meets = p.to > 0 && p.onward > 0;
  return meets && (beyond ? p.to > std::max(p.meridional, p.sagittal) : p.to < std::min(p.meridional, p.sagittal));
}

/// The largest half beam, up to the design's own, all of whose rays are regular; none where the first is not.
std::optional<double> regular_half_beam_m(const CorrectorDesign& design) {
  const bool beyond = design.is_beyond();
  const auto is_good = [&](double r) { return is_regular(corrector_point(design, r), beyond); };
  double good = 0;
  for (int i = 1; i <= rays; ++i) {
    double bad = design.half_beam_m * i / rays;
    if (is_good(bad)) {
      good = bad;
      continue;
    }
    if (good == 0) return std::nullopt;
    for (int halving = 0; halving < 60; ++halving) {
      const double middle = (good + bad) / 2;
      (is_good(middle) ? good : bad) = middle;
    }
    return good;
  }
  return design.half_beam_m;
}

bool serves_all(const CorrectorDesign& design) {
  return regular_half_beam_m(design) == design.half_beam_m;
}

/// How far the vertex must go from where it is, away from the paraxial focus, until the whole beam is served.
std::optional<double> through_limit_m(CorrectorDesign design) {
  const double paraxial = 0.5 / design.curvature_per_m;
  const double away = design.is_beyond() ? 4 * paraxial : std::max(0.0, design.focus_m);
  double bad = design.through_m;
  constexpr int tries = 64;
  const double step = (away - bad) / tries;
  for (int i = 1; i < tries; ++i) {
    design.through_m = bad + step;
    if (!serves_all(design)) {
      bad = design.through_m;
      continue;
    }
    double good = design.through_m;
    for (int halving = 0; halving < 40; ++halving) {
      design.through_m = (good + bad) / 2;
      (serves_all(design) ? good : bad) = design.through_m;
    }
    return good;
  }
  return std::nullopt;
}

}  // namespace

CorrectorPoint corrector_point(const CorrectorDesign& design, long double r_m) {
  const long double c = design.curvature_per_m, q = design.q, focus = design.focus_m, through = design.through_m;
  const long double height = c * r_m * r_m / (1 + std::sqrt(1 - q * c * c * r_m * r_m));
  // Normal (-c r, 1 - q c z) / g; the beam comes along -z: d = D - 2 (D . n) n.
  const long double across = -c * r_m, along = 1 - q * c * height;
  const long double g2 = across * across + along * along;
  CorrectorPoint out{};
  out.dx = 2 * along * across / g2;
  out.dz = 2 * along * along / g2 - 1;
  out.primary_x = r_m;
  out.primary_z = height - focus;
  // The path is the axial ray's: (vertex to corrector) + (corrector to focus), and the ray at r starts `height` later.
  const long double path = through + (through - focus) + height;
  const long double w2 = out.primary_x * out.primary_x + out.primary_z * out.primary_z;
  out.to = (path * path - w2) / (2 * (out.primary_x * out.dx + out.primary_z * out.dz + path));
  out.onward = path - out.to;
  out.x = out.primary_x + out.to * out.dx;
  out.z = out.primary_z + out.to * out.dz;
  const long double length = std::hypot(out.x, out.z);
  out.cosine = out.z / length;
  out.one_less_cosine = out.z > 0 ? out.x * out.x / (length * (length + out.z)) : 1 - out.cosine;
  // H. Coddington's equations for light from infinity: R_t cos(i) / 2 and R_s / (2 cos i), with the conic's radii
  // R_t = g^3 / c, R_s = g / c and cos i = along / g.
  out.meridional = g2 * along / (2 * c);
  out.sagittal = g2 / (2 * c * along);
  return out;
}

std::optional<DesignFault> fault_of(const CorrectorDesign& design) {
  using Kind = DesignFault::Kind;
  const double c = design.curvature_per_m;
  if (!(c > 0)) return DesignFault{Kind::not_concave, {}, {}};
  if (design.q > 0) {
    const double equator = 1 / (c * std::sqrt(design.q));
    if (design.half_beam_m >= equator) return DesignFault{Kind::beam_too_wide, equator, {}};
  }
  if (!(design.through_m > design.focus_m)) return DesignFault{Kind::upside_down, {}, {}};
  if (std::fabs(design.through_m * c - 0.5) < 1e-9) return DesignFault{Kind::at_paraxial_focus, {}, {}};
  const auto served = regular_half_beam_m(design);
  if (served == design.half_beam_m) return std::nullopt;
  return DesignFault{Kind::folds, served, through_limit_m(design)};
}

}  // namespace catoptra
