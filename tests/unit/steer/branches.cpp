// Branches where they are known exactly.
#include "steer/branches.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "scenes.h"
#include "steer/solver.h"
#include "steer/starts.h"

using namespace catoptra;

namespace {

/// The folding mirror's scene with a second disc on the other side, of the same width but black to `absorptance` only.
Scene two_discs(const std::string& absorptance) {
  const Scene one = test::paraboloid_and_fold();
  return test::read_or_throw(one.text + R"(
[finish.grey]
kind = "absorber"
absorptance = )" + absorptance +
                             R"(
[[receiver]]
name = "other"
shape = { kind = "disc", diameter_m = 0.04 }
finish = "grey"
mount = { kind = "fixed", position_m = [-1.2, -0.5, 2.6], axis = [0.6, 0.25, 0.5] }
)");
}

TEST_CASE("branches: two discs that a fold can reach are two branches, worth what the discs absorb", "[steer]") {
  // By symmetry about the dish's axis the one disc gets what the other does: the values are as their absorptances.
  for (const char* absorptance : {"0.97", "0.93"}) {
    CAPTURE(absorptance);
    const Scene scene = two_discs(absorptance);
    const SearchGround ground(scene, {.samples = 1 << 13});
    const Moment sun = own_moment(scene);
    const auto found = find_branches(ground, std::span(&sun, 1), *test::workers(2)).front();
    REQUIRE(found.size() >= 2);
    CHECK(are_apart(found[0].at, found[1].at));
    CHECK(found[1].value / found[0].value == Approx(std::stod(absorptance)).margin(0.01));
    // The mirror tilts toward the disc that it serves.
    const auto tilt = [&](const Optimum& branch) {
      Scene posed = scene;
      ground.freedom.apply(branch.at, posed);
      return std::get<SteeredMount>(posed.components[1].mount).axis.x;
    };
    CHECK(tilt(found[0]) * tilt(found[1]) < 0);
    CHECK(tilt(found[0]) > 0);  // the black one's
  }
}

TEST_CASE("branches: what the guide finds is kept, so that a search begun anew need not look again", "[steer]") {
  const Scene scene = test::paraboloid_and_fold();
  SearchMemory memory;
  std::size_t news = 0;
  memory.changed = [&] { ++news; };
  const SolverOptions options{.samples = 1 << 10, .memory = &memory};
  const Moment sun = own_moment(scene);
  const SearchGround ground(scene, options);
  Climber judge(ground, sun, 1 << 8);
  const auto first = guided_starts(ground, sun, 7, 100, 4, judge);
  CHECK(first.size() == 4);
  CHECK(memory.numbers(guided_key(ground, sun, 7, 100)));
  CHECK(news > 0);
  news = 0;
  Climber again(ground, sun, 1 << 8);
  CHECK(guided_starts(ground, sun, 7, 100, 4, again) == first);
  CHECK(news == 0);
  // It is the memory that answers: of another's places it takes those.
  memory.keep(guided_key(ground, sun, 7, 100), std::vector<double>{0.125, 0.25, 0.5});
  const auto kept = guided_starts(ground, sun, 7, 100, 4, judge);
  CHECK(kept.size() == 1);
  CHECK(guided_starts(ground, sun, 8, 100, 4, judge) != first);  // another draw's places
}

}  // namespace
