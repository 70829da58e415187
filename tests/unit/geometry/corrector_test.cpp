// Correctors: their section against the law of reflection integrated by scipy, their hits against an exact search, and
// where the light goes.
#include "geometry/corrector.h"

#include <bit>
#include <boost/math/quadrature/gauss.hpp>
#include <catch2/catch.hpp>
#include <string_view>

#include "geometry/surface.h"
#include "unit/geometry/corrector_reference.h"
#include "unit/geometry/corrector_shapes.h"
#include "unit/geometry/shapes.h"

using namespace catoptra;

namespace {

struct OdeRow {
  const char* name;
  double curvature_per_m, q, focus_m, through_m, largest_m, r_m, x_m, height_m;
  CorrectorDesign design() const { return {curvature_per_m, q, focus_m, through_m, largest_m}; }
};
const OdeRow ode_rows[] = {
#include "corrector_ode.inc"
};

constexpr double half_length_m = 2;

/// visit(name, surface, exact twin), round and carried along y.
template <class Visit>
void for_each_surface(const Visit& visit) {
  for_each_corrector([&](const char* name, const CorrectorDesign& design) {
    visit(name, Corrector(profile_of(design)), reference::ExactCorrector(design, true, 0));
    visit(name, TroughCorrector(profile_of(design, false), half_length_m),
          reference::ExactCorrector(design, false, half_length_m));
  });
}

template <class Surface>
std::vector<Ray> rays_of(Kind kind, const Surface& surface, int count) {
  Dice dice(11 + static_cast<int>(kind));
  std::vector<Ray> rays;
  for (int i = 0; i < count; ++i) rays.push_back(random_ray(kind, surface, Whole{}, {0, 1, 0}, dice));
  return rays;
}

}  // namespace

TEST_CASE("a corrector's section obeys the law of reflection", "[geometry][corrector]") {
  // corrector_ode.py integrates the law as a differential equation; it keeps 1e-11 or better where it can be told.
  int rows = 0;
  for (const OdeRow& row : ode_rows) {
    CAPTURE(row.name, row.r_m);
    REQUIRE_FALSE(fault_of(row.design()));
    const auto p = corrector_point(row.design(), row.r_m);
    CHECK(static_cast<double>(p.x) == Approx(row.x_m).epsilon(0).margin(1e-11));
    CHECK(static_cast<double>(p.z) + row.focus_m == Approx(row.height_m).epsilon(0).margin(1e-11));
    // The same point lies on the table's surface.
    const FocalProfile profile(row.design(), true);
    CHECK(profile.inverse(static_cast<double>(p.cosine)).value * static_cast<double>(p.onward) ==
          Approx(1).epsilon(1e-13));
    ++rows;
  }
  CHECK(rows == 48);
  // A vertex 1e-9 higher is another mirror.
  OdeRow moved = ode_rows[5];
  moved.through_m += 1e-9;
  CHECK(std::fabs(static_cast<double>(corrector_point(moved.design(), moved.r_m).x) - moved.x_m) > 1e-10);
}

TEST_CASE("a paraboloid's correctors are its textbook conics", "[geometry][corrector]") {
  // Light for the focus f = 1/2, met before or beyond it, is brought to F by the hyperboloid or ellipsoid that has the
  // two for its foci (Cassegrain and Gregory; Born and Wolf, Principles of Optics, chapter 6, from memory): 1/rho is a
  // straight line in the cosine, (1 + e c) / p with e = 2 a e / 2 a and p = a |1 - e^2|.
  for (const auto& [focus, through] : {std::pair{0.1, 0.35}, {0.3, 0.8}, {-0.4, 0.2}}) {
    const double to_own = std::fabs(0.5 - through), to_focus = through - focus, apart = 0.5 - focus;
    const bool beyond = through > 0.5;
    const double twice_a = beyond ? to_own + to_focus : to_focus - to_own;
    const double at_vertex = 1 / to_focus;
    // On the conic rho + rho' = 2 a or rho - rho' = 2 a, and rho'^2 = rho^2 - 2 rho apart c + apart^2.
    const auto inverse = [&](double c) { return 2 * (twice_a - apart * c) / (twice_a * twice_a - apart * apart); };
    CHECK(inverse(1) == Approx(at_vertex).epsilon(1e-13));
    const FocalProfile profile(CorrectorDesign{1, 0, focus, through, 0.6}, true);
    for (int i = 0; i <= 20; ++i) {
      const double c = 1 - (1 - profile.rim_cosine()) * i / 20;
      CHECK(profile.inverse(c).value == Approx(inverse(c)).epsilon(1e-13));
    }
  }
}

TEST_CASE("designs that can't be are refused, with the limit", "[geometry][corrector]") {
  using Kind = DesignFault::Kind;
  const auto fault = [](const CorrectorDesign& d) {
    const auto got = fault_of(d);
    REQUIRE(got);
    return *got;
  };
  CHECK(fault({-1, 1, 0.4, 0.6, 0.5}).kind == Kind::not_concave);
  CHECK(fault({1, 1, 0.4, 0.6, 1}).kind == Kind::beam_too_wide);
  CHECK(fault({1, 1, 0.6, 0.4, 0.5}).kind == Kind::upside_down);
  CHECK(fault({1, 1, 0.2, 0.5, 0.5}).kind == Kind::at_paraxial_focus);
  // Before the focus, cap of 30 degrees, focus on the vertex: the rays' caustic, cos(t) / 2 from the sphere, is met
  // where (path^2 - 1) / (2 (path + cos 2t)) = cos(t) / 2 with path = 2 h + 1 - cos t: by hand that is a quadratic for
  // h. w = M - F = (sin t, 1 - cos t), |w|^2 = 2 - 2 cos t, w . d = cos(2t) - cos(t).
  const double t = pi / 6, cosine = std::cos(t);
  const double w2 = 2 - 2 * cosine, wd = -std::sin(t) * std::sin(2 * t) + (1 - cosine) * std::cos(2 * t);
  // path^2 - w2 = cosine (wd + path)
  const double path = (cosine + std::sqrt(cosine * cosine + 4 * (w2 + cosine * wd))) / 2;
  const double highest = (path - (1 - cosine)) / 2;
  CHECK(highest == Approx(0.33557).epsilon(0).margin(1e-5));
  const auto folded = fault({1, 1, 0, 0.4, 0.5});
  CHECK(folded.kind == Kind::folds);
  REQUIRE(folded.through_limit_m);
  CHECK(*folded.through_limit_m == Approx(highest).epsilon(1e-9));
  REQUIRE(folded.limit_m);
  CHECK_FALSE(fault_of({1, 1, 0, 0.4, *folded.limit_m * (1 - 1e-9)}));
  CHECK(fault_of({1, 1, 0, 0.4, *folded.limit_m * (1 + 1e-9)}));
  CHECK_FALSE(fault_of({1, 1, 0, highest - 1e-6, 0.5}));
  CHECK(fault_of({1, 1, 0, highest + 1e-6, 0.5}));
}

TEST_CASE("light of a primary's every point goes to the focus", "[geometry][corrector]") {
  // In two steps as the tracer does it: the reflected ray's first hit, then the mirror's normal there.
  for_each_corrector([](const char* name, const CorrectorDesign& design) {
    CAPTURE(name);
    const Corrector mirror(profile_of(design));
    const double size = 1 / design.curvature_per_m;
    for (int i = 1; i <= 500; ++i) {
      const auto exact = corrector_point(design, design.half_beam_m * i / 500.5);
      const double turn = 0.618 * i, s = std::sin(turn), c = std::cos(turn);
      const double x = static_cast<double>(exact.primary_x), dx = static_cast<double>(exact.dx);
      const Vec p{c * x, s * x, static_cast<double>(exact.primary_z)};
      const Vec d{c * dx, s * dx, static_cast<double>(exact.dz)};
      const double t = hit_distance_m(mirror, Whole{}, p, d, false);
      CHECK(t == Approx(static_cast<double>(exact.to)).epsilon(0).margin(1e-12 * size));
      const Vec at = p + t * d, n = mirror.normal(at), out = d - 2 * dot(d, n) * n;
      CHECK(dot(d, n) < 0);                          // the front
      CHECK(length(cross(at, out)) < 1e-11 * size);  // the promise is 1e-9
      CHECK(dot(at, out) < 0);
    }
  });
}

TEST_CASE("a corrector's hits are those of the exact search", "[geometry][corrector]") {
  constexpr int count = 25;
  for_each_surface([](const char* name, const auto& surface, const reference::ExactCorrector& exact) {
    const auto size = static_cast<double>(exact.size()) + half_length_m;
    for (const Kind kind : all_kinds) {
      CAPTURE(name, surface.profile().is_convex(), static_cast<int>(kind));
      const auto rays = rays_of(kind, surface, count);
      const auto one = distances_m<double>(surface, Whole{}, rays), many = distances_m<Pack>(surface, Whole{}, rays);
      int doubtful = 0;
      double worst = 0;
      for (std::size_t i = 0; i < rays.size(); ++i) {
        const auto want = exact.first_hit(rays[i].p, rays[i].d, rays[i].own);
        if (want.doubtful) {
          ++doubtful;
          continue;
        }
        CAPTURE(i, rays[i].p.x, rays[i].p.y, rays[i].p.z, rays[i].d.x, rays[i].d.y, rays[i].d.z);
        for (const double got : {one[i], many[i]}) {
          REQUIRE(want.t.has_value() == (got < infinity));
          if (!want.t) continue;
          const auto error = static_cast<double>(std::fabs(got - *want.t));
          worst = std::fmax(worst, error / (0x1p-53 * (size / static_cast<double>(want.cos_incidence) + got)));
        }
      }
      CHECK(worst <= 32);
      CHECK(doubtful < count / 4);
    }
  });
}

TEST_CASE("the exact search sees a corrector that is wrong by 1e-10", "[geometry][corrector]") {
  const CorrectorDesign right{1, 1, 1, 1.05, 0.5}, wrong{1, 1, 1, 1.05 + 1e-10, 0.5};
  const Corrector surface(profile_of(wrong));
  const reference::ExactCorrector exact(right, true, 0);
  int seen = 0;
  for (const Ray& ray : rays_of(Kind::from_inside, surface, 20)) {
    const auto want = exact.first_hit(ray.p, ray.d, false);
    const double got = hit_distance_m(surface, Whole{}, ray.p, ray.d, false);
    seen += want.t && std::fabs(static_cast<double>(got - *want.t)) > 1e-12;
  }
  CHECK(seen > 10);
}

TEST_CASE("from the focus every direction within the rim meets a corrector, none beyond it", "[geometry][corrector]") {
  for_each_corrector([](const char* name, const CorrectorDesign& design) {
    CAPTURE(name);
    const Corrector mirror(profile_of(design));
    const double rim = mirror.profile().rim_cosine();
    Dice dice(5);
    for (int i = 0; i < 2000; ++i) {
      const Vec d = dice.direction();
      if (std::fabs(d.z - rim) < 1e-9) continue;
      const double off = 1e-9 * dice();  // from beside the focus as well
      const double t = hit_distance_m(mirror, Whole{}, Vec{off, 0, 0}, d, false);
      CHECK((t < infinity) == (d.z > rim));
    }
  });
}

TEST_CASE("a corrector: a double and each lane give the same bits", "[geometry][corrector]") {
  for_each_surface([](const char* name, const auto& surface, const reference::ExactCorrector&) {
    for (const Kind kind : all_kinds) {
      CAPTURE(name, static_cast<int>(kind));
      const auto rays = rays_of(kind, surface, 300);
      const auto one = distances_m<double>(surface, Whole{}, rays), many = distances_m<Pack>(surface, Whole{}, rays);
      int different = 0;
      for (std::size_t i = 0; i < rays.size(); ++i) {
        different += std::bit_cast<std::uint64_t>(one[i]) != std::bit_cast<std::uint64_t>(many[i]);
      }
      CHECK(different == 0);
    }
  });
}

TEMPLATE_TEST_CASE("a corrector is not met by rays with NaN, infinite or no direction", "[geometry][corrector]", double,
                   Pack) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  for_each_surface([&](const char* name, const auto& surface, const reference::ExactCorrector&) {
    std::vector<Ray> rays{{{0.1, 0.2, 0.3}, {0, 0, 0}, false}, {{0.1, 0.2, 0.3}, {0, 0, 0}, true}};
    for (const double bad : {nan, infinity, -infinity}) {
      for (int component = 0; component < 6; ++component) {
        for (const bool own : {false, true}) {
          Ray ray{{0.1, 0.2, 0.3}, {0.48, -0.64, -0.6}, own};
          double* const numbers[] = {&ray.p.x, &ray.p.y, &ray.p.z, &ray.d.x, &ray.d.y, &ray.d.z};
          *numbers[component] = bad;
          rays.push_back(ray);
        }
      }
    }
    const auto got = distances_m<TestType>(surface, Whole{}, rays);
    CAPTURE(name);
    CHECK(std::ranges::count(got, infinity) == static_cast<std::ptrdiff_t>(rays.size()));
  });
}

TEMPLATE_TEST_CASE("light enters a corrector by its area", "[geometry][corrector]", double, Pack) {
  using Real = TestType;
  // Mean over the unit square. Each of the 64 shares of the area is integrated by itself: the density kinks between.
  const auto mean = [](const auto& surface, const auto& f) {
    constexpr int cells = 64, round = 8;
    double sum = 0;
    for (int i = 0; i < 2 * cells; ++i) {
      for (int j = 0; j < round; ++j) {
        const double v = (j + 0.5) / round;
        sum += boost::math::quadrature::gauss<double, 15>::integrate(
            [&](double u) {
              const auto e = entry_point(surface, Whole{}, Real(u), Real(v));
              std::array<double, lanes<Real>> out;
              store(Real(f(e)), out.data());
              return out.back();
            },
            i / (2.0 * cells), (i + 1) / (2.0 * cells));
      }
    }
    return sum / round;
  };
  const Vec s = unit(Vec{0.4, -0.3, 0.8});
  const auto flux = [&](const auto& e) { return e.measure_m2 * dot(broadcast<Real>(s), e.normal); };
  const auto area = [](const auto& e) { return e.measure_m2; };
  for_each_corrector([&](const char* name, const CorrectorDesign& design) {
    CAPTURE(name);
    const auto rim = corrector_point(design, design.half_beam_m);
    const double rim_m = std::fabs(static_cast<double>(rim.x));
    const double quadrature = std::string_view(name) == "close to folding" ? 1e-8 : 1e-10;  // what bends so is hard
    // Divergence theorem, constant field: what passes the mirror passes its flat rim, and fronts look down.
    const Corrector round(profile_of(design));
    const TroughCorrector trough(profile_of(design, false), half_length_m);
    CHECK(mean(round, flux) == Approx(-pi * rim_m * rim_m * s.z).epsilon(quadrature));
    CHECK(mean(trough, flux) == Approx(-4 * rim_m * half_length_m * s.z).epsilon(quadrature));
    CHECK(mean(round, area) == Approx(round.area_m2()).epsilon(quadrature));
    CHECK(mean(trough, area) == Approx(trough.area_m2()).epsilon(quadrature));
  });
  // A paraboloid's light sent on from a plane: school geometry gives the areas.
  const CorrectorDesign flat{1, 0, 0.2, 0.35, 0.6};
  const double rim_m = static_cast<double>(corrector_point(flat, 0.6).x);
  CHECK(Corrector(profile_of(flat)).area_m2() == Approx(pi * rim_m * rim_m).epsilon(1e-12));
  CHECK(TroughCorrector(profile_of(flat, false), half_length_m).area_m2() ==
        Approx(4 * rim_m * half_length_m).epsilon(1e-12));
}

TEST_CASE("a corrector's box holds it, a hair too large", "[geometry][corrector]") {
  for_each_surface([](const char* name, const auto& surface, const reference::ExactCorrector&) {
    CAPTURE(name);
    const Box box = surface.box(Whole{});
    Box points;
    Dice dice(3);
    for (int i = 0; i < 20000; ++i) points.include(entry_point(surface, Whole{}, dice(), dice()).point_m);
    points.include(entry_point(surface, Whole{}, 0.0, 0.0).point_m);
    points.include(entry_point(surface, Whole{}, 1.0, 1.0).point_m);
    const double size = reach_m(box);
    const auto holds = [&](double low, double inner_low, double inner_high, double high) {
      CHECK(low <= inner_low);
      CHECK(inner_high <= high);
      CHECK(inner_low - low < 0.01 * size);  // points come that near to the ends
      CHECK(high - inner_high < 0.01 * size);
    };
    holds(box.low.x, points.low.x, points.high.x, box.high.x);
    holds(box.low.y, points.low.y, points.high.y, box.high.y);
    holds(box.low.z, points.low.z, points.high.z, box.high.z);
  });
}
