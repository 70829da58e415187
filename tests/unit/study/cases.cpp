// Cases of a study: how many, in which order, with which values.
#include "study/cases.h"

#include <catch2/catch.hpp>
#include <cmath>

using namespace catoptra;

namespace {

StudyParameter listed(const std::string& path, const std::vector<std::string>& values) {
  return {.paths = {path}, .listed = values, .range = {}};
}

StudyParameter between(const std::string& path, double low, double high, std::size_t steps = 0, bool log = false) {
  return {.paths = {path}, .listed = {}, .range = {low, high, steps, log}};
}

/// Values with a blank between, cases with a bar; "-" for the scene's own.
std::string text_of(const StudyPlan& plan) {
  std::string out;
  for (const StudyCase& one : cases_of(plan)) {
    std::string line;
    for (const auto& value : one) line += (line.empty() ? "" : " ") + value.value_or("-");
    out += (out.empty() ? "" : " | ") + line;
  }
  return out;
}

std::string refusal(const StudyPlan& plan) {
  try {
    cases_of(plan);
  } catch (const WrongPlan& fault) {
    return fault.what();
  }
  return "";
}

}  // namespace

TEST_CASE("cases: a grid's last parameter changes fastest", "[study]") {
  const StudyPlan plan{.parameters = {listed("a", {"1", "2"}), listed("b", {"\"x\"", "\"y\"", "\"z\""})}};
  CHECK(text_of(plan) == "1 \"x\" | 1 \"y\" | 1 \"z\" | 2 \"x\" | 2 \"y\" | 2 \"z\"");
  CHECK(count_of_cases(plan) == 6);
  CHECK(text_of({.parameters = {between("a", 0, 1, 5)}}) == "0 | 0.25 | 0.5 | 0.75 | 1");
  CHECK(text_of({.parameters = {between("a", 1, 10000, 5, true)}}) == "1 | 10 | 100 | 1000 | 10000");
}

TEST_CASE("cases: zipped lists go side by side", "[study]") {
  const StudyPlan plan{.parameters = {listed("a", {"1", "2", "3"}), between("b", -1, 1, 3)},
                       .combination = Combination::zipped};
  CHECK(text_of(plan) == "1 -1 | 2 0 | 3 1");
  CHECK(count_of_cases(plan) == 3);
  StudyPlan uneven = plan;
  uneven.parameters[1].range.steps = 4;
  CHECK(refusal(uneven) == "zipped lists have the same length: 'a' has 3 values, 'b' has 4");
}

TEST_CASE("cases: one at a time begins with the scene as it is", "[study]") {
  const StudyPlan plan{.parameters = {listed("a", {"1", "2"}), listed("b", {"3"})},
                       .combination = Combination::one_at_a_time};
  CHECK(text_of(plan) == "- - | 1 - | 2 - | - 3");
  CHECK(count_of_cases(plan) == 4);
  CHECK(settings_of(plan, cases_of(plan)[0]).empty());
  CHECK(settings_of(plan, cases_of(plan)[3]) == std::vector<std::string>{"b=3"});
}

TEST_CASE("cases: designs stay in their ranges and go through lists evenly", "[study]") {
  for (const Combination combination : {Combination::latin_hypercube, Combination::sobol}) {
    const StudyPlan plan{.parameters = {between("a", 2, 4), between("b", 1e-3, 1e3, 0, true), listed("c", {"u", "v"})},
                         .combination = combination,
                         .points = 64,
                         .seed = 5};
    const auto cases = cases_of(plan);
    CHECK(cases.size() == 64);
    CHECK(count_of_cases(plan) == 64);
    int below = 0, small = 0, first = 0;
    for (const StudyCase& one : cases) {
      const double a = std::stod(*one[0]), b = std::stod(*one[1]);
      CHECK((a > 2 && a < 4));
      CHECK((b > 1e-3 && b < 1e3));
      below += a < 3 ? 1 : 0;
      small += b < 1 ? 1 : 0;
      first += *one[2] == "u" ? 1 : 0;
    }
    // Half of the strata lie below the middle, by the logarithm too: exactly, for both designs.
    CHECK((below == 32 && small == 32 && first == 32));
  }
  // Linked paths get one value.
  const StudyPlan linked{.parameters = {{.paths = {"a", "b"}, .listed = {"7"}, .range = {}}}};
  CHECK(settings_of(linked, cases_of(linked)[0]) == std::vector<std::string>{"a=7", "b=7"});
}

TEST_CASE("cases: a plan that makes no sense is refused in words", "[study]") {
  CHECK(refusal({}) == "a study needs a parameter");
  CHECK(refusal({.parameters = {between("a", 1, 1, 3)}}) ==
        "the range of 'a' goes from 1 to 1; it takes two finite numbers, the lower first");
  CHECK(refusal({.parameters = {between("a", 0, 1, 3, true)}}) ==
        "the logarithmic range of 'a' begins at 0; it takes numbers above 0");
  CHECK(refusal({.parameters = {between("a", 0, 1)}}) ==
        "the range of 'a' has 0 steps; with \"grid\" it takes 2 or more");
  CHECK(refusal({.parameters = {between("a", 0, 1)}, .combination = Combination::sobol}) ==
        "\"sobol\" takes a number of points, 1 or more");
  CHECK(refusal({.parameters = std::vector<StudyParameter>(49, between("a", 0, 1)),
                 .combination = Combination::sobol,
                 .points = 2}) == "49 parameters; Sobol's points have 48 at most");
  const StudyPlan huge{.parameters = std::vector<StudyParameter>(6, between("a", 0, 1, 100))};
  CHECK(count_of_cases(huge) == 1e12);
  CHECK(refusal(huge) == "more than a hundred million cases");
}
