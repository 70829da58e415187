#pragma once
// Rays toward the sun's disc, and small turns of a mount.
#include "numeric/turn.h"
#include "optics/interaction.h"
#include "trace/plan.h"

namespace catoptra {

template <class Real>
struct SunRay {
  Vec3<Real> toward;  // unit, toward a point of the disc
  Real cosine;        // of the angle from the disc's centre
};

/// A point of the sun drawn by DNI (see SunSampler): a surface of normal n gets DNI (toward . n) / cosine from it.
/// Since toward / cosine = centre + offset across it, the mean over a symmetric sun is DNI (centre . n) exactly.
template <class Real>
SunRay<Real> sun_ray(const Plan& plan, const Real& u, const Real& v) {
  if (plan.sun_sampler.is_point()) return {broadcast<Real>(plan.sun.toward), Real(1)};
  const Real sine2 = plan.sun_sampler.sine_squared(u);
  const Real sine = square_root(sine2), cosine = square_root(Real(1 - sine2));
  const auto angle = sine_cosine_of_turns(v);
  return {cosine * broadcast<Real>(plan.sun.toward) + (sine * angle.cosine) * broadcast<Real>(plan.sun.across_x) +
              (sine * angle.sine) * broadcast<Real>(plan.sun.across_y),
          cosine};
}

/// `v` turned by the small angles a about x and b about y (rad): v + w x v, w = (a, b, 0); the length changes in second
/// order only.
template <class Real>
Vec3<Real> turned(const Vec3<Real>& v, const Real& a, const Real& b) {
  return {v.x + b * v.z, v.y - a * v.z, v.z + a * v.y - b * v.x};
}

/// The same by a mount's Gaussian error of the given rms about each axis.
template <class Real>
Vec3<Real> turned(const Vec3<Real>& v, const DrawnPair<Real>& from, const PerAxis& rms) {
  const auto pair = gaussian_pair(from.u, from.v);
  return turned(v, Real(rms.x * pair.first), Real(rms.y * pair.second));
}

}  // namespace catoptra
