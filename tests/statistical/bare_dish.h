#pragma once
// A paraboloid dish with two receivers at its focus, traced a second time: one ray after the other, in scalars, with no
// code of the engine's. All in the dish's own frame, whose z points at a point sun.
#include <array>
#include <cmath>
#include <numbers>
#include <random>
#include <vector>

namespace reference {

using Point = std::array<double, 3>;

inline Point plus(const Point& a, double t, const Point& d) {
  return {a[0] + t * d[0], a[1] + t * d[1], a[2] + t * d[2]};
}
inline double product(const Point& a, const Point& b) {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}
inline Point crossed(const Point& a, const Point& b) {
  return {a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]};
}

/// A frame by its axis, as scenes give it: unrolled, x lies along up x axis (along x where that is nothing); the roll
/// turns x toward y.
struct Stand {
  Point at{}, x{}, y{}, z{};
  Stand(const Point& place, const Point& axis, double roll_rad) : at(place), z(axis) {
    Point level{-axis[1], axis[0], 0};
    const double size = std::sqrt(product(level, level));
    level = size == 0 ? Point{1, 0, 0} : Point{level[0] / size, level[1] / size, 0};
    const Point up = crossed(axis, level);
    for (int k = 0; k < 3; ++k) {
      x[k] = std::cos(roll_rad) * level[k] + std::sin(roll_rad) * up[k];
      y[k] = std::cos(roll_rad) * up[k] - std::sin(roll_rad) * level[k];
    }
  }
  Point own(const Point& d) const { return {product(d, x), product(d, y), product(d, z)}; }
};

/// A receiver's map and enclosed power, in numbers of rays.
struct Counts {
  Counts(int first, int second) : columns(second), bin(static_cast<std::size_t>(first * second)) {}
  void add(int i, int j, double from_middle_m) {
    ++bin[static_cast<std::size_t>(i * columns + j)];
    ++all;
    distances_m.push_back(from_middle_m);
  }
  int columns;
  std::vector<double> bin;  // [first][second]
  double all = 0;
  std::vector<double> distances_m;
};

struct BareDish {
  double focal_length_m, radius_m;
  std::array<double, 2> scatter_rad;  // rms of the reflected ray's spread toward x and across
  Stand plate;                        // flat, in the way of the sun with its back; takes light on its front alone
  double plate_width_m, plate_length_m;
  std::array<int, 2> plate_bins;
  Stand tube;
  double tube_radius_m, tube_length_m;
  std::array<int, 2> tube_bins;

  struct Outcome {
    double rays = 0, in_shadow = 0, spilt = 0, on_plate_back = 0;
    Counts plate, tube;
  };

  Outcome run(int rays, unsigned seed) const {
    std::mt19937_64 random(seed);
    std::uniform_real_distribution<double> even(0, 1);
    std::normal_distribution<double> normal(0, 1);
    Outcome out{static_cast<double>(rays), 0, 0, 0, {plate_bins[0], plate_bins[1]}, {tube_bins[0], tube_bins[1]}};
    for (int k = 0; k < rays; ++k) {
      const double r = radius_m * std::sqrt(even(random)), turn = 2 * std::numbers::pi * even(random);
      const double x = r * std::cos(turn), y = r * std::sin(turn);
      const Point at{x, y, r * r / (4 * focal_length_m)};  // z = r^2 / 4 f
      if (meets_plate(at, {0, 0, 1}) < far || meets_tube(at, {0, 0, 1}) < far) {
        ++out.in_shadow;
        continue;
      }
      // The mirror's normal is that of the paraboloid; the law of reflection for light along -z.
      const double a = x / (2 * focal_length_m), b = y / (2 * focal_length_m), size2 = 1 + a * a + b * b;
      const Point sent{-2 * a / size2, -2 * b / size2, 2 / size2 - 1};
      // Spread about the reflected ray: toward the dish's x as it lies across the ray, and at right angles to that.
      const double across = std::hypot(sent[0], sent[2]);
      const Point first{sent[2] / across, 0, -sent[0] / across}, second = crossed(sent, first);
      Point d = plus(plus(sent, scatter_rad[0] * normal(random), first), scatter_rad[1] * normal(random), second);
      const double size = std::sqrt(product(d, d));
      for (double& c : d) c /= size;
      land(out, at, d);
    }
    return out;
  }

 private:
  static constexpr double far = 1e300;

  /// Distance along the ray; far where it passes.
  double meets_plate(const Point& at, const Point& d) const {
    const Point from = plate.own(plus(at, -1, plate.at)), along = plate.own(d);
    const double t = -from[2] / along[2];
    if (!(t > 1e-9)) return far;
    const Point p = plus(from, t, along);
    return std::fabs(p[0]) <= plate_width_m / 2 && std::fabs(p[1]) <= plate_length_m / 2 ? t : far;
  }
  double meets_tube(const Point& at, const Point& d) const {
    const Point from = tube.own(plus(at, -1, tube.at)), along = tube.own(d);
    const double a = along[0] * along[0] + along[1] * along[1], b = from[0] * along[0] + from[1] * along[1];
    const double c = from[0] * from[0] + from[1] * from[1] - tube_radius_m * tube_radius_m, root2 = b * b - a * c;
    if (root2 < 0) return far;
    for (const double t : {(-b - std::sqrt(root2)) / a, (-b + std::sqrt(root2)) / a})
      if (t > 1e-9 && std::fabs(from[2] + t * along[2]) <= tube_length_m / 2) return t;
    return far;
  }

  void land(Outcome& out, const Point& at, const Point& d) const {
    const double t_plate = meets_plate(at, d), t_tube = meets_tube(at, d);
    const auto bin = [](double share, int bins) { return std::min(bins - 1, static_cast<int>(share * bins)); };
    if (t_plate < t_tube) {
      const Point p = plate.own(plus(plus(at, t_plate, d), -1, plate.at));
      if (product(d, plate.z) > 0) {
        ++out.on_plate_back;
      } else {
        out.plate.add(bin(p[0] / plate_width_m + 0.5, plate_bins[0]), bin(p[1] / plate_length_m + 0.5, plate_bins[1]),
                      std::hypot(p[0], p[1]));
      }
    } else if (t_tube < far) {
      const Point p = tube.own(plus(plus(at, t_tube, d), -1, tube.at));
      const double angle = std::atan2(p[1], p[0]), turns = angle / (2 * std::numbers::pi);
      out.tube.add(bin(turns < 0 ? turns + 1 : turns, tube_bins[0]), bin(p[2] / tube_length_m + 0.5, tube_bins[1]),
                   std::fabs(p[2]));
    } else {
      ++out.spilt;
    }
  }
};

}  // namespace reference
