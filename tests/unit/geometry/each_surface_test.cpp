// What must hold for every kind of surface, whatever it is: run for all alternatives of AnySurface, by the examples of
// each_surface.h.
#include "unit/geometry/each_surface.h"

#include <catch2/catch.hpp>

#include "geometry/area.h"
#include "geometry/mesh.h"
#include "geometry/scaled.h"
#include "geometry/vector_area.h"

using namespace catoptra;

namespace {

/// visit(example, outline), the outline being the variant's alternative.
template <class S, class Visit>
void for_each_example(const Visit& visit) {
  for (const auto& example : SurfaceKind<S>::examples()) {
    CAPTURE(example.name);
    std::visit([&](const auto& outline) { visit(example, outline); }, example.outline);
  }
}

/// As hit_distance_m, by small steps along the ray; infinity where it finds none. `after`: how much of the ray's begin
/// is left out. Two hits within a step may be missed.
template <class S, class Outline>
double first_by_steps(const S& surface, const Outline& outline, const Ray& ray, double length_m, double after_m) {
  constexpr int steps = 3000;
  const auto f = [&](double t) { return SurfaceKind<S>::equation(surface, point_along(ray.p, ray.d, t)); };
  double low = after_m, at_low = f(low);
  for (int i = 1; i <= steps; ++i) {
    double high = after_m + (length_m - after_m) * i / steps;
    const double at_high = f(high), next = high;
    if ((at_low > 0) != (at_high > 0)) {
      for (int round = 0; round < 60; ++round) {
        const double middle = (low + high) / 2;
        ((f(middle) > 0) == (at_low > 0) ? low : high) = middle;
      }
      const Vec at = point_along(ray.p, ray.d, high);
      const bool root = std::fabs(f(high)) < 1e-9 * length_m;  // and no pole
      if (root && SurfaceKind<S>::inside(surface, at) && outline.contains(at.x, at.y)) return high;
    }
    low = next;
    at_low = at_high;
  }
  return infinity;
}

struct Counts {
  int hits = 0, wrong = 0, late = 0, beside = 0;
};

template <class S, class Outline>
Counts count_hits(const S& surface, const Outline& outline, const AnyOutline& aim, int rays) {
  Counts counts;
  Dice dice(11);
  const Box box = surface.box(outline);
  const double size = reach_m(surface.box(aim));
  for (int i = 0; i < rays; ++i) {
    const auto on = std::visit([&](const auto& o) { return entry_point(surface, o, dice(), dice()); }, aim);
    Ray ray{on.point_m, dice.direction(), i % 3 == 0};
    if (!ray.own) ray.p = on.point_m + (0.3 * size * dice()) * dice.direction() - (2 * size * dice()) * ray.d;
    const double got = hit_distance_m(surface, outline, ray.p, ray.d, ray.own);
    const double want = first_by_steps(surface, outline, ray, 5 * size, ray.own ? 1e-3 * size : 0);
    if (want < got - 1e-6 * size) ++counts.late;
    if (!(got < infinity)) continue;
    ++counts.hits;
    const Vec at = point_along(ray.p, ray.d, got);
    if (std::fabs(SurfaceKind<S>::equation(surface, at)) > 1e-9 * size || !outline.contains(at.x, at.y)) ++counts.wrong;
    if (at.x < box.low.x || at.x > box.high.x || at.y < box.low.y || at.y > box.high.y || at.z < box.low.z ||
        at.z > box.high.z)
      ++counts.beside;
  }
  return counts;
}

/// The direction of f's gradient by central differences. Long steps leave out bends, short ones keep roundings: of
/// steps a tenth as long each time, the one that changes the direction least is taken (after Ridders, Adv. Eng. Softw.
/// 4, 1982, from memory).
template <class F>
Vec gradient_direction(const F& f, const Vec& p, double reach_m) {
  const auto by_step = [&](double h) {
    const auto slope = [&](const Vec& e) { return f(p + h * e) - f(p - h * e); };
    return unit(Vec{slope({1, 0, 0}), slope({0, 1, 0}), slope({0, 0, 1})});
  };
  double h = 1e-4 * reach_m, least_change = infinity;
  Vec last = by_step(h), best = last;
  for (int k = 0; k < 5; ++k) {
    h /= 10;
    const Vec now = by_step(h);
    if (const double change = length(now - last); change < least_change) least_change = change, best = now;
    last = now;
  }
  return best;
}

/// Mean of f(entry point) over the unit square, by midpoints.
template <class S, class Outline, class F>
auto mean(const S& surface, const Outline& outline, const F& f) {
  constexpr int n = 256;
  auto sum = f(entry_point(surface, outline, 0.5, 0.5));
  sum = sum - sum;
  for (int i = 0; i < n; ++i) {
    for (int j = 0; j < n; ++j) sum = sum + f(entry_point(surface, outline, (i + 0.5) / n, (j + 0.5) / n));
  }
  return (1.0 / n / n) * sum;
}

}  // namespace

TEMPLATE_LIST_TEST_CASE("every surface: hits lie on it, inside outline and box, and none before is passed over",
                        "[geometry][each]", AnySurface) {
  for_each_example<TestType>([](const auto& example, const auto& outline) {
    const Counts c = count_hits(example.surface, outline, example.outline, 300);
    CHECK(c.hits > 50);
    CHECK(c.wrong == 0);
    CHECK(c.late == 0);
    CHECK(c.beside == 0);
  });
}

TEMPLATE_LIST_TEST_CASE("every surface: a hit that the outline cuts away does not hide one behind it",
                        "[geometry][each]", AnySurface) {
  for_each_example<TestType>([](const auto& example, const auto&) {
    // Of the surface the quarter toward +x and -y; rays still aim at all of it.
    const Box box = example.surface.box(example.outline);
    const Vec2 middle{(box.low.x + box.high.x) / 2, (box.low.y + box.high.y) / 2};
    const double half_x = (box.high.x - box.low.x) / 4, half_y = (box.high.y - box.low.y) / 4;
    const Rectangle part{half_x, half_y, {middle.x + half_x, middle.y - half_y}};
    const Counts c = count_hits(example.surface, part, example.outline, 300);
    CHECK(c.hits > 10);
    CHECK(c.wrong == 0);
    CHECK(c.late == 0);
  });
}

TEMPLATE_LIST_TEST_CASE("every surface: the normal is the gradient's direction", "[geometry][each]", AnySurface) {
  for_each_example<TestType>([](const auto& example, const auto& outline) {
    Dice dice(5);
    const double reach = reach_m(example.surface.box(outline));
    double worst = 0;
    for (int i = 0; i < 200; ++i) {
      const auto on = entry_point(example.surface, outline, dice(), dice());
      const auto f = [&](const Vec& p) { return SurfaceKind<TestType>::equation(example.surface, p); };
      const Vec gradient = gradient_direction(f, on.point_m, reach);
      worst = std::fmax(worst, length(example.surface.normal(on.point_m) - gradient));
      worst = std::fmax(worst, length(on.normal - gradient));
    }
    CHECK(worst < 1e-7);
  });
}

TEMPLATE_LIST_TEST_CASE("every surface: areas by entry points, by the mesh and by the area's own rule agree",
                        "[geometry][each]", AnySurface) {
  for_each_example<TestType>([](const auto& example, const auto& outline) {
    const double exact = front_area_m2(example.surface, example.outline);
    CHECK(mean(example.surface, outline, [](const auto& e) { return e.measure_m2; }) == Approx(exact).epsilon(3e-4));
    constexpr double step = pi / 96;
    const Mesh mesh =
        mesh_of(example.surface, example.outline, {.step_rad = step, .first_lines = {}, .second_lines = {}});
    CHECK(area_m2(mesh) == Approx(exact).epsilon(step * step));
    // A chord that turns by the angle h leaves its arc by h / 8 of its length; a triangle has two ways, and a corrector
    // may bend by more than one step between the places at which its mesh looks.
    double farthest = 0;
    for (const auto& [a, b, c] : mesh.triangles) {
      const Vec &p = mesh.points_m[a], &q = mesh.points_m[b], &r = mesh.points_m[c];
      const double longest = std::max({length(p - q), length(q - r), length(r - p)});
      const Vec middle = (1 / 3.0) * (p + q + r);
      farthest = std::fmax(farthest, std::fabs(SurfaceKind<TestType>::equation(example.surface, middle)) / longest);
    }
    CHECK(farthest < step);
  });
}

TEMPLATE_LIST_TEST_CASE("every surface: what it catches of parallel light", "[geometry][each]", AnySurface) {
  for_each_example<TestType>([](const auto& example, const auto& outline) {
    const double area = front_area_m2(example.surface, example.outline);
    const Vec sum = mean(example.surface, outline, [](const auto& e) { return e.measure_m2 * e.normal; });
    CHECK(length(sum - vector_area_m2(example.surface, example.outline)) < 3e-4 * area);
    for (const Vec& v : {Vec{0, 0, 1}, unit(Vec{0.5, -0.3, 0.4}), unit(Vec{0.1, 0.2, -1})}) {
      const auto lit = lit_area_m2(example.surface, v);
      if (!lit) continue;
      CHECK(mean(example.surface, outline, [&](const auto& e) {
              return e.measure_m2 * std::fmax(0, dot(e.normal, v));
            }) == Approx(*lit).epsilon(0).margin(1e-3 * area));
    }
  });
}

TEMPLATE_LIST_TEST_CASE("every surface: its own measures", "[geometry][each]", AnySurface) {
  for_each_example<TestType>([](const auto& example, const auto& outline) {
    const auto& s = example.surface;
    Dice dice(9);
    const std::string words = s.words(example.outline);
    CHECK_FALSE(words.empty());
    CHECK(words.find("nan") == std::string::npos);
    if constexpr (AboveOutline<TestType>) {
      const double steepest = s.steepest_sine(example.outline);
      for (int i = 0; i < 200; ++i) {
        const auto on = entry_point(s, outline, dice(), dice());
        CHECK_FALSE(std::sqrt(1 - on.normal.z * on.normal.z) > steepest + 1e-9);  // NaN: no bound is known
        CHECK(s.sag(on.point_m.x, on.point_m.y) == Approx(on.point_m.z).epsilon(1e-12).margin(1e-14));
        CHECK(std::hypot(on.point_m.x, on.point_m.y) <= radius_span_m(example.outline).largest_m * (1 + 1e-12));
      }
      // The mean curvature is half the divergence of the normals, which lean together where it is concave.
      const double h = 1e-4;
      const auto n = [&](double x, double y) { return s.normal(Vec{x, y, s.sag(x, y)}); };
      const double divergence = (n(h, 0).x - n(-h, 0).x + n(0, h).y - n(0, -h).y) / (2 * h);
      CHECK(s.mean_curvature_per_m() == Approx(-divergence / 2).epsilon(1e-6).margin(1e-9));
    }
    if constexpr (RoundBody<TestType>) {
      // Unrolled on azimuth and height, and rolled up again.
      double belts = 0;
      for (int k = 0; k < 7; ++k)
        belts += s.belt_m2(2 * pi, s.top_m() * (2 * k / 7.0 - 1), s.top_m() * (2 * (k + 1) / 7.0 - 1));
      CHECK(belts == Approx(s.area_m2()).epsilon(1e-12));
      for (int i = 0; i < 200; ++i) {
        const Vec p = s.point(dice(), dice());
        const double azimuth = std::atan2(p.y, p.x), r = s.radius_at_m(p.z);
        CHECK(length(Vec{r * std::cos(azimuth), r * std::sin(azimuth), p.z} - p) < 1e-9);
        CHECK(std::fabs(p.z) <= s.top_m() * (1 + 1e-12));
      }
    }
  });
}

TEMPLATE_LIST_TEST_CASE("every surface: made larger it is the similar figure", "[geometry][each]", AnySurface) {
  for_each_example<TestType>([](const auto& example, const auto& outline) {
    constexpr double factor = 1.1;
    const auto larger = example.surface.scaled(factor);
    // What gathers light has a focal length that can be wrong.
    constexpr bool gathers = (AboveOutline<TestType> && !std::is_same_v<TestType, Plane>) ||
                             std::is_same_v<TestType, Corrector> || std::is_same_v<TestType, TroughCorrector>;
    REQUIRE(larger.has_value() == gathers);
    if (!larger) return;
    Dice dice(13);
    double farthest = 0;
    for (int i = 0; i < 200; ++i) {
      Vec p = factor * entry_point(example.surface, outline, dice(), dice()).point_m;
      farthest = std::fmax(farthest, std::fabs(SurfaceKind<TestType>::equation(*larger, p)));
    }
    CHECK(farthest < 1e-9);
    if constexpr (!AboveOutline<TestType>) {
      return;
    } else if constexpr (requires { outline.sample(0.5, 0.5); }) {
      // Just above the least scale the surface reaches across its outline, just below it does not.
      const double least = least_scale(example.surface, example.outline);
      if (least == 0 || std::is_same_v<TestType, Asphere>) return;  // an asphere ends at its rim
      const auto reaches = [&](double scale) {
        const TestType s = *example.surface.scaled(scale);
        bool all = true;
        for (double u = 0; u <= 1; u += 0.125) {
          for (double v = 0; v <= 1; v += 1.0 / 4096) {
            const auto at = outline.sample(u, v);
            all = all && std::isfinite(s.sag(at.x, at.y));
          }
        }
        return all;
      };
      CHECK(least < 1);
      CHECK(reaches(least * (1 + 1e-9)));
      const bool by_corners = std::is_same_v<TestType, Torus> && !std::holds_alternative<Rectangle>(example.outline);
      CHECK((by_corners || !reaches(least * 0.99)));
    }
  });
}
