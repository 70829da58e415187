// Where rays meet surfaces, against the answer in 100 decimal digits (reference.h).
#include <bit>
#include <catch2/catch.hpp>

#include "unit/geometry/reference.h"
#include "unit/geometry/shapes.h"

using namespace catoptra;

namespace {

constexpr int rays_a_kind = 300;
constexpr double unit_roundoff = 0x1p-53;

template <class Surface, class Outline>
std::vector<Ray> rays_of(Kind kind, const Surface& surface, const Outline& outline, const Vec& side) {
  Dice dice(7 + static_cast<int>(kind));
  std::vector<Ray> rays;
  for (int i = 0; i < rays_a_kind; ++i) rays.push_back(random_ray(kind, surface, outline, side, dice));
  return rays;
}

struct Comparison {
  int hits = 0, doubtful = 0, disagree = 0;
  double worst = 0;               // error / (u (L / cos i + t)), the header's k
  double worst_up_to_89_deg = 0;  // error / L
};

template <class Surface, class Outline>
Comparison compare(const std::vector<double>& distances, const std::vector<Ray>& rays, const Surface& exact,
                   const Outline& outline) {
  Comparison out;
  const double size = reach_m(exact.box(outline));
  for (std::size_t i = 0; i < rays.size(); ++i) {
    const auto want = reference::first_hit(exact, outline, rays[i].p, rays[i].d, rays[i].own, size);
    if (want.doubtful) {
      ++out.doubtful;
    } else if (want.t.has_value() != (distances[i] < infinity)) {
      ++out.disagree;
    } else if (want.t) {
      ++out.hits;
      const double error = static_cast<double>(abs(reference::Big(distances[i]) - *want.t));
      const double allowance = unit_roundoff * (size / want.cos_incidence + distances[i]);
      out.worst = std::fmax(out.worst, error / allowance);
      if (want.cos_incidence > std::cos(89 * pi / 180)) {
        out.worst_up_to_89_deg = std::fmax(out.worst_up_to_89_deg, error / size);
      }
    }
  }
  return out;
}

}  // namespace

TEMPLATE_TEST_CASE("hit distances keep the bound that the header states", "[geometry]", double, Pack) {
  for_each_shape([](const char* name, const auto& surface, const auto& outline, const Vec& side, double k) {
    int hits = 0;
    for (const Kind kind : all_kinds) {
      CAPTURE(name, static_cast<int>(kind));
      const auto rays = rays_of(kind, surface, outline, side);
      const Comparison c = compare(distances_m<TestType>(surface, outline, rays), rays, surface, outline);
      CHECK(c.disagree == 0);
      CHECK(c.worst <= k);
      CHECK(c.worst_up_to_89_deg <= 1e-12);
      CHECK(c.doubtful < rays_a_kind / 4);
      hits += c.hits;
    }
    CHECK(hits > rays_a_kind);
  });
}

TEST_CASE("the comparison sees a curvature that is wrong by 1e-12", "[geometry]") {
  const Conic right{1 / 3.0, 0.5}, wrong{(1 + 1e-12) / 3.0, 0.5};
  const Ring outline{0, 1.5, {}};
  const auto rays = rays_of(Kind::from_inside, right, outline, {0, 0, 1});
  CHECK(compare(distances_m<double>(right, outline, rays), rays, right, outline).worst <= 8);
  CHECK(compare(distances_m<double>(wrong, outline, rays), rays, right, outline).worst > 100);
}

TEST_CASE("the comparison sees what starting far away costs", "[geometry]") {
  // The textbook's quadratic from the ray's own start: its error grows with the square of the distance.
  const Ball ball{2, 1};
  const auto rays = rays_of(Kind::near_and_far, ball, Whole{}, {0, 0, 1});
  std::vector<double> naive;
  for (const auto& [p, d, own] : rays) {
    const double b = dot(p, d), c = dot(p, p) - 4, root = std::sqrt(b * b - c);
    naive.push_back(-b - root > 0 ? -b - root : -b + root > 0 ? -b + root : infinity);
  }
  CHECK(compare(naive, rays, ball, Whole{}).worst > 100);
}

TEST_CASE("a double and each lane give the same bits", "[geometry]") {
  for_each_shape([](const char* name, const auto& surface, const auto& outline, const Vec& side, double) {
    for (const Kind kind : all_kinds) {
      CAPTURE(name, static_cast<int>(kind));
      const auto rays = rays_of(kind, surface, outline, side);
      const auto one = distances_m<double>(surface, outline, rays), many = distances_m<Pack>(surface, outline, rays);
      int different = 0;
      for (std::size_t i = 0; i < rays.size(); ++i) {
        different += std::bit_cast<std::uint64_t>(one[i]) != std::bit_cast<std::uint64_t>(many[i]);
      }
      CHECK(different == 0);
    }
  });
}

TEMPLATE_TEST_CASE("rays with NaN, infinite or no direction hit nothing", "[geometry]", double, Pack) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  for_each_shape([&](const char* name, const auto& surface, const auto& outline, const Vec&, double) {
    std::vector<Ray> rays{{{0.1, 0.2, 0.3}, {0, 0, 0}, false}, {{0.1, 0.2, 0.3}, {0, 0, 0}, true}};
    for (const double bad : {nan, infinity, -infinity}) {
      for (int component = 0; component < 6; ++component) {
        for (const bool own : {false, true}) {
          for (const Vec& d : {Vec{0, 0, -1}, Vec{0, 0, 1}, Vec{1, 0, 0}, Vec{0.6, 0, 0.8}, Vec{0.48, -0.64, -0.6}}) {
            Ray ray{{0.1, 0.2, 0.3}, d, own};
            double* const numbers[] = {&ray.p.x, &ray.p.y, &ray.p.z, &ray.d.x, &ray.d.y, &ray.d.z};
            *numbers[component] = bad;
            rays.push_back(ray);
          }
        }
      }
    }
    const auto got = distances_m<TestType>(surface, outline, rays);
    CAPTURE(name);
    CHECK(std::ranges::count(got, infinity) == static_cast<std::ptrdiff_t>(rays.size()));
  });
}

TEST_CASE("rays in a sphere whisper along equal chords", "[geometry]") {
  // Chord 2 R sin(a / 2) of a step a along a great circle; each start is the last hit, rounded.
  const Ball ball{2, -1};
  for (const double step_rad : {1e-5, 1e-3, 0.1, 1.0, 3.0}) {
    double angle = 0;
    for (int bounce = 0; bounce < 20; ++bounce) {
      const Vec p{2 * std::cos(angle), 2 * std::sin(angle), 0};
      const Vec d{-std::sin(angle + step_rad / 2), std::cos(angle + step_rad / 2), 0};
      const double want = 4 * std::sin(step_rad / 2);
      CHECK(hit_distance_m(ball, Whole{}, p, d, true) ==
            Approx(want).epsilon(0).margin(1e-15 / std::sin(step_rad / 2)));
      angle += step_rad;
    }
  }
}

TEST_CASE("a ray that leaves its surface meets it again only where it curves back", "[geometry]") {
  const Conic dish{1, 0};  // z = r^2 / 2
  const Ring rim{0, 2, {}};
  const Vec p{1, 0, 0.5};
  CHECK(hit_distance_m(dish, rim, p, {-1, 0, 0}, true) == 2);                      // straight across
  CHECK(hit_distance_m(dish, rim, p, {1, 0, 0}, true) == infinity);                // out through the wall
  CHECK(hit_distance_m(dish, rim, p, {0, 0, 1}, true) == infinity);                // up and away
  CHECK(hit_distance_m(dish, Ring{0, 0.9, {}}, p, {-1, 0, 0}, true) == infinity);  // the outline ends before
  CHECK(hit_distance_m(Plane{}, rim, Vec{0, 0, 0}, {0, 0, 1}, true) == infinity);
}

TEST_CASE("a root that the outline cuts away does not hide the other", "[geometry]") {
  // Down along z onto a half tube of which only the lower wall is there, through the missing upper one.
  const Cylinder tube{1, 1, 1};
  CHECK(hit_distance_m(tube, Rectangle{0.5, 1, {-1, 0}}, Vec{3, 0, 0}, {-1, 0, 0}, false) == 4);
  CHECK(hit_distance_m(tube, Whole{}, Vec{3, 0, 0}, {-1, 0, 0}, false) == 2);
}
