// What a shape search says of a gain that is small, or none, and of numbers at the ends of their ranges.
#include "words/design_rows.h"

#include <catch2/catch.hpp>

#include "example_result.h"

using namespace catoptra;

namespace {

/// Two free numbers, two variants of which the second is the best; invented.
Design searched_design() {
  Design design;
  design.parameters = {{"receiver.absorber.mount.position_m.z", 1, 3, 1e-6, 1.5, false},
                       {"secondary.pilot, upper.shape.conic_constant", -8, 0, 1e-6, -7, false}};
  design.variants = {{{1.5, -7}, 0.5}, {{2, -0.5}, 0.4}, {{2.25, -6.125}, 0.625}};
  design.best = 2;
  design.searched_suns = 1;
  design.original = {0.5, 0.0012};
  design.schedule.rows.resize(2);
  design.scene = test::example_scene();
  return design;
}

TEST_CASE("shape search: a gain that may be chance, ends of ranges, and none at all", "[results]") {
  Design poor = searched_design();
  poor.found = {0.501, 0.0016};
  poor.gain = {0.001, 0.001};
  poor.variants[2].values = {3, -8};
  CHECK_THAT(
      design_text(poor),
      Catch::EndsWith("gain 0.0010±0.0010: 1.0 standard errors\n"
                      "note: a gain as small as this may be chance\n"
                      "note: receiver.absorber.mount.position_m.z is at the end of its range, 3; a wider range may "
                      "contain a better value\n"
                      "note: secondary.pilot, upper.shape.conic_constant is at the end of its range, -8; a wider "
                      "range may contain a better value\n"));
  Design worse = poor;
  worse.found = {0.499, 0.0016};
  worse.gain = {-0.001, 0.0002};
  worse.original_kept = true;
  CHECK_THAT(
      design_text(worse),
      Catch::Contains("    3 in the best variant, 1.5 before; 1 to 3 allowed\n") &&
          Catch::EndsWith("absorbed, mean over 2 sun positions: 0.4990±0.0016 in the best variant, 0.5000±0.0012 "
                          "before\n"
                          "gain -0.00100±0.00020: -5.0 standard errors\n"
                          "no variant is better in this comparison: the scene stays as it was\n"));
  CHECK(
      best_scene_text(worse) ==
      "# The scene as it was: catoptra steer --free tried 3 variants and found none better. absorbed, mean over 2 sun "
      "positions:\n"
      "# 0.5000±0.0012 as it was, 0.4990±0.0016 in the best variant (± one standard error, from samples that the "
      "search had not seen).\n\n" +
          worse.scene.text);
}

}  // namespace
