// The tracer starts on mirrors; a sampler that throws rays from the sky must find the same numbers.
#include "statistical/estimates.h"
#include "statistical/sky_sampler.h"

using namespace catoptra;
using namespace catoptra::test;

namespace {

/// Both have errors: they must differ by less than five of the two together.
bool agree(const Estimate& a, const Estimate& b) {
  return std::fabs(a.value - b.value) <= 5 * std::hypot(a.standard_error, b.standard_error);
}
Estimate times(double factor, const Estimate& e) {
  return {factor * e.value, e.standard_error};
}

struct Sight {
  std::string name, text;
  Vec middle;
  double radius_m;
};

std::vector<Sight> sights() {
  const std::string rough = "reflectance = 0.92\nslope_error_mrad = 2.5\nspecularity_error_mrad = 1";
  const std::string shiny = "[finish.shiny]\nkind = \"absorber\"\nabsorptance = 0.85\nrest = \"specular\"\n";
  std::vector<Sight> out;
  out.push_back({"bowl, secondary, receiver; sun a little off the axis",
                 head(disc_sun, rough, {150, 86}) + shiny + R"(
[[primary]]
name = "bowl"
shape = { kind = "sphere", radius_m = 20 }
aperture = { kind = "circle", diameter_m = 10 }
finish = "silver"
mount = { kind = "fixed" }
[[secondary]]
name = "pilot"
shape = { kind = "conic", radius_of_curvature_m = -2.5, conic_constant = -2.25 }
aperture = { kind = "circle", diameter_m = 2.4 }
finish = "silver"
mount = { kind = "fixed", position_m = [0.3, -0.5, 9], axis = [0, 0, -1] }
[[receiver]]
name = "absorber"
shape = { kind = "ball", radius_m = 0.6 }
finish = "shiny"
mount = { kind = "fixed", position_m = [0.2, -0.3, 4] }
)",
                 {0, 0, 3},
                 7});
  out.push_back({"four heliostats in one another's way",
                 head(disc_sun, rough, {140, 22}) + R"(
[[primary]]
name = "heliostat"
shape = { kind = "sphere", radius_m = 60 }
aperture = { kind = "rectangle", width_m = 3, length_m = 2 }
finish = "silver"
mount = { kind = "heliostat", position_m = [0, 12, 1.5], aim = "target" }
array = { kind = "grid", count = [2, 2], spacing_m = [3.2, 2.6] }
[[receiver]]
name = "target"
shape = { kind = "cylinder", radius_m = 0.35, length_m = 0.8 }
finish = "black"
mount = { kind = "fixed", position_m = [0, 0, 7] }
[[obstacle]]
name = "mast"
shape = { kind = "cylinder", radius_m = 0.3, length_m = 6 }
mount = { kind = "fixed", position_m = [0, 0, 3] }
)",
                 {0, 6, 3},
                 10});
  out.push_back({"trough, sun low along it",
                 head(disc_sun, rough, {205, 55}) + R"(
[[primary]]
name = "trough"
shape = { kind = "parabolic_trough", focal_length_m = 1 }
aperture = { kind = "rectangle", width_m = 3, length_m = 4 }
finish = "silver"
mount = { kind = "single_axis" }
[[receiver]]
name = "tube"
shape = { kind = "cylinder", radius_m = 0.02, length_m = 4 }
finish = "black"
mount = { kind = "carried", by = "trough", position_m = [0, 0, 1], axis = [0, 1, 0] }
)",
                 {0, 0, 0.5},
                 3});
  return out;
}

}  // namespace

TEST_CASE("rays from the sky agree with samples that start on mirrors", "[statistical][referee]") {
  for (const Sight& sight : sights()) {
    INFO(sight.name);
    const Scene scene = scene_of(sight.text);
    const auto got = traced(sight.text, 1 << 19);
    const auto sky = reference::SkySampler(scene, sight.middle, sight.radius_m).run(3'000'000, 20260621);
    const Estimate& shading = term(got, Term::shading);
    const Estimate lit{got.incident_power_W - shading.value, shading.standard_error};
    CHECK(agree(lit, sky.reaching_primaries_W));
    CHECK(agree(term(got, Term::absorbed), sky.absorbed_W));
    CHECK(agree(term(got, Term::spillage), sky.spillage_W));
    CHECK(agree(term(got, Term::blocking), sky.blocking_W));
    CHECK(agree(got.intercept_factor, sky.intercept_factor));
    CAPTURE(lit, sky.reaching_primaries_W, term(got, Term::absorbed), sky.absorbed_W, term(got, Term::spillage),
            sky.spillage_W, term(got, Term::blocking), sky.blocking_W, got.intercept_factor, sky.intercept_factor);
    CHECK_FALSE(agree(times(1.05, lit), sky.reaching_primaries_W));
    CHECK_FALSE(agree(times(1.05, term(got, Term::absorbed)), sky.absorbed_W));
    CHECK_FALSE(agree(times(1.05, got.intercept_factor), sky.intercept_factor));
    CHECK(sky.spillage_W.value > 20 * sky.spillage_W.standard_error);  // each term is there to be seen
    CHECK(shading.value > 0.01 * got.incident_power_W);
  }
}
