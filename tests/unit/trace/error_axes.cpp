// Which way the two numbers of an error point: [toward x, toward y] for surfaces, [about x, about y] for mounts.
#include <catch2/catch.hpp>
#include <fmt/format.h>

#include "statistical/estimates.h"

namespace catoptra {

using namespace test;

namespace {

/// rms of where light lands on the only receiver, along each axis of its map (bins' middles), about its own mean.
std::array<double, 2> spread(const TraceResult& got) {
  const FluxMap& map = got.receivers.front().flux;
  const std::size_t rows = map.first.edges.size() - 1, columns = map.second.edges.size() - 1;
  std::array<double, 3> x{}, y{};  // moments 0 to 2
  for (std::size_t i = 0; i < rows; ++i) {
    for (std::size_t j = 0; j < columns; ++j) {
      if (!(map.area_m2[i * columns + j] > 0)) continue;
      const double w = map.flux_W_m2[i * columns + j] * map.area_m2[i * columns + j];
      const double a = (map.first.edges[i] + map.first.edges[i + 1]) / 2;
      const double b = (map.second.edges[j] + map.second.edges[j + 1]) / 2;
      x[0] += w, x[1] += w * a, x[2] += w * a * a;
      y[0] += w, y[1] += w * b, y[2] += w * b * b;
    }
  }
  const auto rms = [](const std::array<double, 3>& m) { return std::sqrt(m[2] / m[0] - m[1] * m[1] / (m[0] * m[0])); };
  return {rms(x), rms(y)};
}

/// A small flat mirror at the origin under a point sun that its axis points at, and a screen 10 m before it, which
/// looks back at it with its x axis where the mirror's would lie: both level.
TraceResult thrown(std::string_view error, const Vec& axis, std::string_view mount = "kind = \"fixed\"") {
  const double elevation = std::asin(axis.z) / degree_rad, azimuth = std::atan2(axis.x, axis.y) / degree_rad;
  return traced(
      head(point_sun, fmt::format("reflectance = 1\n{}", error), {azimuth, elevation}) +
          component("primary", "m",
                    fmt::format("shape = {{ kind = \"plane\" }}\naperture = {{ kind = \"circle\", diameter_m = "
                                "0.01 }}\nfinish = \"silver\"\nmount = {{ {}, {} = {} }}",
                                mount, mount.find("steered") != mount.npos ? "home_axis" : "axis", text_of(axis))) +
          component("receiver", "screen",
                    fmt::format("shape = {{ kind = \"plane\" }}\naperture = {{ kind = \"annulus\", "
                                "outer_diameter_m = 2, inner_diameter_m = 0.03 }}\nfinish = \"black\"\n"
                                "mount = {{ kind = \"fixed\", position_m = {}, axis = {} }}\n"
                                "flux = {{ bins = [100, 100] }}",
                                text_of(10.0 * axis), text_of(-1.0 * axis))),
      1 << 15);
}

/// The expected rms of 20 mrad of ray at 10 m, within the bins' 20 mm and the hole's 15 mm that light is lost through.
void check_along(const std::array<double, 2>& got, int along) {
  CHECK(got[along] == Approx(0.2).epsilon(0.1));
  CHECK(got[1 - along] < 0.02);
}

const std::array<Vec, 3> axes{Vec{0, 0, 1}, Vec{0.6, 0, 0.8}, Vec{0, -0.6, 0.8}};

}  // namespace

TEST_CASE("slope and specularity errors tilt toward x first, then toward y", "[trace][errors]") {
  for (const Vec& axis : axes) {
    CAPTURE(axis.x, axis.y);
    check_along(spread(thrown("slope_error_mrad = [10, 0]", axis)), 0);
    check_along(spread(thrown("slope_error_mrad = [0, 10]", axis)), 1);
    check_along(spread(thrown("specularity_error_mrad = [20, 0]", axis)), 0);
    check_along(spread(thrown("specularity_error_mrad = [0, 20]", axis)), 1);
  }
}

TEST_CASE("jitter turns about x first, which throws light along y", "[trace][errors]") {
  for (const Vec& axis : axes) {
    CAPTURE(axis.x, axis.y);
    check_along(spread(thrown("", axis, "kind = \"steered\", home_m = [0, 0, 0], jitter_mrad = [10, 0]")), 1);
    check_along(spread(thrown("", axis, "kind = \"steered\", home_m = [0, 0, 0], jitter_mrad = [0, 10]")), 0);
  }
}

TEST_CASE("the level x axis of an axis that leans east points north", "[trace][errors]") {
  // A screen that lies level and upright instead, whose own x points east: the spread along the mirror's x comes out
  // along north.
  const Vec axis{0.6, 0, 0.8};
  const double elevation = std::asin(axis.z) / degree_rad;
  const auto got = traced(head(point_sun, "reflectance = 1\nslope_error_mrad = [10, 0]", {90, elevation}) +
                              component("primary", "m", R"(shape = { kind = "plane" }
aperture = { kind = "circle", diameter_m = 0.01 }
finish = "silver"
mount = { kind = "fixed", axis = [0.6, 0, 0.8] })") +
                              component("receiver", "screen", R"(shape = { kind = "plane" }
aperture = { kind = "annulus", outer_diameter_m = 2, inner_diameter_m = 0.03 }
finish = "black"
mount = { kind = "fixed", position_m = [6, 0, 8], axis = [0, 0, -1] }
flux = { bins = [100, 100] })"),
                          1 << 15);
  CHECK(spread(got)[0] < 0.02);                       // east
  CHECK(spread(got)[1] == Approx(0.2).epsilon(0.1));  // north or south
}

TEST_CASE("on a curved mirror x is laid onto the surface", "[trace][errors]") {
  // A trough met at the half-way rim: tilts toward x spread light across the focal line, those toward y along it. The
  // outer ray's path is 2 f / (1 + cos 60) and longer than the middle's.
  const auto got =
      [](std::string_view error) {
        return spread(traced(head(point_sun, fmt::format("reflectance = 1\n{}", error)) +
                                 component("primary", "m", R"(shape = { kind = "parabolic_trough", focal_length_m = 5 }
aperture = { kind = "rectangle", width_m = 0.02, length_m = 0.02, center_m = [5, 0] }
finish = "silver"
mount = { kind = "fixed" })") + component("receiver", "screen", R"(shape = { kind = "plane" }
aperture = { kind = "rectangle", width_m = 2, length_m = 2 }
finish = "black"
mount = { kind = "fixed", position_m = [0, 0, 5], axis = [5, 0, -3.75] }
flux = { bins = [100, 100] })"),
                             1 << 15));
      };
  // Mirror at (5, 0, 1.25), 6.25 m from the focus; its normal leans by atan(0.5) from the ray: 2 x 10 mrad in the plane
  // of incidence, times cos(atan 0.5) across it. The screen's own x lies level across its axis: along y.
  const double away = 6.25, across = std::cos(std::atan(0.5));
  CHECK(got("slope_error_mrad = [10, 0]")[1] == Approx(0.02 * away).epsilon(0.05));
  CHECK(got("slope_error_mrad = [10, 0]")[0] < 0.02);
  CHECK(got("slope_error_mrad = [0, 10]")[0] == Approx(0.02 * away * across).epsilon(0.05));
  CHECK(got("slope_error_mrad = [0, 10]")[1] < 0.02);
}

TEST_CASE("on a tube the first slope runs round it, the second along it", "[trace][errors]") {
  // A flat mirror throws a thin beam level toward east, square onto the side of a wide tube that lies along north,
  // which sends it back onto a screen. Tilts round the tube throw it up and down, tilts along it north and south.
  const auto got = [](std::string_view error) {
    return spread(traced(head(point_sun) +
                             fmt::format("[finish.rough]\nkind = \"mirror\"\nreflectance = 1\n{}\n", error) +
                             component("primary", "m", R"(shape = { kind = "plane" }
aperture = { kind = "rectangle", width_m = 0.002, length_m = 0.002 }
finish = "silver"
mount = { kind = "fixed", position_m = [0, 0, 0], axis = [1, 0, 1] })") +
                             component("secondary", "tube", R"(shape = { kind = "cylinder", radius_m = 5, length_m = 1 }
finish = "rough"
mount = { kind = "fixed", position_m = [15, 0, 0], axis = [0, 1, 0] })") +
                             component("receiver", "screen", R"(shape = { kind = "plane" }
aperture = { kind = "annulus", outer_diameter_m = 1.4, inner_diameter_m = 0.01 }
finish = "black"
mount = { kind = "fixed", position_m = [0.5, 0, 0], axis = [1, 0, 0] }
flux = { bins = [100, 100] })"),
                         1 << 15));
  };
  // The screen's level x runs along north, its y upright: across the tube.
  CHECK(got("slope_error_mrad = [10, 0]")[1] == Approx(0.02 * 9.5).epsilon(0.1));
  CHECK(got("slope_error_mrad = [10, 0]")[0] < 0.02);
  CHECK(got("slope_error_mrad = [0, 10]")[0] == Approx(0.02 * 9.5).epsilon(0.1));
  CHECK(got("slope_error_mrad = [0, 10]")[1] < 0.02);
}

}  // namespace catoptra
