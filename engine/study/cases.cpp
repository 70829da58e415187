#include "study/cases.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>

#include "numeric/sobol.h"
#include "study/points.h"

namespace catoptra {
namespace {

std::string toml_number(double x) {
  return fmt::format("{}", x);  // the shortest that reads back to the same double
}

bool needs_values(Combination combination) {
  return combination == Combination::grid || combination == Combination::zipped ||
         combination == Combination::one_at_a_time;
}

void require_sound(const StudyPlan& plan) {
  if (plan.parameters.empty()) throw WrongPlan("a study needs a parameter");
  for (const StudyParameter& p : plan.parameters) {
    const std::string& name = p.paths.at(0);
    if (!p.listed.empty()) continue;
    const ValueRange& range = p.range;
    if (!(std::isfinite(range.low) && std::isfinite(range.high) && range.low < range.high))
      throw WrongPlan(fmt::format("the range of '{}' goes from {} to {}; it takes two finite numbers, the lower first",
                                  name, range.low, range.high));
    if (range.logarithmic && range.low <= 0)
      throw WrongPlan(
          fmt::format("the logarithmic range of '{}' begins at {}; it takes numbers above 0", name, range.low));
    if (needs_values(plan.combination) && range.steps < 2)
      throw WrongPlan(fmt::format("the range of '{}' has {} steps; with \"{}\" it takes 2 or more", name, range.steps,
                                  combination_words[static_cast<std::size_t>(plan.combination)]));
  }
  if (!needs_values(plan.combination) && plan.points == 0)
    throw WrongPlan(fmt::format("\"{}\" takes a number of points, 1 or more",
                                combination_words[static_cast<std::size_t>(plan.combination)]));
  if (plan.combination == Combination::sobol && plan.parameters.size() > static_cast<std::size_t>(sobol_dimensions))
    throw WrongPlan(
        fmt::format("{} parameters; Sobol's points have {} at most", plan.parameters.size(), sobol_dimensions));
  if (plan.combination == Combination::zipped) {
    const std::size_t first = plan.parameters.front().values().size();
    for (const StudyParameter& p : plan.parameters)
      if (p.values().size() != first)
        throw WrongPlan(fmt::format("zipped lists have the same length: '{}' has {} values, '{}' has {}",
                                    plan.parameters.front().paths.at(0), first, p.paths.at(0), p.values().size()));
  }
}

std::string value_at(const StudyParameter& p, double u) {
  if (p.listed.empty()) return toml_number(p.range.at(u));
  const auto n = static_cast<double>(p.listed.size());
  return p.listed[static_cast<std::size_t>(std::min(std::floor(u * n), n - 1))];
}

std::vector<StudyCase> grid(const std::vector<std::vector<std::string>>& values) {
  std::vector<StudyCase> out{StudyCase()};
  for (const auto& of_one : values) {
    std::vector<StudyCase> longer;
    for (const StudyCase& begun : out)
      for (const std::string& value : of_one) {
        longer.push_back(begun);
        longer.back().emplace_back(value);
      }
    out = std::move(longer);
  }
  return out;
}

}  // namespace

double ValueRange::at(double u) const {
  if (u == 0) return low;
  if (u == 1) return high;
  if (logarithmic) return low * std::pow(high / low, u);
  return low + u * (high - low);
}

std::vector<std::string> StudyParameter::values() const {
  if (!listed.empty()) return listed;
  std::vector<std::string> out;
  for (std::size_t i = 0; i < range.steps; ++i)
    out.push_back(toml_number(range.at(static_cast<double>(i) / static_cast<double>(range.steps - 1))));
  return out;
}

double count_of_cases(const StudyPlan& plan) {
  require_sound(plan);
  double out = plan.combination == Combination::one_at_a_time || plan.combination == Combination::grid ? 1 : 0;
  for (const StudyParameter& p : plan.parameters) {
    const double values = static_cast<double>(p.listed.empty() ? p.range.steps : p.listed.size());
    if (plan.combination == Combination::grid) out *= values;
    if (plan.combination == Combination::one_at_a_time) out += values;
    if (plan.combination == Combination::zipped) out = values;
  }
  if (!needs_values(plan.combination)) out = static_cast<double>(plan.points);
  return out < 0x1p53 ? out : HUGE_VAL;
}

std::vector<StudyCase> cases_of(const StudyPlan& plan) {
  if (count_of_cases(plan) > 1e8) throw WrongPlan("more than a hundred million cases");
  const std::size_t n = plan.parameters.size();
  std::vector<std::vector<std::string>> values;
  for (const StudyParameter& p : plan.parameters) values.push_back(p.values());
  std::vector<StudyCase> out;
  switch (plan.combination) {
    case Combination::grid:
      return grid(values);
    case Combination::zipped:
      for (std::size_t i = 0; i < values.front().size(); ++i) {
        StudyCase& one = out.emplace_back();
        for (const auto& of_one : values) one.emplace_back(of_one[i]);
      }
      return out;
    case Combination::one_at_a_time:
      out.emplace_back(n);
      for (std::size_t k = 0; k < n; ++k)
        for (const std::string& value : values[k]) out.emplace_back(n)[k] = value;
      return out;
    case Combination::latin_hypercube:
    case Combination::sobol:
      break;
  }
  const UnitPoints points = plan.combination == Combination::sobol ? sobol_points(plan.points, n, plan.seed)
                                                                   : latin_hypercube(plan.points, n, plan.seed);
  for (const auto& point : points) {
    StudyCase& one = out.emplace_back();
    for (std::size_t k = 0; k < n; ++k) one.emplace_back(value_at(plan.parameters[k], point[k]));
  }
  return out;
}

std::vector<std::string> settings_of(const StudyPlan& plan, const StudyCase& one) {
  std::vector<std::string> out;
  for (std::size_t k = 0; k < one.size(); ++k)
    if (one[k])
      for (const std::string& path : plan.parameters.at(k).paths) out.push_back(path + "=" + *one[k]);
  return out;
}

}  // namespace catoptra
