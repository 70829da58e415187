// Two flat mirrors, each with a slope error and a scatter of its own: all four are drawn apart, so their squares add.
#include "statistical/estimates.h"

using namespace catoptra;
using namespace catoptra::test;

TEST_CASE("errors of two mirrors in a row are independent of each other", "[statistical][errors]") {
  // A beam as thin as a pencil comes down, goes up the north at 45 degrees for 10 m, and is sent level to the south for
  // 10 m more. In the plane of incidence a slope counts twice; the first mirror's errors are carried 20 m, the second's
  // 10 m. Angles are so small that what is of second order in them is a hundred-thousandth.
  const double s1 = 0.5e-3, r1 = 1.2e-3, s2 = 0.8e-3, r2 = 1.5e-3, leg_m = 10, root = std::sqrt(0.5);
  const Vec first{0, 0, 0}, second{0, leg_m * root, leg_m * root}, target = second + Vec{0, -leg_m, 0};
  const auto halfway = [](const Vec& in, const Vec& out) { return unit(out - in); };
  const double rms_m = std::hypot(2 * leg_m * std::hypot(2 * s1, r1), leg_m * std::hypot(2 * s2, r2));
  const double half_m = rms_m;
  const auto got = traced(
      head(point_sun, "reflectance = 1\nslope_error_mrad = 0.5\nspecularity_error_mrad = 1.2") + R"(
[finish.second]
kind = "mirror"
reflectance = 1
slope_error_mrad = 0.8
specularity_error_mrad = 1.5
)" +
          component(
              "primary", "first",
              fmt::format("shape = {{ kind = \"plane\" }}\naperture = {{ kind = \"circle\", diameter_m = 0.0001 }}\n"
                          "finish = \"silver\"\nmount = {{ kind = \"fixed\", position_m = {}, axis = {} }}",
                          text_of(first), text_of(halfway({0, 0, -1}, unit(second))))) +
          component("secondary", "next",
                    fmt::format("shape = {{ kind = \"plane\" }}\naperture = {{ kind = \"circle\", diameter_m = 2 }}\n"
                                "finish = \"second\"\nmount = {{ kind = \"fixed\", position_m = {}, axis = {} }}",
                                text_of(second), text_of(halfway(unit(second), {0, -1, 0})))) +
          component("receiver", "strip",
                    fmt::format("shape = {{ kind = \"plane\" }}\n"
                                "aperture = {{ kind = \"rectangle\", width_m = 2, length_m = {} }}\n"
                                "finish = \"black\"\nmount = {{ kind = \"fixed\", position_m = {}, axis = [0, 1, 0] }}",
                                2 * half_m, text_of(target))),
      1 << 19);
  const auto expected = [&](double rms) { return std::erf(half_m / (rms * std::sqrt(2.0))); };
  CHECK_THAT(got.intercept_factor, WithinSigmas(expected(rms_m), 5));
  // Twins: the second's slope tied to an error of the first's, one way or the other.
  const double tied = 2 * (2 * leg_m * r1) * (leg_m * 2 * s2);
  CHECK_THAT(got.intercept_factor, !WithinSigmas(expected(std::sqrt(rms_m * rms_m + tied)), 5));
  CHECK_THAT(got.intercept_factor, !WithinSigmas(expected(std::sqrt(rms_m * rms_m - tied)), 5));
  CHECK_THAT(got.intercept_factor, !WithinSigmas(expected(1.01 * rms_m), 5));
}

TEST_CASE("a concave matt receiver: what arrives, what is absorbed and what its map counts", "[statistical][errors]") {
  // A cap of a sphere sends a share f of what it scatters onto itself, its share of the whole sphere, from wherever
  // (the integrating sphere; J. R. Howell et al., Thermal Radiation Heat Transfer: the view factor from anywhere on a
  // sphere's inside to a part of it, from memory). P arrives; the map counts P / (1 - (1 - a) f), of which a share a is
  // absorbed. Cap of half-angle 80 degrees: f = (1 - cos 80) / 2.
  const double a = 0.4, f = (1 - std::cos(80 * degree_rad)) / 2, root = std::sqrt(0.75);
  // The sun in the south, 60 degrees high; the light goes up the north, where the cap stands out of the sun's way.
  const auto got =
      traced(head(point_sun, "reflectance = 1", {180, 60}) + "[finish.grey]\nkind = \"absorber\"\nabsorptance = 0.4\n" +
                 component("primary", "mirror",
                           "shape = { kind = \"plane\" }\naperture = { kind = \"circle\", diameter_m = 0.5 }\n"
                           "finish = \"silver\"\nmount = { kind = \"fixed\" }") +
                 component("receiver", "cap",
                           fmt::format("shape = {{ kind = \"sphere\", radius_m = 1 }}\n"
                                       "aperture = {{ kind = \"circle\", diameter_m = {} }}\nfinish = \"grey\"\n"
                                       "mount = {{ kind = \"fixed\", position_m = {}, axis = {} }}",
                                       2 * std::sin(80 * degree_rad), text_of(7.0 * Vec{0, 0.5, root}),
                                       text_of(Vec{0, -0.5, -root}))),
             1 << 19);
  CHECK(got.receivers.size() == 1);
  const ReceiverResult& cap = got.receivers[0];
  const double sent_W = 1000 * pi * 0.0625 * root;
  CHECK_THAT(cap.arriving_power_W, WithinSigmas(sent_W, 5));
  const double counted_W = sent_W / (1 - (1 - a) * f);
  CHECK_THAT(cap.absorbed_power_W, WithinSigmas(a * counted_W, 5));
  CHECK_THAT(cap.absorbed_power_W, !WithinSigmas(a * sent_W, 5));
  CHECK_THAT(cap.mean_concentration, WithinSigmas(counted_W / (1000 * cap.area_m2), 5));
  CHECK_THAT(cap.mean_concentration, !WithinSigmas(sent_W / (1000 * cap.area_m2), 5));
  CHECK_THAT(term(got, Term::receiver_reflection), WithinSigmas(sent_W - a * counted_W, 5));
  CHECK_THAT(got.intercept_factor, WithinSigmas(1, 5));
}
