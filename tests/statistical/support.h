#pragma once
// What the statistical tests share: traced scenes, and estimates judged by their own error bars.
#include <catch2/catch.hpp>
#include <cmath>
#include <string>

#include "scene/read.h"
#include "trace/trace.h"

namespace catoptra {

inline Scene scene_from(const std::string& text) {
  ReadOutcome outcome = read_scene_text(text, "test.toml");
  REQUIRE(outcome.scene);
  return std::move(*outcome.scene);
}

inline TraceResult traced(const std::string& text, std::uint64_t samples = 1 << 20, int threads = 0) {
  return trace(scene_from(text), {.samples = samples, .seed = 7, .threads = threads, .paths = 0});
}

/// From 32 replicates, five standard errors are Student's t with 31 degrees of freedom: p = 2e-5 each.
inline bool within_sigmas(const Estimate& got, double expected, double sigmas = 5) {
  return std::fabs(got.value - expected) <= sigmas * got.standard_error;
}

}  // namespace catoptra
