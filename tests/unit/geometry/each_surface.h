#pragma once
// Every kind of surface with its equation and invented examples of it, in one place: the tests of each_surface_test.cpp
// and mesh_test.cpp go through all alternatives of AnySurface, and one without an entry here does not compile.
#include <vector>

#include "unit/geometry/corrector_shapes.h"
#include "unit/geometry/rays.h"

namespace catoptra {

template <class S>
struct Example {
  const char* name;
  S surface;
  AnyOutline outline;
};

/// Of each kind:
///   equation(s, p)   0 on the surface, more than 0 on the side of the front; near it the distance in m, or no less
///   than
///                    a tenth of it
///   inside(s, p)     whether a point that solves the equation belongs to the surface, whatever the outline
///   examples()       with sizes as concentrators have them
template <class S>
struct SurfaceKind;

template <>
struct SurfaceKind<Plane> {
  static double equation(const Plane&, const Vec& p) { return p.z; }
  static bool inside(const Plane&, const Vec&) { return true; }
  static std::vector<Example<Plane>> examples() { return {{"plane", Plane{}, Rectangle{2, 3, {1, 0}}}}; }
};

/// 2 z - c (x^2 + y^2 + q z^2) over its gradient; the sheet through the vertex, up to its equator.
inline double conic_equation(double c, double q, double x2_y2, double z) {
  return (2 * z - c * (x2_y2 + q * z * z)) / (2 * std::hypot(c * std::sqrt(x2_y2), 1 - c * q * z));
}

template <>
struct SurfaceKind<Conic> {
  static double equation(const Conic& s, const Vec& p) {
    return conic_equation(s.curvature_per_m, s.q, p.x * p.x + p.y * p.y, p.z);
  }
  static bool inside(const Conic& s, const Vec& p) { return 1 - s.q * s.curvature_per_m * p.z > 0; }
  static std::vector<Example<Conic>> examples() {
    return {{"paraboloid with a hole", Conic{1 / 3.0, 0}, Ring{0.3, 1.5, {}}},
            {"deep bowl", Conic{1 / 2.0, 1}, Ring{0, 1.9, {}}},
            {"convex hyperboloid", Conic{-1 / 3.0, -0.8}, Ring{0, 1.5, {}}},
            {"part of an ellipsoid", Conic{1 / 3.0, 0.5}, Sector{Ring{0.5, 1.5, {}}, 0.3, 1.2}}};
  }
};

template <>
struct SurfaceKind<Trough> {
  static double equation(const Trough& s, const Vec& p) {
    return conic_equation(s.curvature_per_m, s.q, p.x * p.x, p.z);
  }
  static bool inside(const Trough& s, const Vec& p) { return 1 - s.q * s.curvature_per_m * p.z > 0; }
  static std::vector<Example<Trough>> examples() {
    return {{"parabolic trough", Trough{1 / 3.0, 0}, Rectangle{2.5, 6, {}}},
            {"circular trough, convex", Trough{-1 / 3.0, 1}, Rectangle{2.8, 2, {}}}};
  }
};

template <>
struct SurfaceKind<Cylinder> {
  static double equation(const Cylinder& s, const Vec& p) { return s.side * (std::hypot(p.x, p.y) - s.radius_m); }
  static bool inside(const Cylinder& s, const Vec& p) { return std::fabs(p.z) <= s.half_length_m; }
  static std::vector<Example<Cylinder>> examples() {
    return {{"tube", Cylinder{0.4, 0.75, 1}, Whole{}}, {"tube, front inside", Cylinder{0.4, 0.75, -1}, Whole{}}};
  }
};

template <>
struct SurfaceKind<Cone> {
  static double equation(const Cone& s, const Vec& p) {
    return s.side * (std::hypot(p.x, p.y) - s.middle_radius_m - s.growth * p.z) / std::hypot(1, s.growth);
  }
  static bool inside(const Cone& s, const Vec& p) {
    return std::fabs(p.z) <= s.half_height_m && s.middle_radius_m + s.growth * p.z >= 0;
  }
  static std::vector<Example<Cone>> examples() {
    return {{"frustum, front inside", Cone{1, 0.5, 1, -1}, Whole{}}, {"roof", Cone{1, -0.9, 1, 1}, Whole{}}};
  }
};

template <>
struct SurfaceKind<Ball> {
  static double equation(const Ball& s, const Vec& p) { return s.side * (length(p) - s.radius_m); }
  static bool inside(const Ball&, const Vec&) { return true; }
  static std::vector<Example<Ball>> examples() {
    return {{"ball", Ball{2, 1}, Whole{}}, {"ball, front inside", Ball{2, -1}, Whole{}}};
  }
};

template <>
struct SurfaceKind<Asphere> {
  static double equation(const Asphere& s, const Vec& p) {  // its height has tests of its own
    const double slope = 2 * std::hypot(p.x, p.y) * s.height(p.x * p.x + p.y * p.y).slope;
    return (p.z - s.sag(p.x, p.y)) / std::hypot(1, slope);
  }
  static bool inside(const Asphere& s, const Vec& p) { return std::hypot(p.x, p.y) <= s.rim_m(); }
  static std::vector<Example<Asphere>> examples() {
    return {{"asphere", Asphere(0.1, -0.5, {1e-4, -2e-6, 0, 0}, 4), Ring{0, 4, {}}},
            {"rippled asphere", Asphere(0.05, -1, {-0.02, 0.004, -0.0002, 0}, 3), Ring{0, 3, {}}}};
  }
};

/// Along the line to the focus, and so across the surface; profiles have tests of their own.
inline double focal_equation(const FocalProfile& profile, const Vec& w, const Vec& normal) {
  return (1 / profile.inverse(w.z / length(w)).value - length(w)) * std::fabs(dot(unit(w), normal));
}

template <>
struct SurfaceKind<Corrector> {
  static double equation(const Corrector& s, const Vec& p) { return focal_equation(s.profile(), p, s.normal(p)); }
  static bool inside(const Corrector& s, const Vec& p) { return p.z / length(p) >= s.profile().rim_cosine(); }
  static std::vector<Example<Corrector>> examples() {
    std::vector<Example<Corrector>> out;
    for_each_corrector([&](const char* name, const CorrectorDesign& design) {
      out.push_back({name, Corrector(profile_of(design)), Whole{}});
    });
    return out;
  }
};

template <>
struct SurfaceKind<TroughCorrector> {
  static double equation(const TroughCorrector& s, const Vec& p) {
    return focal_equation(s.profile(), Vec{p.x, 0, p.z}, s.normal(p));
  }
  static bool inside(const TroughCorrector& s, const Vec& p) {
    return p.z / std::hypot(p.x, p.z) >= s.profile().rim_cosine() && std::fabs(p.y) <= s.half_length_m();
  }
  static std::vector<Example<TroughCorrector>> examples() {
    std::vector<Example<TroughCorrector>> out;
    for_each_corrector([&](const char* name, const CorrectorDesign& design) {
      out.push_back({name, TroughCorrector(profile_of(design, false), 2), Whole{}});
    });
    return out;
  }
};

/// The equation in geometry/cpc.h, whose root is the half width r at the height z, over its gradient.
inline double cpc_equation(const CpcProfile& profile, double r, double z) {
  const double s = std::sin(profile.half_angle_rad()), c = std::cos(profile.half_angle_rad());
  const double e = profile.exit_half_m(), lean = c * r + s * z;
  const double f = lean * lean + 2 * e * (1 + s) * (1 + s) * r - 2 * e * c * (2 + s) * z - e * e * (1 + s) * (3 + s);
  return -f / std::hypot(2 * c * lean + 2 * e * (1 + s) * (1 + s), 2 * s * lean - 2 * e * c * (2 + s));
}

template <>
struct SurfaceKind<Cpc> {
  static double equation(const Cpc& s, const Vec& p) { return cpc_equation(s.profile(), std::hypot(p.x, p.y), p.z); }
  static bool inside(const Cpc& s, const Vec& p) { return p.z >= 0 && p.z <= s.profile().height_m(); }
  static std::vector<Example<Cpc>> examples() {
    return {{"compound parabola", Cpc(CpcProfile(0.5, 0.2, 0.5)), Whole{}}};
  }
};

template <>
struct SurfaceKind<CpcTrough> {
  static double equation(const CpcTrough& s, const Vec& p) { return cpc_equation(s.profile(), std::fabs(p.x), p.z); }
  static bool inside(const CpcTrough& s, const Vec& p) {
    return p.z >= 0 && p.z <= s.profile().height_m() && std::fabs(p.y) <= s.half_length_m();
  }
  static std::vector<Example<CpcTrough>> examples() {
    return {{"compound parabolic trough", CpcTrough(CpcProfile(0.5, 0.2), 3), Whole{}}};
  }
};

/// The distance to the tube of the radius Ry round the circle of the radius Rx - Ry, whose axis is parallel to y at the
/// height Rx; of the tube the quarter near the vertex.
template <>
struct SurfaceKind<Torus> {
  static double from_ring(const Torus& s, const Vec& p) {  // signed, in the plane of the ring
    const double rx = 1 / s.curvature_x_per_m, ry = 1 / s.curvature_y_per_m;
    return std::copysign(std::hypot(p.x, rx - p.z), rx) - (rx - ry);
  }
  static double equation(const Torus& s, const Vec& p) {
    const double ry = 1 / s.curvature_y_per_m;
    return std::copysign(1.0, ry) * (std::fabs(ry) - std::hypot(from_ring(s, p), p.y));
  }
  static bool inside(const Torus& s, const Vec& p) {
    return 1 - s.curvature_x_per_m * p.z > 0 && from_ring(s, p) * s.curvature_y_per_m > 0;
  }
  static std::vector<Example<Torus>> examples() {
    return {{"torus", Torus{1 / 5.0, 1 / 3.0}, Rectangle{2, 1.5, {}}},
            {"torus, longer across", Torus{1 / 3.0, 1 / 5.0}, Ring{0.3, 1.5, {}}},
            {"deep torus", Torus{1 / 4.0, 1 / 2.0}, Ring{0, 1.9, {}}},
            {"convex torus, off its vertex", Torus{-1 / 3.0, -1 / 2.0}, Ring{0, 0.7, {0.8, -0.5}}},
            {"saddle", Torus{1 / 3.0, -1 / 4.0}, Rectangle{1.5, 2, {}}},
            {"shallow torus, nearly a sphere", Torus{1 / 100.0, 1 / 99.0}, Rectangle{3, 2, {}}}};
  }
};

template <class Variant>
struct EachHasExamples;
template <class... S>
struct EachHasExamples<std::variant<S...>> {
  static_assert((requires { SurfaceKind<S>::examples(); } && ...), "every kind of surface has its examples here");
};
inline constexpr EachHasExamples<AnySurface> each_has_examples;

}  // namespace catoptra
