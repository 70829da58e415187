#include "bare_bowl.h"

#include <algorithm>
#include <array>
#include <chrono>
#include <vector>

#include "numeric/turn.h"

namespace catoptra::benchmark {

namespace {

using Words = xsimd::batch<std::uint64_t, Isa>;

/// Four (or so) generators side by side: xorshift64* without the star (Marsaglia, J. Stat. Softw. 8 (2003) no. 14).
struct LaneRandom {
  Words state;
  explicit LaneRandom(std::uint64_t seed) {
    std::array<std::uint64_t, Words::size> start{};
    for (auto& x : start) x = seed = seed * 6364136223846793005u + 1442695040888963407u;
    state = Words::load_unaligned(start.data());
  }
  Pack operator()() {
    state = state ^ (state << 13);
    state = state ^ (state >> 7);
    state = state ^ (state << 17);
    // 52 random bits behind the exponent of 1: a number in [1, 2).
    const Words bits = (state >> 12) | Words(0x3ff0000000000000u);
    return xsimd::bitwise_cast<Pack>(bits) - (1 - 0x1p-53);
  }
};

// The scene of bowl_scene() in benchmark.cpp.
constexpr double bowl_radius = 20, bowl_aperture_radius = 3;
constexpr double sun_half_angle = 4.6505e-3, slope_error = 2e-3, reflectance = 0.94, absorptance = 0.95;
constexpr double vertex_z = 9, secondary_curvature = 1 / 2.5, secondary_q = 1 - 2.25, secondary_radius = 0.75;
constexpr double ball_z = 4, ball_radius = 1;

struct Tilt {
  Pack a, b;
};
Tilt draw_slope(LaneRandom& random) {
  const Pack u = random(), v = random();
  const auto pair = gaussian_pair(u, v);
  return {slope_error * pair.first, slope_error * pair.second};
}

Vec3<Pack> reflect(const Vec3<Pack>& d, const Vec3<Pack>& n, const Tilt& t) {
  const Pack scale = 1 / square_root(n.x * n.x + n.z * n.z);
  const Vec3<Pack> e1{scale * n.z, Pack(0.0), -(scale * n.x)}, e2 = cross(n, e1);
  const Vec3<Pack> m = n + t.a * e1 + t.b * e2;
  return d - (2 * dot(d, m) / dot(m, m)) * m;
}

// The convex secondary hangs vertex down at vertex_z: in its own frame (z down, y and z turned) c < 0.
Pack meet_secondary(const Vec3<Pack>& p, const Vec3<Pack>& d) {
  const double c = -secondary_curvature, q = secondary_q;
  const Vec3<Pack> o{p.x, -p.y, vertex_z - p.z}, e{d.x, -d.y, -d.z};
  const Pack A = c * (e.x * e.x + e.y * e.y + q * e.z * e.z);
  const Pack B = c * (o.x * e.x + o.y * e.y + q * o.z * e.z) - e.z;
  const Pack C = c * (o.x * o.x + o.y * o.y + q * o.z * o.z) - 2 * o.z;
  const Pack s = -(B + copy_sign(square_root(B * B - A * C), B));
  Pack best(infinity);
  for (const Pack& t : {s / A, C / s}) {
    const Vec3<Pack> at = o + t * e;
    const auto good = (t > 0) & (t < best) & (1 - q * c * at.z > 0) &
                      (at.x * at.x + at.y * at.y <= secondary_radius * secondary_radius);
    best = select(good, t, best);
  }
  return best;
}

Pack meet_ball(const Vec3<Pack>& p, const Vec3<Pack>& d) {
  const Vec3<Pack> o{p.x, p.y, p.z - ball_z};
  const Pack B = dot(o, d), C = dot(o, o) - ball_radius * ball_radius;
  const Pack root = square_root(B * B - C);
  const Pack near = -B - root, far = root - B;
  return select(near > 0, near, select(far > 0, far, Pack(infinity)));  // NaN where it misses: no comparison holds
}

double sum(const Pack& x) {
  alignas(64) std::array<double, Pack::size> lane;
  x.store_aligned(lane.data());
  double out = 0;
  for (const double y : lane) out += y;
  return out;
}

}  // namespace

BareResult bare_bowl(std::uint64_t samples, std::uint64_t seed) {
  const auto began = std::chrono::steady_clock::now();
  LaneRandom random(seed);
  constexpr int azimuths = 96, heights = 60;
  std::vector<double> flux(azimuths * heights);
  Pack incident(0.0), on_ball(0.0), missed(0.0);
  const double sine_limit = sine_cosine(sun_half_angle).sine;
  for (std::uint64_t i = 0; i < samples; i += Pack::size) {
    // A point of the bowl, even over its aperture, and a point of the sun, straight overhead.
    const Pack r = bowl_aperture_radius * square_root(random());
    const auto round = sine_cosine_of_turns(random());
    const double c = 1 / bowl_radius;
    const Pack r2 = r * r;
    const Vec3<Pack> p{r * round.cosine, r * round.sine, c * r2 / (1 + square_root(1 - c * c * r2))};
    const Vec3<Pack> n{-c * p.x, -c * p.y, 1 - c * p.z};
    const Pack sine = sine_limit * square_root(random());
    const auto turn = sine_cosine_of_turns(random());
    const Vec3<Pack> sun{sine * turn.cosine, sine * turn.sine, square_root(1 - sine * sine)};
    Pack weight = dot(sun, n) / (n.z * sun.z);
    incident += weight;
    // In the shadow of the ball or of the secondary?
    const auto shaded = (meet_ball(p, sun) < infinity) | (meet_secondary(p, sun) < infinity);
    weight = select(shaded, Pack(0.0), weight * reflectance);
    const Vec3<Pack> d = reflect(-sun, n, draw_slope(random));
    // To whichever comes first.
    const Pack to_secondary = meet_secondary(p, d), to_ball = meet_ball(p, d);
    const auto by_secondary = to_secondary < to_ball;
    const Vec3<Pack> at = p + select(by_secondary, to_secondary, Pack(0.0)) * d;
    const double cs = -secondary_curvature;
    const Vec3<Pack> m = unit(Vec3<Pack>{-cs * at.x, cs * at.y, 1 - secondary_q * cs * (vertex_z - at.z)});
    const Vec3<Pack> e = reflect(d, {m.x, -m.y, -m.z}, draw_slope(random));
    weight = select(by_secondary, weight * reflectance, weight);
    const Vec3<Pack> last = select<Pack>(by_secondary, e, d);
    const Pack t = select(by_secondary, meet_ball(at, last), to_ball);
    const auto caught = t < infinity;
    on_ball += select(caught, weight, Pack(0.0));
    missed += select(caught, Pack(0.0), weight);
    // The flux map.
    const Vec3<Pack> hit = at + t * last;
    Pack azimuth = xsimd::atan2(hit.y, hit.x);
    azimuth = select(azimuth < 0, azimuth + 2 * pi, azimuth);
    const auto bin = [](const Pack& x, int count) {
      return xsimd::floor(smaller(larger(x, Pack(0.0)), Pack(count - 0.5)));
    };
    const Pack index = bin(azimuth * (azimuths / (2 * pi)), azimuths) * heights +
                       bin((hit.z - ball_z + ball_radius) * (heights / (2 * ball_radius)), heights);
    alignas(64) std::array<double, Pack::size> where, what;
    select(caught, index, Pack(0.0)).store_aligned(where.data());
    select(caught, weight, Pack(0.0)).store_aligned(what.data());
    for (std::size_t l = 0; l < Pack::size; ++l) flux[static_cast<std::size_t>(where[l])] += what[l];
  }
  const double arriving = sum(on_ball);
  BareResult out;
  out.intercept_factor = arriving / (arriving + sum(missed));
  out.absorbed_share = absorptance * arriving / sum(incident);
  out.peak_share = *std::max_element(flux.begin(), flux.end()) / arriving;
  out.seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - began).count();
  return out;
}

}  // namespace catoptra::benchmark
