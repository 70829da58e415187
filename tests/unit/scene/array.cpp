#include "scene/array.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "numeric/lanes.h"
#include "scene/read_file.h"
#include "small_scene.h"

namespace catoptra {
namespace {

double azimuth_deg(const Vec& p) {
  const double azimuth = std::atan2(p.x, p.y) / units::degree_rad;
  return azimuth < 0 ? azimuth + 360 : azimuth;
}

std::vector<Vec> places(const auto& array) {
  std::vector<Vec> out;
  for (const Frame& frame : array.frames()) {
    CHECK(frame.is_upright());
    out.push_back(frame.origin);
  }
  return out;
}

TEST_CASE("grid: centred, east fastest", "[scene][array]") {
  const GridArray grid{{3, 2}, {10, 4}};
  const auto at = places(grid);
  REQUIRE(at.size() == 6);
  CHECK(at[0] == Vec{-10, -2, 0});
  CHECK(at[1] == Vec{0, -2, 0});
  CHECK(at[5] == Vec{10, 2, 0});
}

TEST_CASE("ring: a full turn is shared evenly, an arc reaches both ends", "[scene][array]") {
  RingArray ring{4, 5, 0, 2 * pi};
  const auto full = places(ring);
  REQUIRE(full.size() == 4);
  for (std::size_t i = 0; i < 4; ++i) {
    CHECK(length(full[i]) == Approx(5).epsilon(1e-14));
    CHECK(azimuth_deg(full[i] + Vec{1e-12, 0, 0}) == Approx(90.0 * static_cast<double>(i)).margin(1e-9));
  }
  ring = {3, 5, 0, pi / 2};
  const auto arc = places(ring);
  CHECK(azimuth_deg(arc[1]) == Approx(45).epsilon(1e-12));
  CHECK(length(arc[2] - Vec{5, 0, 0}) < 1e-12);
}

TEST_CASE("rings: staggered by half a gap, never closer than the spacing along a ring", "[scene][array]") {
  RingsArray rings;
  rings.rings = 2;
  rings.inner_radius_m = 50;
  rings.radial_spacing_m = 10;
  rings.spacing_m = 2 * pi * 50 / 10;  // ten in the first ring, twelve (60 x 2 pi / spacing) in the second
  const auto at = places(rings);
  REQUIRE(at.size() == 22);
  CHECK(azimuth_deg(at[0]) == Approx(0.25 * 36).epsilon(1e-12));
  CHECK(azimuth_deg(at[10]) == Approx(0.75 * 30).epsilon(1e-12));
  CHECK(length(at[9]) == Approx(50).epsilon(1e-14));
  CHECK(length(at[10]) == Approx(60).epsilon(1e-14));
  rings.spacing_m = 1000;
  CHECK_THROWS_WITH(rings.check(), "not one copy finds room in this array");
}

TEST_CASE("spiral: even density, inside its window", "[scene][array]") {
  SpiralArray spiral;
  spiral.count = 2000;
  spiral.inner_radius_m = 30;
  spiral.spacing_m = 6;
  const auto all = places(spiral);
  REQUIRE(all.size() == 2000);
  // N copies own N spacing^2 of ground: those within radius r number pi (r^2 - inner^2) / spacing^2, to one, since the
  // radius of each is known by its number alone.
  double near = 0;
  for (const Vec& p : all) near += length(p) <= 100 ? 1 : 0;
  CHECK(std::fabs(near - pi * (100 * 100 - 30 * 30) / 36) <= 1);
  // Even round the centre too: quarters hold 500 each, to the few that a lattice's edge can shift.
  double quarter = 0;
  for (const Vec& p : all) quarter += p.x > 0 && p.y > 0 ? 1 : 0;
  CHECK(std::fabs(quarter - 500) <= 10);

  spiral.from_azimuth_rad = -pi / 3;
  spiral.to_azimuth_rad = pi / 3;
  const auto some = places(spiral);
  REQUIRE(some.size() == 2000);
  for (const Vec& p : some) CHECK(std::fabs(std::atan2(p.x, p.y)) <= pi / 3 + 1e-12);
}

TEST_CASE("csv: numbers in, faults with their place", "[scene][array]") {
  static constexpr std::array<std::string_view, 3> columns{"x_m", "y_m", "z_m"};
  const auto faults_of = [](const std::string& text) {
    Problems problems("f.csv", text);
    const auto rows = read_csv(text, columns, problems);
    std::string out;
    for (const auto& problem : problems.take()) out += problem.text() + "\n";
    CHECK(rows.has_value() == out.empty());
    return out;
  };
  const std::string good = "x_m, y_m, z_m\n1,2,3\r\n\n4,5e1,-6\n";
  Problems problems("f.csv", good);
  const auto rows = read_csv(good, columns, problems);
  REQUIRE(rows);
  REQUIRE(rows->size() == 2);
  CHECK((*rows)[1] == std::vector<double>{4, 50, -6});
  CHECK(
      faults_of("x,y,z\n1,2,3\n") ==
      "f.csv:1:1: error: the first line must name the columns\n    1 | x,y,z\n      | ^^^^^\n  allowed: x_m,y_m,z_m\n");
  CHECK(faults_of("x_m,y_m,z_m\n1,2\n") ==
        "f.csv:2:1: error: 2 values instead of 3\n    2 | 1,2\n      | ^^^\n  allowed: one number for each of "
        "x_m,y_m,z_m\n");
  CHECK(faults_of("x_m,y_m,z_m\n1, two,3\n") ==
        "f.csv:2:4: error: not a number\n    2 | 1, two,3\n      |    ^^^\n  allowed: a finite number, as 12.5 or "
        "-3e-2\n");
  CHECK(faults_of("x_m,y_m,z_m\n1,nan,3\n").find("f.csv:2:3: error: not a number") == 0);
  CHECK(faults_of("x_m,y_m,z_m\n") ==
        "f.csv:1:1: error: no rows after the names of the columns\n    1 | x_m,y_m,z_m\n      | ^\n"
        "  allowed: one row or more\n");
}

}  // namespace
}  // namespace catoptra
