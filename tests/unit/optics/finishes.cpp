// What each finish does to light, alone and without a tracer.
#include <catch2/catch.hpp>
#include <random>
#include <vector>

#include "optics/finish.h"

using namespace catoptra;

namespace {

constexpr double deg = pi / 180;

/// Light onto a level surface from `angle_rad` off its normal.
Arrival<double> onto_level(double angle_rad, double weight = 1) {
  const Vec d{std::sin(angle_rad), 0, -std::cos(angle_rad)}, n{0, 0, 1};
  return {.direction = d, .normal = n, .turned_normal = n, .cosine = -dot(d, n), .weight = weight};
}

Mirror silver() {
  return {.reflectance = {{{0, 0.95}, {80 * deg, 0.85}}},
          .slope_error_rad = {2e-3, 3e-3},
          .specularity_error_rad = {1e-3, 1e-3}};
}

std::vector<AnyFinish> one_of_each() {
  SellmeierGlass bk7;  // invented numbers near a crown glass
  bk7.b1 = 1.2, bk7.c1_m2 = 0.01e-12, bk7.wavelength_m = 550e-9, bk7.thickness_m = 4e-3, bk7.absorption_per_m = 20;
  Glass pane;
  pane.refractive_index = 1.5, pane.thickness_m = 3e-3, pane.absorption_per_m = 10;
  Mirror stripes = silver();
  stripes.specularity_error_rad = {1e-3, 4e-3};
  return {silver(), stripes, Absorber{{{{0, 0.95}, {60 * deg, 0.7}}}, {0}}, Dark{}, Absorber{{{{0, 0.9}}}, {1}},
          pane,     bk7};
}

template <class Finish, class Real>
Drawn<Finish, Real> draw(const Finish& finish, double u, double v) {
  Drawn<Finish, Real> out;
  for (std::size_t k = 0; k < out.size(); ++k) {
    if (finish.wants(Finish::draws[k])) out[k] = {true, Real(u), Real(v)};
  }
  return out;
}

/// What comes of an arrival, whatever kind of finish it is; nothing goes on from one that stops all light.
template <class Real, class Finish>
Departure<Real> outcome(const Finish& finish, const Arrival<Real>& in, double u, double v) {
  if constexpr (ActsThroughAnother<Finish>) {
    return outcome<Real>(finish.acts_as(), in, u, v);
  } else if constexpr (SendsOn<Finish>) {
    return finish.depart(in, draw<Finish, Real>(finish, u, v));
  } else if constexpr (SendsLittleOn<Finish>) {
    return {finish.direction(in, draw<Finish, Real>(finish, u, v)), finish.part(in)};
  } else {
    return {in.direction, {Real(0), in.weight}};
  }
}

Vec direction_of(const AnyFinish& finish, const Arrival<double>& in) {
  const auto out =
      std::visit([&](const auto& kind) { return direction_onward(kind, in.direction, in.normal); }, finish);
  return out.value_or(Vec{0, 0, 0});
}

bool same(const Vec& a, const Vec& b) {
  return a.x == b.x && a.y == b.y && a.z == b.z;
}

}  // namespace

TEST_CASE("a finish parts all of the weight, sends on a unit direction, and the same bits in lanes", "[optics]") {
  std::mt19937_64 random(11);
  std::normal_distribution<double> gaussian;
  std::uniform_real_distribution<double> even(0x1p-53, 1);
  for (const AnyFinish& any : one_of_each()) {
    int unequal = 0, long_ones = 0, lossy = 0, backward = 0;
    for (int i = 0; i < 2000; ++i) {
      const Vec n = unit(Vec{gaussian(random), gaussian(random), gaussian(random)});
      Vec d = unit(Vec{gaussian(random), gaussian(random), gaussian(random)});
      if (dot(d, n) > 0) d = -d;
      const double u = even(random), v = even(random), weight = even(random);
      const bool round = i % 2 == 0;
      Arrival<double> in{.direction = d, .normal = n, .turned_normal = n, .cosine = -dot(d, n), .weight = weight};
      in.round = round;
      Arrival<Pack> wide{.direction = broadcast<Pack>(d),
                         .normal = broadcast<Pack>(n),
                         .turned_normal = broadcast<Pack>(n),
                         .cosine = Pack(in.cosine),
                         .weight = Pack(weight)};
      wide.round = round;
      std::visit(
          [&](const auto& finish) {
            const Departure<double> one = outcome<double>(finish, in, u, v);
            const Departure<Pack> four = outcome<Pack>(finish, wide, u, v);
            unequal += four.shares.onward.get(0) != one.shares.onward || four.shares.kept.get(3) != one.shares.kept ||
                       four.direction.x.get(1) != one.direction.x || four.direction.y.get(2) != one.direction.y ||
                       four.direction.z.get(3) != one.direction.z;
            long_ones += std::fabs(length(one.direction) - 1) > 1e-14;
            lossy += std::fabs(one.shares.onward + one.shares.kept - weight) > 0x1p-52;  // two roundings
            backward += one.shares.onward < 0 || one.shares.kept < 0;
          },
          any);
    }
    INFO("finish " << any.index());
    CHECK(unequal == 0);
    CHECK(long_ones == 0);
    CHECK(lossy == 0);
    CHECK(backward == 0);
  }
}

TEST_CASE("a mirror reflects about the normal that its mount has turned", "[optics]") {
  Mirror flat{.reflectance = {{{0, 0.9}}}, .slope_error_rad = {}, .specularity_error_rad = {}};
  Arrival<double> in = onto_level(30 * deg, 2);
  const auto straight = flat.depart(in, {});
  CHECK(straight.direction.x == Approx(0.5).epsilon(1e-15));
  CHECK(straight.direction.z == Approx(std::sqrt(0.75)).epsilon(1e-15));
  CHECK(straight.shares.onward == 1.8);
  CHECK(straight.shares.kept == Approx(0.2).epsilon(1e-15));
  // A mirror that turns by a turns the ray by 2 a; the reflectance is that of the mean surface.
  in.turned_normal = {std::sin(0.01), 0, std::cos(0.01)};
  const auto turned_ray = flat.depart(in, {});
  CHECK(std::atan2(turned_ray.direction.x, turned_ray.direction.z) == Approx(30 * deg + 0.02).epsilon(1e-13));
  // At grazing incidence the same error can turn the ray into the mirror: there it stays.
  in = onto_level(89.9 * deg);
  in.turned_normal = {std::sin(0.01), 0, std::cos(0.01)};
  CHECK(flat.depart(in, {}).shares.onward == 0);
  CHECK(flat.depart(in, {}).shares.kept == 1);
  CHECK(flat.depart(onto_level(89.9 * deg), {}).shares.onward == 0.9);
}

TEST_CASE("a slope tilts the ray by twice itself, a specularity error by itself", "[optics]") {
  // u = exp(-1/2), v = 0: a pair of Gaussians (1, 0) by Box and Muller's formula.
  const double u = std::exp(-0.5), v = 0x1p-60, s = 1e-3;
  const DrawnPair<double> one{true, u, v};
  const Drawn<Mirror, double> first{one, DrawnPair<double>{}}, second{DrawnPair<double>{}, one};
  const Arrival<double> in = onto_level(0);
  const auto angle = [](const Departure<double>& out) { return std::atan2(out.direction.x, out.direction.z); };
  const Mirror slopes{{{{0, 1}}}, {s, 0}, {}}, scatters{{{{0, 1}}}, {}, {s, s}};
  CHECK(angle(slopes.depart(in, first)) == Approx(2 * std::atan(s)).epsilon(1e-9));
  CHECK(std::fabs(angle(scatters.depart(in, second))) == Approx(std::atan(s)).epsilon(1e-9));
  CHECK(angle(slopes.depart(in, {})) == 0);  // what is not drawn is not there
  CHECK(slopes.wants(Draw::slope));
  CHECK_FALSE(slopes.wants(Draw::specularity));
  CHECK(scatters.wants(Draw::specularity));
  CHECK_FALSE(scatters.wants(Draw::slope));
}

TEST_CASE("an absorber keeps its absorptance at the angle; the rest leaves matt or as from a mirror", "[optics]") {
  const Absorber matt{{{{0, 0.9}, {60 * deg, 0.6}}}, {0}}, shiny{{{{0, 0.9}}}, {1}};
  CHECK(matt.part(onto_level(30 * deg, 2)).kept == Approx(2 * 0.75).epsilon(1e-13));
  CHECK(matt.part(onto_level(30 * deg, 2)).onward == Approx(2 * 0.25).epsilon(1e-13));
  CHECK(matt.wants(Draw::rest));
  CHECK_FALSE(shiny.wants(Draw::rest));
  const Arrival<double> in = onto_level(40 * deg);
  CHECK(same(shiny.direction(in, {}), {in.direction.x, 0, -in.direction.z}));
  const Vec up =
      matt.direction(in, Drawn<Absorber, double>{DrawnPair<double>{
                             true, 0.25, 0.125}});  // sin^2 of the angle to the normal is u, for Lambert's law
  CHECK(up.z == Approx(std::sqrt(0.75)).epsilon(1e-15));
}

TEST_CASE("a pane lets light straight through", "[optics]") {
  // Without absorption (1 - r) / (1 + r), r = ((n - 1) / (n + 1))^2: J. A. Duffie and W. A. Beckman, Solar Engineering
  // of Thermal Processes, 4th ed. 2013, eq. 5.1.8, at normal incidence.
  const double r = 0.04;
  const Pane pane{.index = 1.5, .thickness_m = 3e-3, .absorption_per_m = 0};
  const auto out = pane.depart(onto_level(0, 2), {});
  CHECK(out.shares.onward == Approx(2 * (1 - r) / (1 + r)).epsilon(1e-14));
  const Arrival<double> in = onto_level(50 * deg);
  CHECK(same(pane.depart(in, {}).direction, in.direction));
  CHECK(dot(pane.depart(in, {}).direction, in.normal) < 0);  // the sign of light that goes through
}

TEST_CASE("where light goes on without errors", "[optics]") {
  const Arrival<double> in = onto_level(25 * deg);
  const Vec mirrored{in.direction.x, 0, -in.direction.z}, nowhere{0, 0, 0};
  CHECK(same(direction_of(silver(), in), mirrored));
  CHECK(same(direction_of(Absorber{{{{0, 0.9}}}, {1}}, in), mirrored));
  CHECK(same(direction_of(Absorber{{{{0, 0.9}}}, {0}}, in), nowhere));
  CHECK(same(direction_of(Dark{}, in), nowhere));
  Glass pane;
  pane.refractive_index = 1.5, pane.thickness_m = 3e-3;
  CHECK(same(direction_of(pane, in), in.direction));
}
