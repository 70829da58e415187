#pragma once
// Small vectors, templated on the number so that one source serves a scalar and a pack of lanes.
#include <cmath>

namespace catoptra {

struct Vec2 {
  double x = 0, y = 0;
  friend bool operator==(const Vec2&, const Vec2&) = default;
};

template <class Real>
struct Vec3 {
  Real x, y, z;

  friend Vec3 operator+(const Vec3& a, const Vec3& b) { return {a.x + b.x, a.y + b.y, a.z + b.z}; }
  friend Vec3 operator-(const Vec3& a, const Vec3& b) { return {a.x - b.x, a.y - b.y, a.z - b.z}; }
  friend Vec3 operator-(const Vec3& a) { return {-a.x, -a.y, -a.z}; }
  friend Vec3 operator*(const Real& s, const Vec3& a) { return {s * a.x, s * a.y, s * a.z}; }
};

/// A point or direction in metres or of unit length, double precision.
using Vec = Vec3<double>;

inline bool operator==(const Vec& a, const Vec& b) {
  return a.x == b.x && a.y == b.y && a.z == b.z;
}

template <class Real>
Real dot(const Vec3<Real>& a, const Vec3<Real>& b) {
  return a.x * b.x + a.y * b.y + a.z * b.z;
}

template <class Real>
Vec3<Real> cross(const Vec3<Real>& a, const Vec3<Real>& b) {
  return {a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x};
}

template <class Real>
Real length(const Vec3<Real>& a) {
  using std::sqrt;  // a pack's own sqrt is found by its namespace
  return sqrt(dot(a, a));
}

template <class Real>
Vec3<Real> unit(const Vec3<Real>& a) {
  return (Real(1) / length(a)) * a;
}

}  // namespace catoptra
