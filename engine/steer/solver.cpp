#include "steer/solver.h"

#include <algorithm>
#include <cmath>

#include "steer/branches.h"
#include "steer/path.h"
#include "steer/way.h"

namespace catoptra {
namespace {

// Shares of each coordinate's range.
constexpr double next_step = 0.1, fine_step = 0.05;
constexpr double coarse_tolerance = 5e-3, fine_tolerance = 1e-3;
constexpr double branch_gain = 2e-3;  // of the objective, that a leap must bring

}  // namespace

Solution PoseSolver::finished(Optimum best, const Moment& moment) const {
  if (best.value < 0) throw ground_.no_room(best, moment);
  return {std::move(best.at), best.value};
}

Solution PoseSolver::globally(const Moment& moment, Workers& workers) const {
  return along(std::span(&moment, 1), workers).front();
}

std::vector<Solution> PoseSolver::along(std::span<const Moment> suns, Workers& workers) const {
  const std::vector<std::vector<Optimum>> branches = find_branches(ground_, suns, workers);
  std::vector<std::vector<double>> values(suns.size());
  std::vector<std::vector<Scene>> posed(suns.size());
  const double cost_per_m = ground_.options.travel_cost_per_m;
  for (std::size_t i = 0; i < suns.size(); ++i) {
    if (branches[i].front().value < 0) throw ground_.no_room(branches[i].front(), suns[i]);
    for (const Optimum& branch : branches[i]) {
      values[i].push_back(branch.value);
      if (!(cost_per_m > 0)) continue;
      posed[i].push_back(ground_.scene);
      ground_.freedom.apply(branch.at, posed[i].back());
    }
  }
  const auto chosen = best_path(values, [&](std::size_t i, std::size_t from, std::size_t to) {
    if (!on_one_way(suns[i - 1], suns[i])) return 0.0;
    double cost = leaps(suns[i - 1], {branches[i - 1][from].at}, suns[i], {branches[i][to].at}) ? branch_gain : 0;
    if (cost_per_m > 0)
      cost += std::fmin(1, cost_per_m * travel_between_m(posed[i - 1][from], posed[i][to], ground_.freedom));
    return cost * values[i][to];
  });
  std::vector<Solution> out;
  for (std::size_t i = 0; i < suns.size(); ++i) {
    const Optimum& best = branches[i][chosen[i]];
    out.push_back({best.at, best.value});
  }
  return out;
}

Solution PoseSolver::between(const Moment& moment, std::span<const Solution> known) const {
  std::vector<std::vector<double>> ends;
  for (const Solution& one : known) ends.push_back(one.coordinates);
  return finished(branches_between(ground_, moment, ends).front(), moment);
}

Solution PoseSolver::onward(const Moment& moment, const Solution& planned, const Solution& before) const {
  Climber coarse(ground_, moment, std::max<std::uint64_t>(ground_.options.samples / 4, 1), &before.coordinates);
  Climber fine(ground_, moment, ground_.options.samples, &before.coordinates);
  Optimum best = fine.valued(before.coordinates);
  for (const auto* start : {&planned.coordinates, &before.coordinates}) {
    const Optimum rough = coarse.climbed(*start, next_step, coarse_tolerance);
    Optimum top = fine.climbed(fine(rough.at) > fine(*start) ? rough.at : *start, fine_step, fine_tolerance);
    if (top.value > best.value) best = std::move(top);
  }
  if (best.value < 0) throw ground_.no_room(best, moment);
  return {best.at, Climber(ground_, moment, ground_.options.samples)(best.at)};
}

bool PoseSolver::leaps(const Moment& sun_before, const Solution& before, const Moment& sun_after,
                       const Solution& after) const {
  return are_apart(before.coordinates, after.coordinates) &&
         are_apart(ground_.carry.turned(before.coordinates, sun_before.to_sun, sun_after.to_sun), after.coordinates);
}

Solution PoseSolver::nearby(const Moment& moment, std::span<const std::vector<double>> starts) const {
  Climber coarse(ground_, moment, std::max<std::uint64_t>(ground_.options.samples / 4, 1));
  Climber fine(ground_, moment, ground_.options.samples);
  Optimum best;
  for (const auto& start : starts) {
    const Optimum here = coarse.valued(start);
    if (best.at.empty() || here.value > best.value) best = here;
  }
  const Optimum rough = coarse.climbed(best.at, next_step, coarse_tolerance);
  // Of the two ends of the coarse climb the fine hill keeps the better, so that it never makes things worse.
  const Optimum there = fine.valued(rough.at), here = fine.valued(best.at);
  return finished(fine.climbed(there.value > here.value ? there.at : here.at, fine_step, fine_tolerance), moment);
}

}  // namespace catoptra
