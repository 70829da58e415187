#include "files/json.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <nlohmann/json.hpp>

#include "example_result.h"

using namespace catoptra;

TEST_CASE("JSON holds the same numbers to the last bit", "[results]") {
  auto result = test::example_result();
  result.optical_efficiency.value = 0.1 + 0.2;  // 0.30000000000000004: 17 digits
  const auto json =
      nlohmann::json::parse(to_json(test::example_scene(), result, test::example_provenance(), "out/dish.h5"));
  CHECK(json["file"] == "out/dish.h5");
  CHECK(json["samples"] == 4096);
  CHECK(json["seed"] == 18446744073709551615U);
  CHECK(json["optical_efficiency"]["value"].get<double>() == 0.1 + 0.2);
  CHECK(json["optical_efficiency"]["standard_error"] == 0.0012);
  REQUIRE(json["budget"].size() == term_count);
  double total_W = 0;
  for (const auto& term : json["budget"]) total_W += term["power_W"]["value"].get<double>();
  CHECK(total_W == 1250);  // 1000 W/m2 x 1.25 m2: the terms lose no watt
  CHECK(json["budget"]["spillage"]["power_W"]["standard_error"] == 2);
  CHECK(json["receivers"]["second absorber"]["peak_concentration"]["position"]["y_m"] == -0.05);
  // The sun at (0.6, 0, 0.8) stands in the east (90 degrees from north), asin 0.8 above the horizon.
  CHECK(json["sun"]["azimuth_deg"].get<double>() == Approx(90).epsilon(1e-15));
  CHECK(json["sun"]["elevation_deg"].get<double>() == Approx(53.13010235415598).epsilon(1e-15));
}

TEST_CASE("JSON says null where a number is none, and keeps what is not UTF-8 readable", "[results]") {
  auto result = test::example_result();
  result.intercept_factor = {std::nan(""), std::nan("")};
  auto scene = test::example_scene();
  scene.path = "caf\xe9.toml";
  const auto json = nlohmann::json::parse(to_json(scene, result, test::example_provenance(), "x.h5"));
  CHECK(json["intercept_factor"]["value"].is_null());
  CHECK(json["scene"] == "caf\xef\xbf\xbd.toml");
}

TEST_CASE("a result with SOURCE_DATE_EPOCH shows no clock", "[results]") {
  auto from = test::example_provenance();
  from.reproducible = true;
  const auto json = nlohmann::json::parse(to_json(test::example_scene(), test::example_result(), from, "x.h5"));
  CHECK(json["wall_time_s"] == 0);
}
