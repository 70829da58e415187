// The margin that the reader offers for a corrector's rim: with it the sun's whole disc is caught, without it not.
#include <catch2/catch.hpp>
#include <fmt/format.h>

#include "statistical/estimates.h"

namespace catoptra {

using namespace test;

namespace {

std::string bowl_with_cup(double focus_m, double through_m, double beam_m) {
  return head(disc_sun) + "[finish.sink]\nkind = \"mirror\"\nreflectance = 0\n" +
         component("primary", "bowl", R"(shape = { kind = "sphere", radius_m = 20 }
aperture = { kind = "circle", diameter_m = 20 }
finish = "silver"
mount = { kind = "fixed" })") +
         component(
             "secondary", "cup",
             fmt::format(
                 R"(shape = {{ kind = "corrector", primary = "bowl", focus_m = {}, through_m = {}, beam_diameter_m = {} }}
finish = "sink"
mount = {{ kind = "fixed", position_m = [0, 0, {}] }})",
                 focus_m, through_m, beam_m, focus_m)) +
         component("receiver", "none", R"(shape = { kind = "ball", radius_m = 0.01 }
finish = "black"
mount = { kind = "fixed", position_m = [0, 0, -50] })");
}

/// The width that the reader's warning offers; 0 where it does not warn.
double offered_m(const std::string& text) {
  for (const Problem& problem : read_scene_text(text, "s.toml").problems) {
    if (problem.message.find("passes its rim") == std::string::npos) continue;
    REQUIRE(problem.notes.size() == 2);
    const std::string& note = problem.notes[1];
    return std::stod(note.substr(note.find('=') + 1));
  }
  return 0;
}

}  // namespace

TEST_CASE("a corrector as wide as its beam loses light past its rim; the width that check offers, none",
          "[trace][corrector]") {
  struct Case {
    double focus_m, through_m;
  };
  for (const Case& one : {Case{1, 6}, Case{8, 12}}) {
    const double focus_m = one.focus_m, through_m = one.through_m;  // a lambda takes no structured binding in clang 14
    CAPTURE(focus_m, through_m);
    const std::string tight = bowl_with_cup(focus_m, through_m, 20);
    const double wide_m = offered_m(tight);
    REQUIRE(wide_m > 20);
    CHECK(offered_m(bowl_with_cup(focus_m, through_m, wide_m)) == 0);
    CHECK(offered_m(bowl_with_cup(focus_m, through_m, 15)) == 0);  // for a part of the bowl
    const auto lost = [&](double beam_m) {
      const auto got = traced(bowl_with_cup(focus_m, through_m, beam_m), 1 << 17);
      check_closes(got);
      return term(got, Term::spillage).value / got.incident_power_W;
    };
    CHECK(lost(20) > 1e-3);
    CHECK(lost(20) < 2e-2);
    CHECK(lost(wide_m) < 0.01 * lost(20));         // the margin holds to first order
    CHECK(lost(20 + 0.7 * (wide_m - 20)) > 2e-6);  // and hardly less would do
  }
}

}  // namespace catoptra
