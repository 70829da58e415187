// Shape searches whose best design is known.
#include "steer/design.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <fmt/format.h>
#include <set>

#include "scenes.h"

using namespace catoptra;

namespace {

DesignOptions quick(int evaluations) {
  DesignOptions options;
  options.schedule.solver.samples = 1 << 11;
  options.schedule.samples = 1 << 14;
  options.schedule.replicates = 8;
  options.schedule.workers = test::workers(2);
  options.evaluations = evaluations;
  return options;
}

/// A paraboloid of 5 m focal length under the zenith, and a disc in its axis, 4.9 m up, which takes only part of it.
const std::string dish = R"(schema = 1
[sun]
azimuth_deg = 180
elevation_deg = 90
shape = { kind = "disc" }
)" + test::finishes + R"(
[[primary]]
name = "dish"
shape = { kind = "paraboloid", focal_length_m = 5 }
aperture = { kind = "circle", diameter_m = 6 }
finish = "silver"
mount = { kind = "fixed" }
[[receiver]]
name = "disc"
shape = { kind = "disc", diameter_m = 0.04 }
finish = "black"
mount = { kind = "fixed", position_m = [0, 0, 4.9], axis = [0, 0, -1] }  # the height
)";

/// The same, with a sphere of 10 m radius as the mirror.
const std::string ball = [] {
  std::string text = dish;
  const std::string old = R"("paraboloid", focal_length_m = 5)";
  return text.replace(text.find(old), old.size(), R"("sphere", radius_m = 9)");
}();

Design searched(const Scene& scene, const std::vector<FreeParameter>& parameters, const DesignOptions& options) {
  auto design = search_design(scene, {own_moment(scene)}, parameters, options);
  REQUIRE(design);
  return std::move(*design);
}

}  // namespace

TEST_CASE("shape search: a disc's best height over a paraboloid is the focal length", "[steer]") {
  const Scene scene = test::read_or_throw(dish);
  const std::string path = "receiver.disc.mount.position_m.z";
  const DesignOptions options = quick(50);
  const Design design = searched(scene, {free_parameter(scene, path, 4.5, 5.6)}, options);
  CHECK_FALSE(design.interrupted);
  CHECK(design.variants.size() <= 50);
  // The disc's half width is 20 mm, the sun's image 5 m x 4.65 mrad = 23 mm from the vertex and 27 mm from the rim,
  // where t = r/2f = 0.3, (1 + t^2) times as far. A disc d out of focus is crossed by the rim's cone at d x tan(2 atan
  // 0.3) = 0.66 d from its middle: at d = 10 mm that is a third of the half width. So the best lies well within 10 mm
  // of 5 m.
  const double best = design.variants[design.best].values[0];
  CHECK(best == Approx(5).margin(0.01));
  CHECK(find_number(design.scene.text, path).value == best);
  // All of the text but this number is as it was.
  std::string wanted = scene.text;
  const auto at = find_number(scene.text, path);
  CHECK(design.scene.text == wanted.replace(at.begin, at.size, fmt::format("{}", best)));
  // The gain is seen in standard errors; the search's own number agrees with the new trace.
  const double error = std::hypot(design.found.standard_error, design.original.standard_error);
  CHECK(design.found.value - design.original.value > 10 * error);
  CHECK(design.schedule.rows.size() == 1);
  CHECK(std::fabs(design.schedule.rows[0].result.optical_efficiency.value - design.found.value) < 5 * error);
  // Common random numbers: what was best in the search is at least as good as the same search's other points.
  for (const Variant& variant : design.variants)
    CHECK_FALSE(variant.objective > design.variants[design.best].objective);
  // Negative twin: 30 mm off the focus loses light that is seen in standard errors.
  const Design off = searched(scene, {free_parameter(scene, path, 5.03, 5.6)}, options);
  CHECK(design.found.value - off.found.value > 10 * error);
  CHECK(off.variants[off.best].values[0] == Approx(5.03).margin(0.01));
}

TEST_CASE("shape search: a sphere's best radius puts the circle of least confusion on the disc", "[steer]") {
  const Scene scene = test::read_or_throw(ball);
  DesignOptions options = quick(40);
  options.schedule.solver.objective = Objective::peak;
  const Design design = searched(scene, {free_parameter(scene, "primary.dish.shape.radius_m", 8, 12)}, options);
  // A ray at height h crosses the axis R/2 (1/cos t) from the centre, sin t = h/R (docs/theory/steering.md), so at
  // R - R/(2 cos t) over the vertex: R/2 for the middle and R/2 - h^2/4R for a narrow rim, 4.9 m wants R between
  // 9.8 m (the middle's focus there) and, for h = 3 m, 10.25 m (the rim's focus there).
  const double rim_m = 3, wanted_m = 4.9;
  const auto crossing_m = [&](double radius_m) {
    return radius_m - radius_m / 2 / std::sqrt(1 - rim_m * rim_m / radius_m / radius_m);
  };
  double low = 9, high = 12;
  for (int i = 0; i < 60; ++i) (crossing_m((low + high) / 2) < wanted_m ? low : high) = (low + high) / 2;
  const double best = design.variants[design.best].values[0];
  CHECK(best >= 2 * wanted_m - 0.02);
  CHECK(best <= low + 0.02);
}

TEST_CASE("shape search: whole numbers, scenes that can't be, and the number of variants", "[steer]") {
  const Scene scene = test::read_or_throw(dish);
  const std::string position = "receiver.disc.mount.position_m.z";
  std::string text = dish;
  text.replace(text.find("diameter_m = 0.04 }"), 19, "diameter_m = 0.04 }\nflux = { bins = [4, 4] }");
  const Scene binned = test::read_or_throw(text);
  const FreeParameter bins = free_parameter(binned, "receiver.disc.flux.bins.x", 1, 9);
  CHECK(bins.is_whole);
  CHECK_FALSE(free_parameter(scene, position, 4, 6).is_whole);
  for (const Variant& variant : searched(binned, {bins}, quick(8)).variants)
    CHECK(variant.values[0] == std::round(variant.values[0]));
  const Scene sphere = test::read_or_throw(ball);
  const FreeParameter radius = free_parameter(sphere, "primary.dish.shape.radius_m", 1, 12);
  const Design design = searched(sphere, {radius}, quick(20));
  CHECK(design.variants.size() <= 20);
  std::set<std::vector<double>> different;
  for (const Variant& variant : design.variants) {
    different.insert(variant.values);
    // A mirror 6 m wide is no part of a ball of less than 3 m radius.
    CHECK(std::isnan(variant.objective) == (variant.values[0] < 3));
  }
  CHECK(different.size() == design.variants.size());
  CHECK(searched(scene, {free_parameter(scene, position, 4.5, 5.5)}, quick(1)).variants.size() == 1);
}

TEST_CASE("shape search: parameters that can't be free", "[steer]") {
  const Scene scene = test::read_or_throw(test::small_bowl);
  CHECK_THROWS_WITH(free_parameter(scene, "primary.bowl.shape.radius_m", 2, 2), "the range is empty or endless");
  CHECK_THROWS_WITH(free_parameter(scene, "primary.bowl.shape.radius_m", 0, 20),
                    "'primary.bowl.shape.radius_m' can't be 0: 'radius_m' in shape of primary 'bowl' is out of range\n"
                    "  allowed: a number from -1000000 to 1000000, not 0, in m");
  CHECK_THROWS_WITH(free_parameter(scene, "primary.bowl.shape.radius", 1, 20),
                    "'primary.bowl.shape.radius': nothing in 'primary.bowl.shape' is called 'radius'\n"
                    "  allowed: kind, radius_m\n  did you mean 'radius_m'?\n"
                    "  a key that is left to its default must first be written in the scene");
  // Across the hole in its range, which is no reason to refuse: only 0 itself can't be.
  CHECK_FALSE(free_parameter(scene, "secondary.pilot.shape.radius_of_curvature_m", -7, 7).is_whole);
}

TEST_CASE("shape search: a steered mirror's shape, the same bits for any number of threads", "[steer]") {
  const Scene scene = test::read_or_throw(test::small_bowl);
  const auto suns = moments_of_day(station_of(scene), {2026, 6, 21, 60}, 7200, 50 * units::degree_rad);
  REQUIRE(suns.size() == 3);
  const std::vector<FreeParameter> parameters{
      free_parameter(scene, "secondary.pilot.shape.radius_of_curvature_m", -12, -5),
      free_parameter(scene, "receiver.tube.mount.position_m.z", 1, 2.2)};
  DesignOptions options = quick(12);
  options.schedule.solver.samples = 1 << 9;
  options.schedule.samples = 1 << 13;
  std::size_t done = 0, expected = 0;
  options.progress = [&](std::size_t d, std::size_t e) { done = d, expected = e; };
  const auto one = search_design(scene, suns, parameters, options);
  REQUIRE(one);
  CHECK(done == expected);
  CHECK(expected == 12 + 6);
  CHECK(one->variants.size() <= 12);
  CHECK(one->schedule.rows.size() == 3);
  CHECK(one->found.value > one->original.value);
  // The scene found has the values, and stands in a pose that its reader takes.
  const Scene best = test::read_or_throw(one->scene.text);
  CHECK(find_number(best.text, parameters[0].path).value == one->variants[one->best].values[0]);
  const auto& mount = std::get<SteeredMount>(best.components[1].mount);
  CHECK(length(mount.axis - std::get<SteeredMount>(scene.components[1].mount).axis) > 1e-6);

  options.schedule.workers = test::workers(7);
  const auto other = search_design(scene, suns, parameters, options);
  REQUIRE(other);
  CHECK(other->scene.text == one->scene.text);
  CHECK(other->found.value == one->found.value);
  for (std::size_t i = 0; i < one->variants.size(); ++i)
    CHECK(other->variants[i].objective == one->variants[i].objective);

  // Told to stop after the fifth variant: the best so far, at the suns of the search.
  Stop stop;
  options.schedule.solver.stop = &stop;
  options.progress = [&](std::size_t d, std::size_t) {
    if (d == 3 + 5) stop.ask();
  };
  const auto part = search_design(scene, suns, parameters, options);
  REQUIRE(part);
  CHECK(part->interrupted);
  REQUIRE(part->variants.size() == 5);
  for (std::size_t i = 0; i < 5; ++i) CHECK(part->variants[i].objective == one->variants[i].objective);
  CHECK(part->schedule.rows.size() == 3);
  // … and before the first: nothing.
  CHECK_FALSE(search_design(scene, suns, parameters, options));
}

TEST_CASE("shape search: where fresh samples call no variant better, the scene stays as it was", "[steer]") {
  // The disc stands at the focus, and may only be moved away from it.
  std::string text = dish;
  text.replace(text.find("[0, 0, 4.9]"), 11, "[0, 0, 5]");
  const Scene scene = test::read_or_throw(text);
  const std::string path = "receiver.disc.mount.position_m.z";
  const Design design = searched(scene, {free_parameter(scene, path, 5.03, 5.6)}, quick(10));
  CHECK(design.original_kept);
  CHECK(design.scene.text == scene.text);
  CHECK(design.gain.value < -10 * design.gain.standard_error);
  CHECK(design.gain.value == Approx(design.found.value - design.original.value).epsilon(1e-12));
  REQUIRE(design.schedule.rows.size() == 1);
  const Estimate &row = design.schedule.rows[0].result.optical_efficiency, &was = design.original;
  CHECK(std::fabs(row.value - was.value) < 5 * std::hypot(row.standard_error, was.standard_error));
  // The scene itself, tried alone, gains nothing, and that to the bit: both are traced with the same samples.
  const Design same = searched(scene, {free_parameter(scene, path, 4.5, 5.5)}, quick(1));
  CHECK(same.gain.value == 0);
  CHECK(same.gain.standard_error == 0);
  CHECK_FALSE(same.original_kept);  // it is the scene
  // What common samples know better than separate ones: a tenth of a millimetre off the focus.
  const Design near = searched(scene, {free_parameter(scene, path, 5.0001, 5.6)}, quick(1));
  CHECK(near.gain.standard_error < 0.5 * std::hypot(near.found.standard_error, near.original.standard_error));
}
