// Walls of compound parabolic concentrators against their defining property, their implicit equation scanned in long
// doubles, their polar equation, and the divergence theorem.
#include <bit>
#include <boost/math/quadrature/gauss_kronrod.hpp>
#include <catch2/catch.hpp>
#include <stdexcept>

#include "geometry/area.h"
#include "optics/reflection.h"
#include "unit/geometry/shapes.h"

using namespace catoptra;

namespace {

constexpr double degree = pi / 180;

/// Calls visit(name, surface, half length): whole and cut, narrow and wide.
template <class Visit>
void for_each_wall(const Visit& visit) {
  visit("round, 30 degrees", Cpc(CpcProfile(30 * degree, 0.1)));
  visit("round, 5 degrees, cut to a third", Cpc(CpcProfile(5 * degree, 0.1, 4.7)));
  visit("round, 75 degrees", Cpc(CpcProfile(75 * degree, 2)));
  visit("trough, 30 degrees", CpcTrough(CpcProfile(30 * degree, 0.1), 1));
  visit("trough, 12 degrees, cut", CpcTrough(CpcProfile(12 * degree, 0.05, 0.6), 2));
  visit("trough, 60 degrees", CpcTrough(CpcProfile(60 * degree, 1), 0.3));
}

template <bool is_round>
long double across(const CpcWall<is_round>&, long double x, long double y) {
  return is_round ? std::sqrt(x * x + y * y) : std::fabs(x);
}

/// The defining equation in a form of its own: distance from the focus minus that from the directrix, in the half plane
/// of the wall at r > 0. The focus is the exit's other edge (-e, 0), the axis leans by the half-angle, and the parabola
/// passes the edge (e, 0): below 0 inside.
template <bool is_round>
long double outside(const CpcWall<is_round>& wall, const Vec& p, const Vec& d, long double t) {
  const long double e = wall.profile().exit_half_m(), angle = wall.profile().half_angle_rad();
  const long double r = across(wall, p.x + t * d.x, p.y + t * d.y), z = p.z + t * static_cast<long double>(d.z);
  // Light along the axis comes down to the right, (s, -c): so the parabola opens along (-s, c).
  const auto along = [&](long double at_r, long double at_z) {
    return -std::sin(angle) * (at_r + e) + std::cos(angle) * at_z;
  };
  const long double directrix = 2 * e - along(e, 0);  // |FP| - along(P) is the same for all of the parabola
  return std::hypot(r + e, z) - along(r, z) - directrix;
}

struct Answer {
  double t = infinity;
  bool doubtful = false;
};

/// Walks along the ray, and halves where the sign changes.
template <bool is_round>
Answer scanned(const CpcWall<is_round>& wall, const Ray& ray, double size) {
  const double middle = -dot(ray.p, ray.d);
  const long double from = std::fmax(0.0, middle - 2 * size), to = middle + 2 * size;
  const auto f = [&](long double t) { return outside(wall, ray.p, ray.d, t); };
  const auto inside_ends = [&](long double t) {
    const long double z = ray.p.z + t * ray.d.z, y = ray.p.y + t * ray.d.y;
    const long double up = std::fmin(z, wall.profile().height_m() - z);
    return is_round ? up : std::fmin(up, wall.half_length_m() - std::fabs(y));
  };
  constexpr int steps = 4000;
  std::vector<long double> stations;
  // From the wall itself rounding leaves a hair of either sign, so the walk begins a little way off, and the steps
  // grow: a ray that creeps along the wall is back soon.
  if (ray.own) {
    for (long double t = 1e-6 * size; t < (to - from) / steps; t *= 1.1) stations.push_back(t);
  } else {
    stations.push_back(from);
  }
  for (int i = 1; i <= steps && to > from; ++i) stations.push_back(from + (to - from) * i / steps);
  Answer out;
  long double last = stations.front(), before = f(last);
  for (const long double t : stations) {
    const long double here = f(t);
    if (std::fabs(here) < 2e-4 * size && std::fabs(inside_ends(t)) < 2 * (to - from) / steps) out.doubtful = true;
    if (std::fabs(here) < 1e-6 * size && !ray.own) out.doubtful = true;  // may have dipped through between two steps
    if ((here > 0) != (before > 0)) {
      long double low = last, high = t;
      for (int k = 0; k < 90; ++k) {
        const long double half = (low + high) / 2;
        ((f(half) > 0) == (before > 0) ? low : high) = half;
      }
      if (std::fabs(inside_ends(high)) < 1e-9 * size) out.doubtful = true;
      if (inside_ends(high) > 0) {
        out.t = static_cast<double>(high);
        return out;
      }
    }
    before = here, last = t;
  }
  return out;
}

}  // namespace

TEST_CASE("light at the acceptance angle goes to the exit's other edge", "[geometry][cpc]") {
  // The edge-ray principle, by which the wall is made: R. Winston, J. C. Minano, P. Benitez, Nonimaging Optics, 2005,
  // chapter 4 (from memory).
  for_each_wall([](const char* name, const auto& wall) {
    CAPTURE(name);
    const double angle = wall.profile().half_angle_rad(), e = wall.profile().exit_half_m();
    const double size = reach_m(wall.box(Whole{}));
    const Vec d{std::sin(angle), 0, -std::cos(angle)};
    for (int i = 1; i <= 50; ++i) {
      const double z = wall.profile().height_m() * i / 50;
      const Vec p{wall.profile().at(z).radius, 0, z}, n = wall.normal(p);
      CHECK(length(n) == Approx(1).epsilon(1e-15));
      const Vec r = reflected(d, n);
      const double t = -p.z / r.z;
      CHECK(std::fabs(p.x + t * r.x + e) < 1e-13 * size);
      const Vec slightly = reflected(unit(d + Vec{1e-6, 0, 0}), n);  // the comparison sees a microradian
      CHECK(std::fabs(p.x - p.z / slightly.z * slightly.x + e) > 1e-8 * e);
    }
  });
}

TEST_CASE("sizes of a whole concentrator", "[geometry][cpc]") {
  // Entrance e / sin, height (e + e / sin) / tan of the half-angle: as above.
  const CpcProfile whole(20 * degree, 0.25);
  CHECK(whole.entrance_half_m() == Approx(0.25 / std::sin(20 * degree)).epsilon(1e-14));
  CHECK(whole.height_m() == Approx((0.25 + 0.25 / std::sin(20 * degree)) / std::tan(20 * degree)).epsilon(1e-14));
  CHECK(whole.at(whole.height_m()).slope == Approx(0).margin(1e-14));  // there the wall runs along the axis
  CHECK(whole.at(0.0).radius == Approx(0.25).epsilon(1e-15));
  CHECK(CpcProfile(20 * degree, 0.25, 1).height_m() == 1);
  CHECK_THROWS_AS(CpcProfile(20 * degree, 0.25, 2.8), std::invalid_argument);
  CHECK_THROWS_AS(CpcProfile(0, 0.25), std::invalid_argument);
  CHECK_THROWS_AS(CpcProfile(20 * degree, 0), std::invalid_argument);
}

TEMPLATE_TEST_CASE("rays meet the walls where the scan does", "[geometry][cpc]", double, Pack) {
  for_each_wall([](const char* name, const auto& wall) {
    const double size = reach_m(wall.box(Whole{}));
    int hits = 0, doubtful = 0, all = 0;
    for (const Kind kind : all_kinds) {
      CAPTURE(name, static_cast<int>(kind));
      Dice dice(11 + static_cast<int>(kind));
      std::vector<Ray> rays;
      for (int i = 0; i < 60; ++i) rays.push_back(random_ray(kind, wall, Whole{}, {0, 1e-3, 1}, dice));
      const auto got = distances_m<TestType>(wall, Whole{}, rays);
      for (std::size_t i = 0; i < rays.size(); ++i) {
        const Answer want = scanned(wall, rays[i], size);
        ++all;
        if (want.doubtful) {
          ++doubtful;
          continue;
        }
        CAPTURE(i, want.t, got[i]);
        REQUIRE((want.t < infinity) == (got[i] < infinity));
        if (!(want.t < infinity)) continue;
        ++hits;
        const Vec at = rays[i].p + want.t * rays[i].d;
        const double cosine = std::fabs(dot(rays[i].d, wall.normal(at)));
        // k = 32; the long double's own answer is 2000 times finer.
        CHECK(std::fabs(got[i] - want.t) <= 32 * 0x1p-53 * (size / cosine + want.t));
      }
    }
    CAPTURE(name, hits, doubtful);
    CHECK(hits > 60);
    CHECK(doubtful < all / 3);
  });
}

TEST_CASE("walls: a double and each lane give the same bits, and rays without sense hit nothing", "[geometry][cpc]") {
  for_each_wall([](const char* name, const auto& wall) {
    CAPTURE(name);
    Dice dice(5);
    std::vector<Ray> rays;
    for (const Kind kind : all_kinds) {
      for (int i = 0; i < 100; ++i) rays.push_back(random_ray(kind, wall, Whole{}, {0, 0, 1}, dice));
    }
    const auto one = distances_m<double>(wall, Whole{}, rays), many = distances_m<Pack>(wall, Whole{}, rays);
    int different = 0;
    for (std::size_t i = 0; i < rays.size(); ++i) {
      different += std::bit_cast<std::uint64_t>(one[i]) != std::bit_cast<std::uint64_t>(many[i]);
    }
    CHECK(different == 0);
    const double nan = std::nan("");
    for (const Vec& bad : {Vec{nan, 0, 0}, Vec{0, nan, 0}, Vec{0, 0, nan}, Vec{infinity, 0, 0}, Vec{0, 0, -infinity}}) {
      for (const bool own : {false, true}) {
        CHECK(hit_distance_m(wall, Whole{}, bad, Vec{0.6, 0, 0.8}, own) == infinity);
        CHECK(hit_distance_m(wall, Whole{}, Vec{0.01, 0, 0.1}, bad, own) == infinity);
      }
    }
  });
}

TEST_CASE("areas of the walls, and the flux through them", "[geometry][cpc]") {
  for_each_wall([](const char* name, const auto& wall) {
    CAPTURE(name);
    const CpcProfile& profile = wall.profile();
    constexpr bool round = std::is_same_v<std::decay_t<decltype(wall)>, Cpc>;
    // Polar equation about the focus: rho = 2 f / (1 - cos a), f = e (1 + s), a from the parabola's axis; the arc's
    // element is rho / sin(a / 2) da. The exit's edge lies at a = 90 degrees + the half-angle.
    const double angle = profile.half_angle_rad(), e = profile.exit_half_m(), f = e * (1 + std::sin(angle));
    const auto rho = [&](double a) { return 2 * f / (1 - std::cos(a)); };
    const auto radius = [&](double a) { return rho(a) * std::sin(a - angle) - e; };
    double top = 2 * angle;  // the whole wall's end; a cut one's by halving its height
    double low = 2 * angle, high = pi / 2 + angle;
    for (int k = 0; k < 100 && profile.height_m() < profile.full_height_m(); ++k) {
      top = (low + high) / 2;
      (rho(top) * std::cos(top - angle) > profile.height_m() ? low : high) = top;
    }
    const double want = boost::math::quadrature::gauss_kronrod<double, 31>::integrate(
        [&](double a) { return rho(a) / std::sin(a / 2) * (round ? 2 * pi * radius(a) : 4 * wall.half_length_m()); },
        top, pi / 2 + angle, 15, 1e-13);
    CHECK(wall.area_m2() == Approx(want).epsilon(1e-10));

    // Divergence theorem: what passes the wall is what passes the entrance and not the exit.
    const Vec s = unit(Vec{0.4, -0.3, 0.8});
    double area = 0, flux = 0;
    constexpr int n = 64;
    for (int j = 0; j < n; ++j) {
      for (const double half : {0.0, 0.5}) {  // a trough's two walls meet at u = 1/2
        const auto mean = [&](const auto& g) {
          return boost::math::quadrature::gauss_kronrod<double, 31>::integrate(
              [&](double u) { return g(entry_point(wall, Whole{}, u, (j + 0.5) / n)); }, half, half + 0.5, 15, 1e-12);
        };
        area += mean([](const auto& p) { return p.measure_m2; }) / n;
        flux += mean([&](const auto& p) { return p.measure_m2 * dot(s, p.normal); }) / n;
      }
    }
    CHECK(area == Approx(want).epsilon(1e-10));
    const double exit_m2 = round ? pi * e * e : 4 * e * wall.half_length_m();
    const double entrance_m2 = aperture_area_m2(wall, Whole{});
    const double ratio = profile.entrance_half_m() / e;
    CHECK(entrance_m2 == Approx(exit_m2 * (round ? ratio * ratio : ratio)).epsilon(1e-14));
    CHECK(flux == Approx((entrance_m2 - exit_m2) * s.z).epsilon(1e-10));
  });
}
