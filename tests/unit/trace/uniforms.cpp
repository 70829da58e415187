// Which random numbers decide what.
#include "trace/uniforms.h"

#include <catch2/catch.hpp>
#include <map>
#include <set>

using namespace catoptra;

namespace {

constexpr std::array every_draw{Draw::slope, Draw::specularity, Draw::jitter, Draw::rest, Draw::way};

}  // namespace

TEST_CASE("no two decisions about a ray share a random number", "[trace]") {
  std::map<int, int> uses;  // of each dimension
  for (const Dim dim : {Dim::component, Dim::point_u, Dim::point_v, Dim::sun_u, Dim::sun_v, Dim::wavelength})
    ++uses[static_cast<int>(dim)];
  std::set<int> philox;
  for (const Draw draw : every_draw) {
    const DrawSource source = source_of(draw);
    for (int bounce = 0; bounce < source.sobol_bounces; ++bounce) {
      ++uses[source.dimension_at(bounce)];
      ++uses[source.dimension_at(bounce) + 1];
    }
    CHECK(source.philox_use < philox_uses);
    CHECK(philox.insert(source.philox_use).second);
  }
  for (const auto& [dimension, count] : uses) {
    INFO("dimension " << dimension);
    CHECK(count == 1);
    CHECK(dimension < sobol_dimensions);
  }
  CHECK(uses.size() == 32);  // 6 of the sample; 4 x 2 of slope, specularity and way; 2 of jitter
}
