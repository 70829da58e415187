// Where each watt goes: budgets close, and scenes whose light has one closed answer.
#include <numeric>

#include "statistical/estimates.h"

using namespace catoptra;
using namespace catoptra::test;

namespace {

struct Named {
  std::string name, text;
};

std::string mirror_keys(std::string_view shape, std::string_view aperture, std::string_view mount) {
  return fmt::format("shape = {{ {} }}\naperture = {{ {} }}\nfinish = \"silver\"\nmount = {{ {} }}", shape, aperture,
                     mount);
}
std::string flat(std::string_view mount) {
  return mirror_keys("kind = \"plane\"", "kind = \"rectangle\", width_m = 2, length_m = 3", mount);
}
std::string sink(std::string_view shape, std::string_view mount, std::string_view finish = "black") {
  return fmt::format("shape = {{ {} }}\nfinish = \"{}\"\nmount = {{ {} }}", shape, finish, mount);
}
const std::string grey =
    "[finish.grey]\nkind = \"absorber\"\nabsorptance = [[0, 0.9], [60, 0.8], [90, 0]]\nrest = \"diffuse\"\n";
const std::string shiny = "[finish.shiny]\nkind = \"absorber\"\nabsorptance = 0.3\nrest = \"specular\"\n";

/// Scenes of all kinds: arrays, shading, blocking, secondaries, light that comes back, light that goes astray.
std::vector<Named> scenes() {
  const std::string rough = "reflectance = 0.9\nslope_error_mrad = 3\nspecularity_error_mrad = 1";
  const std::string bowl =
      mirror_keys("kind = \"sphere\", radius_m = 10", "kind = \"circle\", diameter_m = 16", "kind = \"fixed\"");
  const std::string ball_above = "kind = \"fixed\", position_m = [0, 0, 5]";
  const std::string field = flat("kind = \"heliostat\", position_m = [0, 0, 2], aim = \"target\", jitter_mrad = 1");
  std::vector<Named> out;
  out.push_back({"flat mirror, no receiver",
                 head(disc_sun, rough, {180, 40}) + component("primary", "m", flat("kind = \"fixed\""))});
  out.push_back(
      {"deep bowl with a rod, low sun",
       head("kind = \"buie\", circumsolar_ratio = 0.1", rough, {120, 50}) + component("primary", "m", bowl) +
           component("receiver", "target", sink("kind = \"cylinder\", radius_m = 0.3, length_m = 4", ball_above))});
  out.push_back({"grey ball that sends light back",
                 head(disc_sun, rough) + grey + component("primary", "m", bowl) +
                     component("receiver", "target", sink("kind = \"ball\", radius_m = 0.8", ball_above, "grey"))});
  out.push_back(
      {"shiny cone", head(disc_sun, rough) + shiny + component("primary", "m", bowl) +
                         component("receiver", "target",
                                   sink("kind = \"cone\", bottom_radius_m = 0.1, top_radius_m = 1, height_m = 2",
                                        ball_above, "shiny"))});
  out.push_back({"secondary",
                 head("kind = \"limb_darkened\"", rough, {200, 80}) + component("primary", "m", bowl) +
                     component("secondary", "second",
                               mirror_keys("kind = \"conic\", radius_of_curvature_m = -3, conic_constant = -2",
                                           "kind = \"regular_polygon\", sides = 6, circumdiameter_m = 3",
                                           "kind = \"fixed\", position_m = [0, 0, 4.4], axis = [0, 0, -1]")) +
                     component("receiver", "target",
                               sink("kind = \"disc\", diameter_m = 1", "kind = \"fixed\", position_m = [0, 0, 1]"))});
  out.push_back({"two primaries and two receivers",
                 head(disc_sun, rough, {180, 60}) +
                     component("primary", "a", flat("kind = \"heliostat\", aim = \"x\"")) +
                     component("primary", "b", flat("kind = \"heliostat\", position_m = [0.5, 2, 0], aim = \"y\"")) +
                     component("receiver", "x",
                               sink("kind = \"disc\", diameter_m = 2",
                                    "kind = \"fixed\", position_m = [0, 30, 20], axis = [0, -1, -1]")) +
                     component("receiver", "y",
                               sink("kind = \"ball\", radius_m = 1", "kind = \"fixed\", position_m = [3, 30, 20]"))});
  out.push_back(
      {"field with mast",
       head(disc_sun, rough, {150, 25}) +
           component("primary", "h", field + "\narray = { kind = \"grid\", count = [7, 6], spacing_m = [3, 4] }") +
           component(
               "receiver", "target",
               sink("kind = \"cylinder\", radius_m = 1, length_m = 3", "kind = \"fixed\", position_m = [0, -20, 20]")) +
           component("obstacle", "mast",
                     sink("kind = \"cylinder\", radius_m = 0.8, length_m = 18",
                          "kind = \"fixed\", position_m = [0, -20, 9]", "dark"))});
  out.push_back({"rings of bowls, each with its ball",
                 head(disc_sun, rough, {150, 55}) +
                     component("primary", "h",
                               mirror_keys("kind = \"paraboloid\", focal_length_m = 2",
                                           "kind = \"sector\", outer_diameter_m = 3, from_deg = -150, to_deg = 150",
                                           "kind = \"two_axis\", jitter_mrad = 2, bias_mrad = [3, -2]") +
                                   "\narray = { kind = \"ring\", count = 40, radius_m = 14 }") +
                     component("receiver", "target",
                               sink("kind = \"ball\", radius_m = 0.03",
                                    "kind = \"carried\", by = \"h\", position_m = [0, 0, 2]"))});
  out.push_back({"tracked trough",
                 head("kind = \"gaussian\", sigma_mrad = 2.5", rough, {100, 30}) +
                     component("primary", "t",
                               mirror_keys("kind = \"parabolic_trough\", focal_length_m = 1.5",
                                           "kind = \"rectangle\", width_m = 5, length_m = 12",
                                           "kind = \"single_axis\", pivot_m = [0, 0, 3], jitter_mrad = 1")) +
                     component("receiver", "target",
                               sink("kind = \"cylinder\", radius_m = 0.03, length_m = 12",
                                    "kind = \"carried\", by = \"t\", position_m = [0, 0, 1.5], axis = [0, 1, 0]"))});
  out.push_back({"grazing sun",
                 head(disc_sun, rough, {180, 0.3}) + component("primary", "m", flat("kind = \"fixed\"")) +
                     component("receiver", "target",
                               sink("kind = \"ball\", radius_m = 2", "kind = \"fixed\", position_m = [0, 20, 1]"))});
  out.push_back(
      {"facing mirrors that lose nothing",
       head(disc_sun, "reflectance = 1", {180, 40}) + component("primary", "low", flat("kind = \"fixed\"")) +
           component("secondary", "high", flat("kind = \"fixed\", position_m = [0, 0.5, 1], axis = [0, 0, -1]")) +
           component("receiver", "target",
                     sink("kind = \"ball\", radius_m = 1.5", "kind = \"fixed\", position_m = [0, 6, 4]"))});
  out.push_back(
      {"zero reflectance", head(disc_sun, "reflectance = 0", {180, 70}) + component("primary", "m", bowl) +
                               component("receiver", "target", sink("kind = \"ball\", radius_m = 0.5", ball_above))});
  out.push_back({"sun behind the mirror",
                 head(disc_sun, rough, {180, 20}) +
                     component("primary", "m", flat("kind = \"fixed\", axis = [0, 1, 0]")) +
                     component("receiver", "target", sink("kind = \"ball\", radius_m = 0.5", ball_above))});
  return out;
}

}  // namespace

TEST_CASE("budgets close, and no term is negative", "[statistical][energy]") {
  for (const auto& scene : scenes()) {
    INFO(scene.name);
    const auto got = traced(scene.text, 1 << 17);
    const double full_W = 1000 * got.aperture_area_m2;
    check_closes(got);
    for (std::size_t t = 0; t < term_count; ++t) {
      INFO(term_names[t]);
      // What a receiver sent back and caught again later is moved from one term to the other, with roulette's noise.
      CHECK(got.budget[t].value >= -5 * got.budget[t].standard_error - 1e-9 * full_W);
    }
    CHECK(term(got, Term::cosine).value == Approx(full_W - got.incident_power_W).margin(1e-9 * full_W));
    double absorbed_W = 0;
    for (const auto& receiver : got.receivers) absorbed_W += receiver.absorbed_power_W.value;
    CHECK(absorbed_W == Approx(term(got, Term::absorbed).value).margin(1e-9 * full_W));
  }
}

TEST_CASE("scenes without shade: all incident power is found again", "[statistical][energy]") {
  int looked_at = 0;
  for (const auto& scene : scenes()) {
    if (scene.name != "flat mirror, no receiver" && scene.name != "grazing sun" &&
        scene.name != "sun behind the mirror")
      continue;
    ++looked_at;
    INFO(scene.name);
    const auto got = traced(scene.text, 1 << 17);
    CHECK_THAT(term(got, Term::shading), WithinSigmas(0, 5));
    if (got.incident_power_W > 0) CHECK_THAT(term(got, Term::shading), !WithinSigmas(0.01 * got.incident_power_W, 5));
  }
  CHECK(looked_at == 3);
}

TEST_CASE("budgets of extremes", "[statistical][energy]") {
  for (const auto& scene : scenes()) {
    INFO(scene.name);
    const auto value = [&, got = traced(scene.text, 1 << 17)](Term t) { return term(got, t).value; };
    if (scene.name == "facing mirrors that lose nothing") {
      CHECK(value(Term::primary_absorption) == 0);
      CHECK(value(Term::secondary_absorption) == 0);
      CHECK(value(Term::absorbed) > 0);
    } else if (scene.name == "zero reflectance") {
      CHECK(value(Term::primary_absorption) > 0);
      for (const Term t : {Term::blocking, Term::spillage, Term::absorbed, Term::receiver_reflection})
        CHECK(value(t) == 0);
    } else if (scene.name == "sun behind the mirror") {
      CHECK(value(Term::cosine) == 1000 * 6.0);
      for (std::size_t t = 1; t < term_count; ++t) CHECK(value(static_cast<Term>(t)) == 0);
    } else if (scene.name == "flat mirror, no receiver") {
      const double incident_W = 1000 * 6.0 * std::sin(40 * degree_rad);
      CHECK(value(Term::primary_absorption) + value(Term::spillage) == Approx(incident_W).epsilon(1e-4));
      CHECK(value(Term::absorbed) == 0);
    }
  }
}

namespace {

/// A hollow ball of radius 1 m with a hole of radius `hole_m`, made of two receivers, and a flat mirror that sends a
/// thin beam from the sun overhead through the hole, onto the wall opposite.
std::string hollow_ball(double hole_m, std::string_view wall) {
  constexpr double near_one = 1 - 1e-12;  // a hemisphere must end short of its equator; 1.4e-6 of the wall are missing
  return head(point_sun) + fmt::format("[finish.wall]\nkind = \"absorber\"\n{}\n", wall) +
         component("primary", "m",
                   mirror_keys("kind = \"plane\"", "kind = \"circle\", diameter_m = 0.2",
                               "kind = \"fixed\", position_m = [0, 0, 5], axis = [1, 0, 1]")) +
         component("receiver", "far half",
                   fmt::format("shape = {{ kind = \"sphere\", radius_m = 1 }}\nfinish = \"wall\"\n"
                               "aperture = {{ kind = \"circle\", diameter_m = {} }}\n"
                               "mount = {{ kind = \"fixed\", position_m = [7, 0, 5], axis = [-1, 0, 0] }}",
                               2 * near_one)) +
         component("receiver", "near half",
                   fmt::format("shape = {{ kind = \"sphere\", radius_m = 1 }}\nfinish = \"wall\"\n"
                               "aperture = {{ kind = \"annulus\", outer_diameter_m = {}, inner_diameter_m = {} }}\n"
                               "mount = {{ kind = \"fixed\", position_m = [5, 0, 5], axis = [1, 0, 0] }}",
                               2 * near_one, 2 * hole_m));
}

}  // namespace

TEST_CASE("a matt hollow ball absorbs what the integrating sphere says", "[statistical][energy]") {
  // From any point of a sphere any other is seen with the same weight (closed form), so a share h = hole / whole area
  // of matt light leaves each time: absorbed a / (1 - (1 - a)(1 - h)). Light of the k-th return is even over the wall.
  for (const double absorptance : {0.3, 0.8}) {
    for (const double hole_m : {0.3, 0.6}) {
      INFO("absorptance " << absorptance << ", hole " << hole_m);
      const auto got = traced(hollow_ball(hole_m, fmt::format("absorptance = {}", absorptance)), 1 << 19);
      const double h = (1 - std::sqrt(1 - hole_m * hole_m)) / 2;
      const double returns = 1 / (1 - (1 - absorptance) * (1 - h));
      CHECK_THAT(got.optical_efficiency, WithinSigmas(absorptance * returns * std::sqrt(0.5), 5));
      CHECK_THAT(got.optical_efficiency, !WithinSigmas(absorptance * returns * std::sqrt(0.5) * 0.99, 5));
      // The near half is lit by returned light alone.
      const double power_W = 1000 * std::sqrt(0.5) * pi * 0.01;
      const double even = (1 - absorptance) * returns * power_W / (4 * pi) / 1000;
      CHECK_THAT(got.receivers[1].mean_concentration, WithinSigmas(even, 5));
      CHECK_THAT(got.receivers[1].mean_concentration, !WithinSigmas(0.95 * even, 5));
    }
  }
}

TEST_CASE("all light that enters a hollow ball ends", "[statistical][energy]") {
  for (const auto* wall : {"absorptance = 0.3", "absorptance = 0.3\nrest = \"specular\""}) {
    INFO(wall);
    const auto got = traced(hollow_ball(0.12, wall), 1 << 17);
    CHECK(got.intercept_factor.value == 1);
    const double power_W = 1000 * std::sqrt(0.5) * pi * 0.01;
    const double ended_W = term(got, Term::absorbed).value + term(got, Term::receiver_reflection).value;
    CHECK(ended_W == Approx(power_W).epsilon(1e-9));
    CHECK(term(got, Term::spillage).value == 0);
    CHECK(term(got, Term::absorbed).value > 0.8 * power_W);
    CHECK(got.warnings.empty());
  }
}
