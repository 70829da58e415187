#include "scene/words.h"

#include <array>
#include <catch2/catch.hpp>
#include <string>
#include <vector>

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

TEST_CASE("a key without its unit is near, whatever the unit", "[scene][words]") {
  static constexpr std::array<std::string_view, 4> words{"absorption_per_m", "c1_um2", "convection_W_m2K", "a4_per_m3"};
  CHECK(nearest_word("absorption", words) == "absorption_per_m");
  CHECK(nearest_word("absorption_mm", words) == "absorption_per_m");
  CHECK(nearest_word("convection", words) == "convection_W_m2K");
  CHECK(nearest_word("a4_m", words) == "a4_per_m3");
}

TEST_CASE("what the trade calls it leads to what it is called here", "[scene][words]") {
  static constexpr std::array<std::string_view, 8> words{"latitude_deg", "longitude_deg", "at",    "primary",
                                                         "receiver",     "reflectance",   "conic", "kind"};
  CHECK(nearest_word("lat", words) == "latitude_deg");
  CHECK(nearest_word("lon_deg", words) == "longitude_deg");
  CHECK(nearest_word("time", words) == "at");
  CHECK(nearest_word("Mirror", words) == "primary");
  CHECK(nearest_word("target", words) == "receiver");
  CHECK(nearest_word("reflectivity", words) == "reflectance");
  CHECK(nearest_word("hyperboloid", words) == "conic");
  CHECK(nearest_word("reciever", words) == "receiver");  // what is spelt alike comes first
  CHECK_FALSE(nearest_word("emissivity", words));
  CHECK(word_notes("hyperboloid", words).back() == "a hyperboloid is a conic with conic_constant below -1");
}

TEST_CASE("long lists and words are cut", "[scene][words]") {
  const std::vector<std::string_view> many(10'000, "mirror");
  const std::string text = joined(many);
  CHECK(text.size() < 600);
  CHECK(text.ends_with("mirror and 9940 more"));
  CHECK(shortened(std::string(61, 'x')) == std::string(60, 'x') + "...");
  CHECK(shortened(std::string(60, 'x')) == std::string(60, 'x'));
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
