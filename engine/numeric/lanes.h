#pragma once
// The number that the tracer computes with: `double` in a test, `Pack` (lanes of doubles) in a bundle.
//
// Every function here gives the same bits for a double as for each lane of a Pack, on AVX2 and on AVX-512: the build
// forbids contraction, and sine and cosine come from the lane library for both (libm's differ in the last bit). The
// logarithm, and sine and cosine of turns, are in numeric/turn.h.
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <limits>
#include <type_traits>
#include <xsimd/xsimd.hpp>

#include "numeric/vec.h"

namespace catoptra {

// Pinned, whatever -march allows: xsimd 8.1 has no fused multiply-add for AVX-512, so its sin and cos would differ
// there in the last bit.
using Isa = xsimd::fma3<xsimd::avx2>;
using Pack = xsimd::batch<double, Isa>;
using PackMask = xsimd::batch_bool<double, Isa>;

template <class Real>
using Mask = std::conditional_t<std::is_same_v<Real, double>, bool, PackMask>;

/// Lanes in a Real.
template <class Real>
inline constexpr std::size_t lanes = 1;
template <>
inline constexpr std::size_t lanes<Pack> = Pack::size;

inline constexpr double infinity = std::numeric_limits<double>::infinity();
inline constexpr double pi = 3.14159265358979323846;

// NOLINTBEGIN(bugprone-easily-swappable-parameters)
inline double select(bool condition, double yes, double no) {
  return condition ? yes : no;
}
inline Pack select(const PackMask& condition, const Pack& yes, const Pack& no) {
  return xsimd::select(condition, yes, no);
}
// NOLINTEND(bugprone-easily-swappable-parameters)

template <class Real>
Vec3<Real> select(const Mask<Real>& condition, const Vec3<Real>& yes, const Vec3<Real>& no) {
  return {select(condition, yes.x, no.x), select(condition, yes.y, no.y), select(condition, yes.z, no.z)};
}

inline bool any(bool mask) {
  return mask;
}
inline bool any(const PackMask& mask) {
  return xsimd::any(mask);
}

inline bool all(bool mask) {
  return mask;
}
inline bool all(const PackMask& mask) {
  return xsimd::all(mask);
}

inline double square_root(double x) {
  return std::sqrt(x);
}
inline Pack square_root(const Pack& x) {
  return xsimd::sqrt(x);
}

inline double copy_sign(double magnitude, double sign) {
  return std::copysign(magnitude, sign);
}
inline Pack copy_sign(const Pack& magnitude, const Pack& sign) {
  return xsimd::copysign(magnitude, sign);
}

inline double absolute(double x) {
  return std::fabs(x);
}
inline Pack absolute(const Pack& x) {
  return xsimd::abs(x);
}

// x86's own rule, the same for both: where either is NaN the second is returned.
inline double smaller(double a, double b) {
  return a < b ? a : b;
}
inline Pack smaller(const Pack& a, const Pack& b) {
  return xsimd::min(a, b);
}
inline double larger(double a, double b) {
  return a > b ? a : b;
}
inline Pack larger(const Pack& a, const Pack& b) {
  return xsimd::max(a, b);
}

// a b + c with one rounding, where it is meant; the build never fuses by itself.
inline double multiply_add(double a, double b, double c) {
  return std::fma(a, b, c);
}
inline Pack multiply_add(const Pack& a, const Pack& b, const Pack& c) {
  return xsimd::fma(a, b, c);
}

template <class Real>
struct SinCos {
  Real sine, cosine;
};
inline SinCos<Pack> sine_cosine(const Pack& angle_rad) {
  const auto both = xsimd::sincos(angle_rad);
  return {both.first, both.second};
}
inline SinCos<double> sine_cosine(double angle_rad) {
  const auto both = xsimd::sincos(Pack(angle_rad));
  return {both.first.get(0), both.second.get(0)};
}

template <class Real>
Real load(const double* from) {
  if constexpr (std::is_same_v<Real, double>) {
    return *from;
  } else {
    return Pack::load_unaligned(from);
  }
}
/// Joined in registers: a load of what narrow stores have just written would wait for them.
inline Pack join_lanes(double a, double b, double c, double d) {
  return {_mm256_setr_pd(a, b, c, d)};
}
/// Lanes from[index[0]], from[index[1]], …
template <class Index>
Pack gather(const double* from, const Index* index) {
  return join_lanes(from[index[0]], from[index[1]], from[index[2]], from[index[3]]);
}
inline void store(double value, double* to) {
  *to = value;
}
inline void store(const Pack& value, double* to) {
  value.store_unaligned(to);
}

template <class Real>
Vec3<Real> broadcast(const Vec& v) {
  return {Real(v.x), Real(v.y), Real(v.z)};
}

// As sine and cosine from the lane library for both, so that a double and each lane give the same bits.
inline Pack exponential(const Pack& x) {
  return xsimd::exp(x);
}
inline double exponential(double x) {
  return xsimd::exp(Pack(x)).get(0);
}

}  // namespace catoptra
