#include "steer/solver.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>

#include "scene/law.h"
#include "scene/steered_pose.h"
#include "steer/tasks.h"

namespace catoptra {
namespace {

// Steps and tolerances are shares of each coordinate's range; the counts were measured on scenes/bowl.toml, where ten
// times as many points gained under a thousandth.
constexpr double first_step = 0.2, next_step = 0.1, fine_step = 0.05;
constexpr double coarse_tolerance = 5e-3, fine_tolerance = 1e-3;
constexpr int most_a_climb = 500;  // points
constexpr int survey_points_a_coordinate = 60;
constexpr std::size_t surveyed_starts = 3;  // of the first sun
constexpr std::size_t look_out_starts = 2;  // of later ones
constexpr double survey_apart = 0.4;
constexpr double branch_gain = 2e-3;
constexpr double settled_gain = 1e-3;
constexpr int most_rounds = 4;

}  // namespace

/// One climber: its own copies of the scene at two depths of sampling, for one sun.
class PoseSolver::Search {
 public:
  Search(const PoseSolver& solver, const Vec& to_sun, const std::vector<double>* from)
      : keep_going_(solver.options_.keep_going),
        coarse_(evaluator(solver, std::max<std::uint64_t>(solver.options_.samples / 4, 1), to_sun, from)),
        fine_(evaluator(solver, solver.options_.samples, to_sun, from)) {}

  Merit coarse() { return merit(coarse_); }
  Merit fine() { return merit(fine_); }

  /// Up the coarse hill, then up the fine one from there.
  Optimum climbed(const std::vector<double>& start, double step) {
    const Optimum rough = climb(coarse(), {start, coarse()(start)}, step, coarse_tolerance, most_a_climb);
    // Of the two ends of the coarse climb the fine hill keeps the better, so that it never makes things worse.
    const Optimum here{start, fine()(start)}, there{rough.at, fine()(rough.at)};
    return climb(fine(), there.value > here.value ? there : here, std::min(step, fine_step), fine_tolerance,
                 most_a_climb);
  }

  /// Climbs again with fresh wide steps, since a simplex may have collapsed on the way, until that gains little.
  Optimum refined(Optimum best) {
    for (int round = 0; round < most_rounds; ++round) {
      Optimum again = climbed(best.at, first_step);
      const bool settled = !(again.value > best.value * (1 + settled_gain));
      if (again.value > best.value) best = std::move(again);
      if (settled) break;
    }
    return best;
  }

 private:
  static Evaluator evaluator(const PoseSolver& solver, std::uint64_t samples, const Vec& to_sun,
                             const std::vector<double>* from) {
    const SolverOptions& o = solver.options_;
    Evaluator out(solver.scene_, solver.freedom_, solver.clearance_, solver.sampler_,
                  {o.objective, samples, o.seed, o.travel_cost_per_m});
    out.set_sun(to_sun);
    if (from != nullptr) out.count_travel_from(*from);
    return out;
  }
  Merit merit(Evaluator& evaluator) {
    return [this, &evaluator](std::span<const double> at) {
      if (keep_going_ && !keep_going_()) throw Stopped();
      return evaluator(at);
    };
  }

  std::function<bool()> keep_going_;
  Evaluator coarse_, fine_;
};

PoseSolver::PoseSolver(const Scene& scene, const SolverOptions& options)
    : scene_(scene), options_(options), freedom_(scene), clearance_(scene_), sampler_(scene.sun.shape) {
  if (freedom_.size() == 0) throw std::invalid_argument("no mount of the scene is free to move");
}

/// Where a flat mirror would stand, as far as the limits allow.
std::optional<std::vector<double>> PoseSolver::bisector_start(const Vec& to_sun) const {
  if (freedom_.steered().size() != 1) return std::nullopt;
  const std::size_t moved = freedom_.steered().front();
  if (scene_.components[moved].role != Role::secondary) return std::nullopt;
  const Layout layout = place(scene_, to_sun);
  std::optional<Vec> image_m, receiver_m;
  double focal_length_m = 0;
  for (const Placed& placed : layout.placed) {
    const Component& component = scene_.components[static_cast<std::size_t>(placed.component)];
    if (component.role == Role::receiver && !receiver_m) receiver_m = placed.frame.origin;
    const auto* conic = std::get_if<Conic>(&component.surface);
    if (component.role != Role::primary || conic == nullptr || !(conic->curvature_per_m > 0) || image_m) continue;
    focal_length_m = 0.5 / conic->curvature_per_m;
    image_m = paraxial_image_m(placed.frame.origin + 2 * focal_length_m * placed.frame.ez, 2 * focal_length_m, to_sun);
  }
  if (!image_m || !receiver_m) return std::nullopt;
  const auto fold = bisector(*image_m, *receiver_m, to_sun, focal_length_m);
  if (!fold) return std::nullopt;
  Scene scene = scene_;
  auto& mount = std::get<SteeredMount>(scene.components[moved].mount);
  mount.offset_m = fold->position_m - mount.home_m;
  const double twist = twist_rad(mount);
  mount.axis = fold->axis;
  turn_to(mount, tilt_rad(mount), twist);
  return freedom_.coordinates_of(scene);
}

Solution PoseSolver::finished(Optimum best, const Vec& to_sun) const {
  Search search(*this, to_sun, nullptr);
  const double value = search.fine()(best.at);
  return {std::move(best.at), value, false};
}

Solution PoseSolver::globally(const Vec& to_sun, int threads) const {
  std::vector<std::vector<double>> starts{freedom_.coordinates_of(scene_), std::vector<double>(freedom_.size(), 0.0)};
  if (auto start = bisector_start(to_sun)) starts.push_back(std::move(*start));
  {
    Search search(*this, to_sun, nullptr);
    const int points = survey_points_a_coordinate * static_cast<int>(freedom_.size());
    for (auto& found : survey(search.coarse(), freedom_.size(), points, surveyed_starts, survey_apart))
      starts.push_back(std::move(found.at));
  }
  std::vector<Optimum> found(starts.size());
  std::vector<std::function<void()>> tasks;
  for (std::size_t i = 0; i < starts.size(); ++i)
    tasks.push_back([&, i] { found[i] = Search(*this, to_sun, nullptr).climbed(starts[i], first_step); });
  run_all(tasks, threads);
  const auto best = std::ranges::max_element(found, {}, &Optimum::value);
  if (best->value < 0) throw no_room(*best, to_sun);
  return finished(Search(*this, to_sun, nullptr).refined(std::move(*best)), to_sun);
}

Solution PoseSolver::onward(const Vec& to_sun, std::span<const Solution> before, int threads) const {
  const std::vector<double>& latest = before.front().coordinates;
  Optimum continued, other;
  const auto go_on = [&] {
    Search search(*this, to_sun, &latest);
    continued = search.refined(search.climbed(latest, next_step));
    if (before.size() < 2) return;
    // The same step again, as a start.
    std::vector<double> ahead = latest;
    for (std::size_t i = 0; i < ahead.size(); ++i)
      ahead[i] = std::clamp(2 * ahead[i] - before[1].coordinates[i], -1.0, 1.0);
    if (search.fine()(ahead) > search.fine()(latest)) {
      Optimum further = search.climbed(ahead, fine_step);
      if (further.value > continued.value) continued = std::move(further);
    }
  };
  const auto look_out = [&] {
    Search search(*this, to_sun, &latest);
    const int points = survey_points_a_coordinate * static_cast<int>(freedom_.size());
    auto starts = survey(search.coarse(), freedom_.size(), points, look_out_starts, survey_apart);
    if (const auto start = bisector_start(to_sun)) starts.push_back({*start, 0});
    for (const Optimum& start : starts) {
      Optimum top = search.climbed(start.at, first_step);
      if (other.at.empty() || top.value > other.value) other = std::move(top);
    }
    other = search.refined(std::move(other));
  };
  run_all({go_on, look_out}, threads);
  const double found = std::max(continued.value, other.value);
  if (found < 0) throw no_room(continued.value > other.value ? continued : other, to_sun);
  if (found == 0 && before.front().value > 0) {
    // The light was lost on the way: worth as long a search as the first sun's.
    Solution anew = globally(to_sun, threads);
    anew.branched = anew.value > 0;
    if (anew.branched) return anew;
  }
  const bool better = other.value > continued.value * (1 + branch_gain) && other.value > continued.value;
  double apart = 0;
  for (std::size_t i = 0; i < latest.size(); ++i) apart = std::max(apart, std::fabs(other.at[i] - continued.at[i]));
  Solution out = finished(std::move(better ? other : continued), to_sun);
  // The same hill, climbed a little further, is no other branch.
  out.branched = better && apart > first_step;
  return out;
}

Solution PoseSolver::nearby(const Vec& to_sun, std::span<const std::vector<double>> starts) const {
  Search search(*this, to_sun, nullptr);
  Optimum best;
  for (const auto& start : starts) {
    const double value = search.coarse()(start);
    if (best.at.empty() || value > best.value) best = {start, value};
  }
  Optimum top = search.climbed(best.at, next_step);
  if (top.value < 0) throw no_room(top, to_sun);
  return finished(std::move(top), to_sun);
}

NoRoom PoseSolver::no_room(const Optimum& best, const Vec& to_sun) const {
  Scene scene = scene_;
  freedom_.apply(best.at, scene);
  const Clearance::Shortfall worst = clearance_.worst(place(scene, to_sun));
  std::string limits;
  for (std::size_t k = 0; k < best.at.size(); ++k)
    if (std::fabs(best.at[k]) > 0.99) limits += (limits.empty() ? "" : ", ") + freedom_.name(k);
  return NoRoom(fmt::format(
      "no pose within the limits keeps '{}' {:g} m from '{}' (clearance_m): the best found falls short by {:.2g} m{}",
      worst.mover, worst.clearance_m, worst.other, worst.m,
      limits.empty() ? "" : fmt::format(", at the end of its range in {}", limits)));
}

}  // namespace catoptra
