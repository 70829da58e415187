// A run to a precision goes on until it is there, and no further.
#include <catch2/catch.hpp>

#include "scene/read.h"
#include "source_dir.h"
#include "trace/trace.h"

using namespace catoptra;

TEST_CASE("precision: the first look's own error is enough, a little less is not", "[trace][precision]") {
  const ReadOutcome outcome = read_scene(CATOPTRA_SOURCE_DIR "/scenes/dish.toml");
  REQUIRE(outcome.scene);
  const auto relative = [](const TraceResult& r) {
    return r.intercept_factor.standard_error / r.intercept_factor.value;
  };
  const auto to = [&](double precision) { return trace(*outcome.scene, {.precision = precision, .paths = 0}); };
  const TraceResult look = to(0.5);
  const double first = relative(look);
  CHECK(to(1.01 * first).samples == look.samples);
  const TraceResult on = to(first / 1.2);
  CHECK(on.samples > look.samples);
  CHECK(relative(on) <= first / 1.2);
  CHECK(on.precision_reached);
  // What is allowed is kept, and that it was too little is said.
  const TraceResult cut = trace(*outcome.scene, {.precision = first / 8, .max_samples = 2 * look.samples, .paths = 0});
  CHECK(cut.samples == 2 * look.samples);
  CHECK_FALSE(cut.precision_reached);
}
