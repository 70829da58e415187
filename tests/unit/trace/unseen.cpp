// Numbers on which all replicates agree: the error that they have then, and those that are exact.
#include "trace/tally/unseen.h"

#include <catch2/catch.hpp>

#include "statistical/estimates.h"

namespace catoptra {

using namespace test;

namespace {

/// A flat mirror of 100 m2 that throws all light of a point sun straight up onto a black lid, wide enough for it; the
/// sun comes in from the side. In the way up hangs a small ball that stops `missed_m2` of the beam.
std::string beam(double missed_m2, const std::string& mirror = "reflectance = 1") {
  return head(point_sun, mirror, {90, 45}) + component("primary", "mirror", R"(shape = { kind = "plane" }
aperture = { kind = "rectangle", width_m = 10, length_m = 10 }
finish = "silver"
mount = { kind = "heliostat", aim_m = [0, 0, 1e6] })") +
         component("receiver", "lid", R"(shape = { kind = "plane" }
aperture = { kind = "rectangle", width_m = 30, length_m = 30 }
finish = "black"
mount = { kind = "fixed", position_m = [0, 0, 60], axis = [0, 0, -1] }
flux = { bins = [1, 1] })") +
         component("obstacle", "ball",
                   fmt::format(R"(shape = {{ kind = "ball", radius_m = {} }}
finish = "dark"
mount = {{ kind = "fixed", position_m = [1.3, -0.7, 50] }})",
                               std::sqrt(missed_m2 / pi)));
}

constexpr std::uint64_t samples = 1 << 13;

}  // namespace

TEST_CASE("a loss that no sample met is 0 within an error that covers it", "[trace][unseen]") {
  // Of light that meets the ball one sample is expected, or three: by Poisson's law none does in exp(-1), and exp(-3),
  // of the runs, and then the truth lies one or three of the errors away. In all other runs the spread tells.
  for (const double expected : {1.0, 3.0}) {
    CAPTURE(expected);
    const double across_m2 = 100 * std::cos(pi / 8);  // of the beam: it meets the mirror at 22.5 degrees
    const double one_W = 1000 * 100.0 / samples;      // a sample's, before its cosine
    const Scene rare = scene_of(beam(expected / samples * across_m2));
    const double truth_W = expected / samples * 1000 * across_m2;
    constexpr int runs = 300;
    int none = 0, beyond = 0;
    for (int seed = 1; seed <= runs; ++seed) {
      const TraceResult got = trace(rare, {.samples = samples, .seed = static_cast<std::uint64_t>(seed), .paths = 0});
      REQUIRE(got.samples == samples);
      const Estimate blocked = term(got, Term::blocking);
      if (blocked.value == 0) {
        ++none;
        CHECK(blocked.standard_error == Approx(one_W).epsilon(1e-12));
        CHECK(got.intercept_factor.value == 1);
      }
      REQUIRE(blocked.standard_error > 0);
      beyond += std::fabs(blocked.value - truth_W) > 3 * blocked.standard_error ? 1 : 0;
    }
    const double share = std::exp(-expected);
    CHECK(std::fabs(none - runs * share) < 5 * std::sqrt(runs * share * (1 - share)));
    CHECK(beyond < 0.01 * runs);
  }
}

TEST_CASE("where all samples tell the same, the error is a sample's", "[trace][unseen]") {
  const TraceResult got = traced(beam(1e-9, "reflectance = 0.5"), samples);
  const double one_W = 1000 * 100.0 / samples, in_W = 1000 * 100 * std::cos(pi / 8);
  const ReceiverResult& lid = got.receivers.front();
  const auto check = [](const Estimate& got_, double value, double error) {
    CHECK(got_.value == Approx(value).epsilon(1e-9));
    CHECK(got_.standard_error == Approx(error).epsilon(1e-9));
  };
  check(term(got, Term::primary_absorption), in_W / 2, one_W);
  check(term(got, Term::absorbed), in_W / 2, one_W);
  check(got.optical_efficiency, std::cos(pi / 8) / 2, 1.0 / samples);
  check(term(got, Term::spillage), 0, one_W);
  check(got.by_component[0].terms[static_cast<std::size_t>(Term::primary_absorption)], in_W / 2, one_W);
  check(lid.absorbed_power_W, in_W / 2, one_W);
  check(lid.arriving_power_W, in_W / 2, one_W);
  check(lid.mean_concentration, in_W / 2 / (1000 * 900), one_W / (1000 * 900));
  // Of the light that leaves the mirror, half of what comes in, a sample is as many times more.
  check(got.intercept_factor, 1, one_W / (in_W / 2));
  check(lid.intercept_factor, 1, one_W / (in_W / 2));
  check(lid.peak_concentration, in_W / 2 / (1000 * 900), one_W / (1000 * 900));
  // Straight from the sun comes nothing, since the lid looks down. These samples stand for the lid's area, nine times
  // the mirror's; a run as short as this one has as many of them.
  check(lid.direct_power_W, 0, 9 * one_W);
}

TEST_CASE("what nothing in the scene can change is exact", "[trace][unseen]") {
  const auto error = [](const TraceResult& got, Term t) { return term(got, t).standard_error; };
  const TraceResult perfect = traced(beam(1e-9), samples);
  for (const Term t : {Term::cosine, Term::primary_absorption, Term::secondary_absorption, Term::cover_loss,
                       Term::receiver_reflection}) {
    CAPTURE(static_cast<int>(t));
    CHECK(error(perfect, t) == 0);
  }
  for (const Term t : {Term::shading, Term::blocking, Term::spillage, Term::absorbed}) {
    CAPTURE(static_cast<int>(t));
    CHECK(error(perfect, t) > 0);
  }
  CHECK(error(traced(beam(1e-9, "reflectance = 0.9"), samples), Term::primary_absorption) > 0);
  // By component: only what that one can do.
  const auto of = [&](std::size_t c, Term t) {
    return perfect.by_component[c].terms[static_cast<std::size_t>(t)].standard_error;
  };
  CHECK(of(0, Term::spillage) > 0);
  CHECK(of(0, Term::absorbed) == 0);
  CHECK(of(1, Term::absorbed) > 0);
  CHECK(of(1, Term::spillage) == 0);
  CHECK(of(2, Term::blocking) > 0);
  CHECK(of(2, Term::spillage) == 0);
  // A mirror alone can't be shaded.
  const TraceResult alone = traced(head(point_sun) + component("primary", "m", R"(shape = { kind = "plane" }
aperture = { kind = "circle", diameter_m = 2 }
finish = "silver"
mount = { kind = "fixed" })"),
                                   samples);
  CHECK(error(alone, Term::shading) == 0);
  CHECK(error(alone, Term::absorbed) == 0);
  CHECK(error(alone, Term::spillage) > 0);
}

TEST_CASE("a spread stays as it is, and rounding is none", "[trace][unseen]") {
  CHECK(with_unseen({5, 1e-3}, 2).standard_error == 1e-3);
  CHECK(with_unseen({5, 1e-16}, 2).standard_error == 2);
  CHECK(with_unseen({0, 0}, 2).standard_error == 2);
  const double nan = std::nan("");
  CHECK(std::isnan(with_unseen({nan, nan}, 2).standard_error));
}

}  // namespace catoptra
