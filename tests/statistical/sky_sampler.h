#pragma once
// The referee: light thrown from the sky, ray by ray, against every surface in turn. It shares with the tracer the
// placement of components and their equations (geometry/), which have tests of their own; how samples start, what they
// weigh, how errors are drawn, what is shaded, blocked and counted is written out a second time, plainly.
//
// A direction of an even disc sun is drawn by DNI (even in the sine of the angle: sin^2 = u sin^2 T); a point even over
// a disc of radius B across that direction. DNI is counted on a plane across the sun's centre, so the beam carries
// DNI pi B^2 / cos(angle) through the disc. Only mirrors and absorbers that reflect the rest like mirrors are known.
#include <array>
#include <cmath>
#include <optional>
#include <random>

#include "geometry/surface.h"
#include "numeric/statistics.h"
#include "optics/finish.h"
#include "scene/model.h"

namespace reference {

struct SkyResult {
  catoptra::Estimate reaching_primaries_W, absorbed_W, spillage_W, blocking_W, intercept_factor;
};

class SkySampler {
 public:
  /// `middle` and `radius_m`: a ball round everything that matters to the light.
  SkySampler(const catoptra::Scene& scene, const catoptra::Vec& middle, double radius_m)
      : scene_(scene), layout_(catoptra::place(scene, scene.sun.toward)), middle_(middle), radius_m_(radius_m) {
    if (const auto* disc = std::get_if<catoptra::DiscSun>(&scene.sun.shape)) sun_sine_ = std::sin(disc->half_angle_rad);
  }

  SkyResult run(int rays, std::uint64_t seed) {
    random_.seed(seed);
    Sum lit, absorbed, spilled, blocked;
    double arriving = 0, leaving = 0, aa = 0, al = 0, ll = 0;
    for (int k = 0; k < rays; ++k) {
      Fate fate;
      follow(fate);
      lit.add(fate.lit), absorbed.add(fate.absorbed), spilled.add(fate.spilled), blocked.add(fate.blocked);
      const double l = fate.arriving + fate.spilled;
      arriving += fate.arriving, leaving += l;
      aa += fate.arriving * fate.arriving, al += fate.arriving * l, ll += l * l;
    }
    const double ratio = arriving / leaving;  // its error by linearisation
    return {lit.mean(rays),
            absorbed.mean(rays),
            spilled.mean(rays),
            blocked.mean(rays),
            {ratio, std::sqrt(std::max(0.0, aa - 2 * ratio * al + ratio * ratio * ll)) / leaving}};
  }

 private:
  using Vec = catoptra::Vec;
  struct Fate {
    double lit = 0, absorbed = 0, arriving = 0, spilled = 0, blocked = 0;
  };
  struct Sum {
    double x = 0, xx = 0;
    void add(double value) { x += value, xx += value * value; }
    catoptra::Estimate mean(double n) const {
      return {x / n, std::sqrt(std::max(0.0, xx / n - (x / n) * (x / n)) / n)};
    }
  };
  struct Hit {
    double distance_m;
    std::size_t which;
    Vec normal;  // toward the front
  };

  double uniform() { return std::uniform_real_distribution<double>(0, 1)(random_); }
  double gaussian() { return std::normal_distribution<double>(0, 1)(random_); }

  static std::array<Vec, 2> across(const Vec& axis) {
    const Vec other = std::fabs(axis.x) < 0.5 ? Vec{1, 0, 0} : Vec{0, 1, 0};
    const Vec a = unit(cross(axis, other));
    return {a, cross(axis, a)};
  }
  Vec on_disc(const Vec& axis, double radius) {
    const double r = radius * std::sqrt(uniform()), turn = 2 * catoptra::pi * uniform();
    const auto [a, b] = across(axis);
    return r * std::cos(turn) * a + r * std::sin(turn) * b;
  }

  std::optional<Hit> nearest(const Vec& from, const Vec& d, std::size_t leaving) const {
    std::optional<Hit> best;
    for (std::size_t k = 0; k < layout_.placed.size(); ++k) {
      const auto& placed = layout_.placed[k];
      const auto& component = scene_.components[static_cast<std::size_t>(placed.component)];
      const Vec p = placed.frame.point_to_local(from), u = placed.frame.direction_to_local(d);
      std::visit(
          [&](const auto& surface, const auto& outline) {
            const double t =
                catoptra::hit_distance_m<std::decay_t<decltype(surface)>, std::decay_t<decltype(outline)>, double>(
                    surface, outline, p, u, k == leaving);
            if (t < (best ? best->distance_m : catoptra::infinity)) {
              best = Hit{t, k, placed.frame.direction_to_world(surface.normal(p + t * u))};
            }
          },
          component.surface, component.outline);
    }
    return best;
  }

  Vec mirrored(const Vec& d, Vec n, const catoptra::Mirror& mirror) {
    const double slope = mirror.slope_error_rad.x, spread = mirror.specularity_error_rad.x;  // the same on both axes
    if (slope > 0) {
      const auto [a, b] = across(n);
      n = unit(n + (slope * gaussian()) * a + (slope * gaussian()) * b);
    }
    Vec r = d - (2 * dot(d, n)) * n;
    if (spread > 0) {
      const auto [a, b] = across(r);
      r = unit(r + (spread * gaussian()) * a + (spread * gaussian()) * b);
    }
    return r;
  }

  void follow(Fate& fate) {
    const Vec centre = scene_.sun.toward;
    const Vec offset = on_disc(centre, sun_sine_);
    const double cosine = std::sqrt(1 - dot(offset, offset));
    const Vec sun = cosine * centre + offset;
    double power = scene_.sun.dni_W_m2 * catoptra::pi * radius_m_ * radius_m_ / cosine;
    Vec at = middle_ + on_disc(sun, radius_m_) + (3 * radius_m_) * sun, d = -sun;
    std::size_t from = layout_.placed.size();
    bool on_receiver = false;
    for (int contact = 0; contact < 200; ++contact) {
      const auto hit = nearest(at, d, from);
      if (!hit) {
        if (contact > 0 && !on_receiver) fate.spilled = power;
        return;
      }
      const auto& component = scene_.components[static_cast<std::size_t>(layout_.placed[hit->which].component)];
      const bool front = dot(d, hit->normal) < 0;
      // The job's light comes onto the front of a primary first; all else is not in the budget.
      if (contact == 0) {
        if (component.role != catoptra::Role::primary || !front) return;
        fate.lit = power;
      }
      const int finish = front ? component.front_finish : component.back_finish;
      at = at + hit->distance_m * d;
      from = hit->which;
      const Vec n = front ? hit->normal : -hit->normal;
      if (finish < 0) {
        if (!on_receiver) fate.blocked = power;
        return;
      }
      const auto& what = scene_.finishes[static_cast<std::size_t>(finish)].finish;
      if (component.role == catoptra::Role::receiver && !on_receiver) {
        on_receiver = true;
        fate.arriving = power;
      }
      if (const auto* mirror = std::get_if<catoptra::Mirror>(&what)) {
        power *= mirror->reflectance.rows.front().y;
        d = mirrored(d, n, *mirror);
        if (dot(d, n) <= 0) return;  // an error turned it into the mirror
      } else {
        const double absorptance = std::get<catoptra::Absorber>(what).absorptance.rows.front().y;
        if (component.role == catoptra::Role::receiver) fate.absorbed += absorptance * power;
        power *= 1 - absorptance;
        d = d - (2 * dot(d, n)) * n;
      }
      if (power <= 0) return;
    }
  }

  const catoptra::Scene& scene_;
  catoptra::Layout layout_;
  Vec middle_;
  double radius_m_;
  double sun_sine_ = 0;
  std::mt19937_64 random_;
};

}  // namespace reference
