#include "trace/incident.h"

#include <cmath>

#include "geometry/vector_area.h"

namespace catoptra {

namespace {

/// The largest angle of light to the direction toward the sun's centre, as the component sees it.
double spread_rad(const Plan& plan, const ComponentPlan& component) {
  constexpr double widest_gaussian = 8.7;  // in rms: of the smallest uniform, 2^-53
  const PerAxis jitter = component.jitter_turns_sun ? component.jitter_rad : PerAxis{};
  return plan.sun_sampler.largest_angle_rad() + widest_gaussian * std::hypot(jitter.x, jitter.y);
}

/// A turn w of the sun by jitter leaves, on average, the share E[(1 + |w x s|^2)^-1/2] of the light from its centre s
/// (own frame): odd powers of w cancel. The root's series to the third power of |w x s|^2, whose moments are those of a
/// quadratic form of Gaussians (A. M. Mathai and S. B. Provost, Quadratic Forms in Random Variables, 1992, section
/// 3.2b; from memory).
double mean_of_jitter(const PerAxis& rms, const Vec& s) {
  const double xx = (s.z * s.z + s.y * s.y) * rms.x * rms.x, yy = (s.z * s.z + s.x * s.x) * rms.y * rms.y;
  const double xy = -s.x * s.y * rms.x * rms.y;  // of the symmetric root's product: traces need no more
  const double t1 = xx + yy, t2 = xx * xx + 2 * xy * xy + yy * yy;
  const double t3 = xx * xx * xx + yy * yy * yy + 3 * xy * xy * (xx + yy);
  return 1 - t1 / 2 + 3.0 / 8 * (t1 * t1 + 2 * t2) - 5.0 / 16 * (t1 * t1 * t1 + 6 * t1 * t2 + 8 * t3);
}

/// lit_area_m2 for the sun's whole disc: of a convex body it is no linear function of the direction.
double mean_lit_area_m2(const AnySurface& surface, const SunSampler& sun, const Vec& s) {
  const double centre_m2 = *lit_area_m2(surface, s);
  if (sun.is_point()) return centre_m2;
  constexpr int radii = 64, turns = 16;
  const Frame across = facing({0, 0, 0}, s);
  double sum_m2 = 0;
  for (int r = 0; r < radii; ++r) {
    const double sine2 = sun.sine_squared((r + 0.5) / radii), tangent = std::sqrt(sine2 / (1 - sine2));
    for (int t = 0; t < turns; ++t) {
      const double angle = 2 * pi * (t + 0.5) / turns;
      const Vec offset = tangent * (std::cos(angle) * across.ex + std::sin(angle) * across.ey);
      sum_m2 += *lit_area_m2(surface, s + offset);
    }
  }
  return sum_m2 / (radii * turns);
}

/// A bowl round its axis, without a hole: what passes its plane rim meets its front.
bool is_round_bowl(const ComponentPlan& component) {
  const auto* conic = std::get_if<Conic>(&component.surface);
  const auto* ring = std::get_if<Ring>(&component.outline);
  return conic != nullptr && ring != nullptr && conic->curvature_per_m >= 0 && ring->inner_radius_m == 0 &&
         ring->center_m.x == 0 && ring->center_m.y == 0;
}

}  // namespace

void plan_incident(Plan& plan) {
  plan.incident_known_W = 0;
  for (const int index : plan.entries.components) {
    ComponentPlan& component = plan.components[index];
    const double spread = spread_rad(plan, component);
    const bool turned = component.jitter_turns_sun && !component.jitter_rad.is_zero();
    const bool convex = lit_area_m2(component.surface, Vec{0, 0, 1}).has_value();
    const bool round_bowl = is_round_bowl(component);
    component.counts_all = false;
    component.incident_known_W = 0;
    for (int k = 0; k < component.copies; ++k) {
      Instance& instance = plan.instances[component.first + k];
      const Vec s = instance.frame.direction_to_local(plan.sun.toward);
      double known_m2 = 0;
      if (convex && !turned) {
        known_m2 = mean_lit_area_m2(component.surface, plan.sun_sampler, s);
        instance.incident = Incident::known;
      } else {
        known_m2 = dot(component.rim_m2, s) * (turned ? mean_of_jitter(component.jitter_rad, s) : 1);
        // Facing the sun throughout: the angles of s and of the steepest normal to the axis stay below a right angle.
        const double lowest_sine = std::sin(std::asin(std::fmin(1, s.z)) - spread);
        const bool all_lit = lowest_sine > component.steepest_sine || (round_bowl && lowest_sine > 0);
        instance.incident = all_lit ? Incident::known : Incident::corrected;
        if (!(known_m2 > 0)) {
          known_m2 = 0;
          instance.incident = Incident::counted;
          component.counts_all = true;
        }
      }
      plan.incident_known_W += plan.dni_W_m2 * known_m2;
      component.incident_known_W += plan.dni_W_m2 * known_m2;
    }
  }
}

}  // namespace catoptra
