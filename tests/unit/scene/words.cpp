#include "scene/words.h"

#include <array>
#include <catch2/catch.hpp>

namespace catoptra {
namespace {

TEST_CASE("the nearest word is near, or there is none", "[scene][words]") {
  static constexpr std::array<std::string_view, 4> words{"radius_m", "length_m", "slope_error_mrad", "front"};
  CHECK(nearest_word("raduis_m", words) == "radius_m");
  CHECK(nearest_word("radius", words) == "radius_m");
  CHECK(nearest_word("radius_cm", words) == "radius_m");
  CHECK(nearest_word("slope_error_deg", words) == "slope_error_mrad");
  CHECK(nearest_word("Slope-Error_mrad", words) == "slope_error_mrad");
  CHECK(nearest_word("fornt", words) == "front");  // two neighbours swapped count once
  CHECK_FALSE(nearest_word("colour", words));
  CHECK_FALSE(nearest_word(std::string(1000, 'x'), words));
}

TEST_CASE("ranges in words", "[scene][words]") {
  CHECK(range_text(range::within(0, 100)) == "from 0 to 100");
  CHECK(range_text(range::positive) == "more than 0");
  CHECK(range_text(range::non_negative) == "0 or more");
  CHECK(range_text(range::any).empty());
  CHECK(range_text(Range{0, 0.8, false, true}) == "from 0 to less than 0.8");
  CHECK(range_text(Range{.zero_excluded = true}) == "not 0");
}

}  // namespace
}  // namespace catoptra
