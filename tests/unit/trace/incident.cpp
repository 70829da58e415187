// What the sun sends onto primaries, and what other bodies keep from them: against closed forms and quadratures of the
// test's own.
#include <catch2/catch.hpp>
#include <fmt/format.h>

#include "statistical/estimates.h"
#include "trace/plan.h"
#include "trace/summary.h"

namespace catoptra {

using namespace test;

namespace {

Vec sun_at(double azimuth_deg, double elevation_deg) {
  const double a = azimuth_deg * degree_rad, e = elevation_deg * degree_rad;
  return {std::sin(a) * std::cos(e), std::cos(a) * std::cos(e), std::sin(e)};
}

std::string mirror(std::string_view shape, std::string_view aperture) {
  return component("primary", "m",
                   fmt::format("shape = {{ {} }}\n{}finish = \"silver\"\nmount = {{ kind = \"fixed\" }}", shape,
                               aperture.empty() ? "" : fmt::format("aperture = {{ {} }}\n", aperture)));
}

double shading_W(const TraceResult& got) {
  return term(got, Term::shading).value;
}

/// Nothing stands in the way, and what comes in is known.
void check_unshaded(const TraceResult& got, double incident_W, double exact = 1e-9) {
  CHECK(got.incident_power_W == Approx(incident_W).epsilon(exact));
  CHECK(shading_W(got) == 0);
  CHECK(term(got, Term::cosine).value ==
        Approx(got.dni_W_m2 * got.aperture_area_m2 - incident_W).margin(exact * incident_W));
  check_closes(got);
}

}  // namespace

TEST_CASE("half a sphere's cap takes in what passes its rim", "[trace][incident]") {
  // Vector area of the cap's half on the side of +-y, by integrating the normal (-sin t cos p, -sin t sin p, cos t)
  // over R^2 sin t dt dp: (0, -+R^2 (T - sin T cos T), pi R^2 sin^2 T / 2), T the angle of the rim.
  const double T = 30 * degree_rad, R = 10;
  const double side = R * R * (T - std::sin(T) * std::cos(T)), up = pi * R * R * std::sin(T) * std::sin(T) / 2;
  for (const auto& sun : {sun_at(180, 50), sun_at(90, 50), sun_at(180, 90), sun_at(20, 65)}) {
    const double elevation = std::asin(sun.z) / degree_rad, azimuth = std::atan2(sun.x, sun.y) / degree_rad;
    CAPTURE(azimuth, elevation);
    const auto half = [&](double from_deg) {
      return traced(head(disc_sun, "reflectance = 1", {azimuth, elevation}) +
                        mirror("kind = \"sphere\", radius_m = 10",
                               fmt::format("kind = \"sector\", outer_diameter_m = 10, from_deg = {}, to_deg = {}",
                                           from_deg, from_deg + 180)),
                    1 << 14);
    };
    check_unshaded(half(0), 1000 * (-side * sun.y + up * sun.z));
    check_unshaded(half(180), 1000 * (side * sun.y + up * sun.z));
    if (std::fabs(sun.y) > 0.1) {  // aperture area times cosine, which is wrong here
      CHECK_FALSE(half(0).incident_power_W == Approx(1000 * up * sun.z).epsilon(1e-3));
    }
  }
}

TEST_CASE("an off-axis paraboloid takes in what passes its rim", "[trace][incident]") {
  // z = (x^2 + y^2) / 4f over a circle about (c, 0): the integral of (-x / 2f, -y / 2f, 1) is area x (-c / 2f, 0, 1).
  const double area = pi;
  for (const auto& sun : {sun_at(270, 60), sun_at(90, 75), sun_at(0, 30)}) {
    const double elevation = std::asin(sun.z) / degree_rad, azimuth = std::atan2(sun.x, sun.y) / degree_rad;
    CAPTURE(azimuth, elevation);
    const auto got = traced(
        head(point_sun, "reflectance = 1", {azimuth, elevation}) +
            mirror("kind = \"paraboloid\", focal_length_m = 4", "kind = \"circle\", diameter_m = 2, center_m = [3, 0]"),
        1 << 14);
    check_unshaded(got, 1000 * area * (-3.0 / 8 * sun.x + sun.z));
  }
}

TEST_CASE("rims of straight edges, off the axis", "[trace][incident]") {
  // The same over a triangle and a rectangle: the paraboloid's slope is linear, so its mean stands at the centroid.
  const Vec sun = sun_at(200, 70);
  const auto got = [&](std::string_view shape, std::string_view aperture) {
    return traced(head(disc_sun, "reflectance = 1", {200, 70}) + mirror(shape, aperture), 1 << 14);
  };
  check_unshaded(
      got("kind = \"paraboloid\", focal_length_m = 4", "kind = \"polygon\", points_m = [[1, 0], [4, 0], [1, 3]]"),
      1000 * 4.5 * (-2.0 / 8 * sun.x - 1.0 / 8 * sun.y + sun.z));
  check_unshaded(got("kind = \"parabolic_trough\", focal_length_m = 4",
                     "kind = \"rectangle\", width_m = 2, length_m = 3, center_m = [2, 5]"),
                 1000 * 6 * (-2.0 / 8 * sun.x + sun.z));
}

TEST_CASE("a cone's outside catches its lit side", "[trace][incident]") {
  // The integral of max(0, n . s) dA round the cone, in 10^6 steps of the test's own.
  const double bottom = 5, top = 1.25, height = 18, slope = (bottom - top) / height;
  for (const double elevation_deg : {12.0, 25.0, 60.0, 79.0, 90.0}) {
    CAPTURE(elevation_deg);
    const Vec sun = sun_at(180, elevation_deg);
    double per_height = 0;  // of the mean radius
    const int steps = 1'000'000;
    for (int i = 0; i < steps; ++i) {
      const double p = 2 * pi * (i + 0.5) / steps;
      per_height += std::fmax(0, -std::sin(p) * std::cos(elevation_deg * degree_rad) + slope * sun.z) * 2 * pi / steps;
    }
    const double incident_W = 1000 * per_height * (bottom + top) / 2 * height;
    const auto got = traced(
        head(point_sun, "reflectance = 1", {180, elevation_deg}) +
            mirror("kind = \"cone\", bottom_radius_m = 5, top_radius_m = 1.25, height_m = 18, front = \"outside\"", ""),
        1 << 16);
    check_unshaded(got, incident_W, 1e-8);
    if (elevation_deg == 90) {  // all of it is lit: the ring between the rims
      CHECK(got.incident_power_W == Approx(1000 * pi * (25 - 1.25 * 1.25)).epsilon(1e-9));
      CHECK(term(got, Term::cosine).value == Approx(0).margin(1e-6 * incident_W));
    } else if (elevation_deg < 70) {
      CHECK(term(got, Term::cosine).value < 0);  // more than the aperture's share
    }
  }
}

TEST_CASE("a bowl whose rim shadows its wall loses nothing by it", "[trace][incident]") {
  for (const double elevation_deg : {60.0, 35.0, 15.0, 3.0}) {
    CAPTURE(elevation_deg);
    const auto got = traced(head(disc_sun, "reflectance = 1", {140, elevation_deg}) +
                                mirror("kind = \"sphere\", radius_m = 10", "kind = \"circle\", diameter_m = 17"),
                            1 << 16);
    check_unshaded(got, 1000 * pi * 8.5 * 8.5 * std::sin(elevation_deg * degree_rad));
  }
}

TEST_CASE("a whole hemisphere, and half a tube, take in what passes their rims", "[trace][incident]") {
  for (const double elevation_deg : {90.0, 40.0}) {
    CAPTURE(elevation_deg);
    for (const double R : {10.0, 7.0, 0.3}) {  // 1 / R is rounded up or down
      CAPTURE(R);
      const auto got = traced(head(disc_sun, "reflectance = 0", {140, elevation_deg}) +
                                  mirror(fmt::format("kind = \"sphere\", radius_m = {}", R),
                                         fmt::format("kind = \"circle\", diameter_m = {}", 2 * R)),
                              1 << 15);
      check_unshaded(got, 1000 * pi * R * R * std::sin(elevation_deg * degree_rad));
      CHECK(term(got, Term::primary_absorption).value == Approx(got.incident_power_W).epsilon(1e-3));
    }
  }
  const auto tube =
      traced(head(point_sun, "reflectance = 0") +
                 mirror("kind = \"circular_trough\", radius_m = 7", "kind = \"rectangle\", width_m = 14, length_m = 5"),
             1 << 14);
  check_unshaded(tube, 1000 * 14 * 5);
}

TEST_CASE("light that leaves by a trough's open ends is no part of its incident power", "[trace][incident]") {
  // z = x^2 / 4f. The line from x1 toward the sun meets the section again at x2 = 4 f s_z / s_x - x1: in shadow where
  // that is ahead of it, inside the width, and not beyond an end. Counted over a grid of 4 million points.
  const double f = 1, half_width = 3, half_length = 2;
  const Vec sun = sun_at(110, 25);
  double lit_m2 = 0, rim_m2 = 0;
  const int n = 2000;
  for (int i = 0; i < n; ++i) {
    const double x = half_width * (2 * (i + 0.5) / n - 1), weight = sun.z - sun.x * x / (2 * f);
    const double across = 4 * f * sun.z / sun.x - x, t = (across - x) / sun.x;
    for (int j = 0; j < n; ++j) {
      const double y = half_length * (2 * (j + 0.5) / n - 1);
      const bool shadow = t > 0 && std::fabs(across) < half_width && std::fabs(y + t * sun.y) < half_length;
      const double area = 4 * half_width * half_length / (1.0 * n * n);
      rim_m2 += weight * area;
      if (weight > 0 && !shadow) lit_m2 += weight * area;
    }
  }
  REQUIRE(std::fabs(lit_m2 - rim_m2) > 0.02 * rim_m2);
  const auto got =
      traced(head(point_sun, "reflectance = 1", {110, 25}) + mirror("kind = \"parabolic_trough\", focal_length_m = 1",
                                                                    "kind = \"rectangle\", width_m = 6, length_m = 4"),
             1 << 18);
  const Estimate incident{got.incident_power_W, term(got, Term::cosine).standard_error};
  CHECK(incident.standard_error > 0);
  CHECK_THAT(incident, WithinSigmas(1000 * lit_m2, 5));
  CHECK_THAT(incident, !WithinSigmas(1010 * lit_m2, 5));
  CHECK(shading_W(got) == 0);
  check_closes(got);
}

TEST_CASE("a mirror edge-on still sees half of a wide sun", "[trace][incident]") {
  // Of an even disc of radius a = sin(half-angle), the mean of max(0, x) is 2 a / 3 pi.
  const auto got = traced(head("kind = \"disc\", half_angle_mrad = 20", "reflectance = 1", {90, 30}) +
                              component("primary", "m", R"(shape = { kind = "plane" }
aperture = { kind = "rectangle", width_m = 2, length_m = 3 }
finish = "silver"
mount = { kind = "fixed", axis = [0, 1, 0] })"),
                          1 << 18);
  const double expected_W = 1000 * 6 * 2 * std::sin(0.02) / (3 * pi);
  const Estimate incident{got.incident_power_W, term(got, Term::cosine).standard_error + 4e-4 * expected_W};
  CHECK_THAT(incident, WithinSigmas(expected_W, 1));  // tan for sin of 20 mrad: within 2e-4
  CHECK_THAT(incident, !WithinSigmas(1.01 * expected_W, 1));
  check_closes(got);
}

TEST_CASE("jitter of a collector that carries its receiver is part of the cosine", "[trace][incident]") {
  // On the axis the mean of 1 / sqrt(1 + r^2), r^2 / 2 s^2 exponential: 1 - s^2 + 3 s^4 - 15 s^6 to within 105 s^8.
  const double s = 0.05;
  const auto got =
      traced(head(point_sun) + component("primary", "m", R"(shape = { kind = "paraboloid", focal_length_m = 2 }
aperture = { kind = "circle", diameter_m = 3 }
finish = "silver"
mount = { kind = "two_axis", jitter_mrad = 50 })") +
                 component("receiver", "r", R"(shape = { kind = "disc", diameter_m = 0.1 }
finish = "black"
mount = { kind = "carried", by = "m", position_m = [0, 0, 2], axis = [0, 0, -1] })"),
             1 << 18);
  const double full_W = 1000 * pi * 2.25;
  CHECK(got.incident_power_W == Approx(full_W * (1 - s * s + 3 * std::pow(s, 4) - 15 * std::pow(s, 6))).epsilon(1e-8));
  check_closes(got);
}

TEST_CASE("shading is what other bodies keep from a mirror, counted", "[trace][incident]") {
  // A ball straight above keeps off its own section of a point sun's light; of a second mirror's, nothing.
  const auto got =
      traced(head(point_sun) + mirror("kind = \"sphere\", radius_m = 10", "kind = \"circle\", diameter_m = 17") +
                 component("obstacle", "ball", R"(shape = { kind = "ball", radius_m = 2 }
finish = "dark"
mount = { kind = "fixed", position_m = [1, 1, 20] })"),
             1 << 18);
  CHECK_THAT(term(got, Term::shading), WithinSigmas(1000 * pi * 4, 5));
  CHECK_THAT(term(got, Term::shading), !WithinSigmas(1010 * pi * 4, 5));
  check_closes(got);
}

TEST_CASE("a budget that does not close is told", "[trace][incident]") {
  const Scene scene = scene_of(head(disc_sun) + mirror("kind = \"plane\"", "kind = \"circle\", diameter_m = 2"));
  const Plan plan = make_plan(scene);
  const LedgerLayout layout(plan, scene);
  const BlankResult blank = blank_result(plan, scene, layout);
  const auto of = [&](double share) {  // of all light, spilt; a little less or more in each replicate
    std::vector<Ledger> ledgers = empty_ledgers(32, layout.size);
    for (int r = 0; r < 32; ++r) ledgers[r].add(layout.term(0, Term::spillage), to_fixed(share + 1e-4 * (r - 15.5)));
    return summarise(plan, blank, layout, ledgers, {.by_primaries = 1, .direct = 0});
  };
  CHECK(of(1).warnings.empty());
  CHECK_THAT(of(1).closure, WithinSigmas(0, 1));
  const TraceResult open = of(0.99);
  CHECK(open.closure.value == Approx(10 * pi).epsilon(1e-6));
  REQUIRE(open.warnings.size() == 1);
  CHECK(open.warnings.front().find("the budget does not close: 31.42 W") == 0);
  CHECK(of(1.01).warnings.size() == 1);
}

}  // namespace catoptra
