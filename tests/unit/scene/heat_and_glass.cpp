// The keys of receivers' heat and of glass: read in SI, refused where they make no sense.
#include "small_scene.h"

namespace catoptra {
namespace {

TEST_CASE("a receiver's heat is read", "[scene][heat]") {
  const auto none = read_scene_text(small_scene, "s.toml");
  REQUIRE(none.scene);
  CHECK_FALSE(none.scene->components[1].heat);
  const auto outcome = read_scene_text(
      small_scene + "heat = { emittance = 0.1, temperature_K = 660, convection_W_m2K = 8 }\n", "s.toml");
  REQUIRE(outcome.scene);
  const auto& heat = outcome.scene->components[1].heat;
  REQUIRE(heat);
  CHECK(heat->emittance == 0.1);
  CHECK(heat->temperature_K == 660);
  CHECK(heat->surroundings_K == 300);
  CHECK(heat->convection_W_m2K == 8);
}

TEST_CASE("a receiver's heat that is wrong", "[scene][heat]") {
  check({
      {"", "heat = { emittance = 1.1, temperature_K = 660 }\n",
       R"(s.toml:22:22: error: 'emittance' in heat of receiver 'can' is out of range
   22 | heat = { emittance = 1.1, temperature_K = 660 }
      |                      ^^^
  found: number 1.1
  allowed: a number from 0 to 1
)"},
      {"", "heat = { emittance = 1 }\n",
       R"(s.toml:22:8: error: missing key 'temperature_K' in heat of receiver 'can'
   22 | heat = { emittance = 1 }
      |        ^^^^^^^^^^^^^^^^^
  allowed: a number from 1 to 6000, in K
)"},
  });
}

TEST_CASE("glass is read: an index, or a catalogue's formula", "[scene][glass]") {
  const auto scene = [](const std::string& finish) {
    return read_scene_text(small_scene + "[finish.pane]\n" + finish, "s.toml");
  };
  const std::string bk7 =
      "kind = \"sellmeier_glass\"\nb1 = 1.03961212\nb2 = 0.231792344\nb3 = 1.01046945\n"
      "c1_um2 = 0.00600069867\nc2_um2 = 0.0200179144\nc3_um2 = 103.560653\nthickness_m = 0.005\n";
  const auto pane = [](const ReadOutcome& outcome) {
    REQUIRE(outcome.scene);
    for (const auto& named : outcome.scene->finishes) {
      if (named.name == "pane") return *pane_of(named.finish);
    }
    throw std::logic_error("no pane");
  };
  const Pane plain =
      pane(scene("kind = \"glass\"\nrefractive_index = 1.5\nthickness_m = 0.004\nabsorption_per_m = 10\n"));
  CHECK(plain.index == 1.5);
  CHECK(plain.thickness_m == 0.004);
  CHECK(plain.absorption_per_m == 10);
  // The line d of helium: SCHOTT's data sheet of N-BK7.
  CHECK(pane(scene(bk7 + "wavelength_nm = 587.5618\n")).index == Approx(1.5168).margin(5e-6));
  const auto far = scene(bk7 + "wavelength_nm = 10100\n");  // just short of the glass' own resonance
  REQUIRE_FALSE(far.scene);
  CHECK(far.problems.front().text().find("the coefficients make no glass at this wavelength") != std::string::npos);
}

}  // namespace
}  // namespace catoptra
