#pragma once
// Rays that are awkward to intersect, for any surface. Uniform numbers come from std::mt19937_64, whose output the
// standard fixes to the bit, so a run is the same everywhere.
#include <array>
#include <cmath>
#include <random>
#include <vector>

#include "geometry/entry.h"

namespace catoptra {

class Dice {
 public:
  explicit Dice(std::uint64_t seed) : bits_(seed) {}
  double operator()() { return static_cast<double>(bits_() >> 11) * 0x1p-53; }  // [0, 1)
  double operator()(double low, double high) { return low + (high - low) * (*this)(); }
  double power_of_ten(double low, double high) { return std::pow(10, (*this)(low, high)); }
  Vec direction() {
    const double z = (*this)(-1, 1), r = std::sqrt(1 - z * z), angle = (*this)(0, 2 * pi);
    return {r * std::cos(angle), r * std::sin(angle), z};
  }

 private:
  std::mt19937_64 bits_;
};

struct Ray {
  Vec p, d;
  bool own = false;
};

enum class Kind { near_and_far, grazing, along_axis, along_side, own, own_whispering, from_inside };
inline constexpr Kind all_kinds[] = {Kind::near_and_far, Kind::grazing,        Kind::along_axis, Kind::along_side,
                                     Kind::own,          Kind::own_whispering, Kind::from_inside};

inline double reach_m(const Box& box) {
  return std::fmax(length(box.low), length(box.high));
}

/// A random ray of a kind. `side` is the direction of a straight line in the surface (a cone's side), if it has one.
template <class Surface, class Outline>
Ray random_ray(Kind kind, const Surface& surface, const Outline& outline, const Vec& side, Dice& dice) {
  const double size = reach_m(surface.box(outline));
  const auto on_surface = entry_point(surface, outline, dice(), dice());
  const Vec at = on_surface.point_m, n = on_surface.normal;
  const Vec along = unit(cross(n, dice.direction()));
  const double back = size * dice.power_of_ten(-2, 2);
  switch (kind) {
    case Kind::near_and_far: {
      const Vec d = dice.direction();
      const Vec aim = at + (0.3 * size * dice()) * dice.direction();
      return {aim - back * d, d};
    }
    case Kind::grazing: {
      const double sine = (dice() < 0.5 ? -1 : 1) * dice.power_of_ten(-6, -1);
      const Vec d = unit(along + sine * n);
      return {at - back * d, d};
    }
    case Kind::along_axis: {
      const double up = dice() < 0.5 ? -1 : 1;
      return {{at.x, at.y, at.z - up * back}, {0, 0, up}};
    }
    case Kind::along_side: {
      const Vec d = unit(side + dice.power_of_ten(-17, -3) * dice.direction());
      return {at + (0.3 * size * dice()) * dice.direction() - back * d, d};
    }
    case Kind::own:
      return {at, dice.direction(), true};
    case Kind::own_whispering:
      return {at, unit(along + dice(-1, 1) * dice.power_of_ten(-5, 0) * n), true};
    case Kind::from_inside:
      return {at + (size * dice.power_of_ten(-9, -0.5)) * dice.direction(), dice.direction()};
  }
  return {};
}

}  // namespace catoptra
