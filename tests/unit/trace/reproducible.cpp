// When a run stops.
#include <catch2/catch.hpp>
#include <cmath>

#include "busy.h"
#include "trace/trace.h"

using namespace catoptra;
using namespace catoptra::test;

namespace {

Scene scene() {
  return scene_of(busy);
}

}  // namespace

TEST_CASE("samples are rounded up to whole bundles of every replicate", "[trace]") {
  TraceOptions options;
  options.paths = 0;
  options.replicates = 5;
  for (const std::uint64_t wanted : {1u, 1280u, 1281u, 100000u}) {
    options.samples = wanted;
    const auto got = trace(scene(), options);
    CHECK(got.samples >= wanted);
    CHECK(got.samples % (5 * 256) == 0);
    CHECK(got.replicates == 5);
    CHECK(got.budget_by_replicate.size() == 5);
  }
  options.replicates = 1;
  CHECK_THROWS_AS(trace(scene(), options), std::invalid_argument);
}

TEST_CASE("a precise run stops when its error is small enough", "[trace]") {
  TraceOptions options;
  options.paths = 0;
  options.precision = 2e-3;
  const auto easy = trace(scene(), options);
  CHECK(easy.precision_reached);
  CHECK(easy.intercept_factor.standard_error <= 2e-3 * easy.intercept_factor.value);

  options.precision = 1e-4;
  const auto hard = trace(scene(), options);
  CHECK(hard.precision_reached);
  CHECK(hard.intercept_factor.standard_error <= 1e-4 * hard.intercept_factor.value);
  CHECK(hard.samples > easy.samples);

  options.precision = 1e-7;
  options.max_samples = 1 << 19;
  const auto cut = trace(scene(), options);
  CHECK_FALSE(cut.precision_reached);
  CHECK(cut.samples <= (1 << 19) + 32 * 256 * 32);
  CHECK(cut.intercept_factor.standard_error > 1e-7 * cut.intercept_factor.value);
}

TEST_CASE("a run can be stopped from what it tells of its progress", "[trace]") {
  Stop stop;
  TraceOptions options;
  options.paths = 0;
  options.samples = std::uint64_t{1} << 30;
  options.stop = &stop;
  int calls = 0;
  options.progress = [&](const Progress& progress) {
    CHECK(progress.samples_done <= progress.samples_expected);
    if (progress.samples_done >= (1 << 20) && ++calls == 2) stop.ask();
  };
  const auto got = trace(scene(), options);
  CHECK(got.interrupted);
  CHECK_FALSE(got.precision_reached);
  CHECK(got.samples < options.samples);
  CHECK(std::fabs(got.closure.value) <= 5 * got.closure.standard_error);
  CHECK(got.closure.standard_error < 1e-4 * 1000 * got.aperture_area_m2);
}
