#include "steer/solver.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>

#include "scene/law.h"
#include "scene/problem.h"
#include "scene/steered_pose.h"

namespace catoptra {
namespace {

// Steps and tolerances are shares of each coordinate's range; the counts were measured on scenes/bowl.toml, where ten
// times as many points gained under a thousandth.
constexpr double first_step = 0.2, next_step = 0.1, fine_step = 0.05;
constexpr double coarse_tolerance = 5e-3, fine_tolerance = 1e-3;
constexpr int most_a_climb = 500;  // points
constexpr int survey_points_a_coordinate = 60, guided_points_a_coordinate = 400;
constexpr std::size_t guided_poses = 32, guided_climbs = 16;  // the best by the guide, and of these by a trace
constexpr std::size_t surveyed_starts = 3;                    // of the first sun
constexpr std::size_t look_out_starts = 2;                    // of later ones
constexpr std::size_t finely_climbed_starts = 3;
constexpr double survey_apart = 0.4;
constexpr double worth_a_climb = 0.9;  // of the pose that is known, to a start elsewhere after its coarse climb
constexpr double branch_gain = 2e-3;
constexpr double settled_gain = 1e-3;
constexpr int most_rounds = 4;

/// Whether refining the end of a coarse climb could still beat `known`. A pose that touches another body only has to
/// be nearer to a clear one.
bool promises(const Optimum& top, double known) {
  return top.value > (known > 0 ? worth_a_climb * known : known);
}

/// Whether a pose is worth leaving a known one for.
bool beats(double value, double known) {
  return value > known * (1 + branch_gain) && value > known;
}

/// Whether two poses lie too far from each other, in some coordinate, for one hill.
bool apart(const std::vector<double>& one, const std::vector<double>& other) {
  for (std::size_t i = 0; i < one.size(); ++i)
    if (std::fabs(one[i] - other[i]) > first_step) return true;
  return false;
}

}  // namespace

/// One climber: its own copies of the scene at two depths of sampling, for one sun.
class PoseSolver::Search {
 public:
  Search(const PoseSolver& solver, const Moment& moment, const std::vector<double>* from)
      : stop_(solver.options_.stop),
        coarse_(evaluator(solver, std::max<std::uint64_t>(solver.options_.samples / 4, 1), moment, from)),
        fine_(evaluator(solver, solver.options_.samples, moment, from)) {}

  Merit coarse() { return merit(coarse_); }
  Merit fine() { return merit(fine_); }

  /// Up the coarse hill; the value is the fine one's.
  Optimum roughly_climbed(const std::vector<double>& start, double step) {
    const Optimum rough = climb(coarse(), {start, coarse()(start)}, step, coarse_tolerance, most_a_climb);
    // Of the two ends of the coarse climb the fine hill keeps the better, so that it never makes things worse.
    const Optimum here{start, fine()(start)}, there{rough.at, fine()(rough.at)};
    return there.value > here.value ? there : here;
  }
  Optimum finely_climbed(const Optimum& start, double step) {
    return climb(fine(), start, std::min(step, fine_step), fine_tolerance, most_a_climb);
  }
  Optimum climbed(const std::vector<double>& start, double step) {
    return finely_climbed(roughly_climbed(start, step), step);
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
  static Evaluator evaluator(const PoseSolver& solver, std::uint64_t samples, const Moment& moment,
                             const std::vector<double>* from) {
    const SolverOptions& o = solver.options_;
    Evaluator out(solver.scene_, solver.freedom_, solver.clearance_, solver.pool_,
                  {o.objective, samples, o.seed, o.travel_cost_per_m, o.memory});
    out.set_moment(moment);
    if (from != nullptr) out.count_travel_from(*from);
    return out;
  }
  Merit merit(Evaluator& evaluator) {
    return [this, &evaluator](std::span<const double> at) {
      if (is_asked(stop_)) throw Stopped();
      return evaluator(at);
    };
  }

  const Stop* stop_;
  Evaluator coarse_, fine_;
};

PoseSolver::PoseSolver(const Scene& scene, const SolverOptions& options)
    : scene_(scene),
      options_(options),
      freedom_(scene),
      clearance_(scene_),
      guide_(scene_),
      pool_(search_pool(scene, options.objective)) {
  if (freedom_.size() == 0) throw std::invalid_argument("no mount of the scene is free to move");
}

/// Where a flat mirror would stand, as far as the limits allow.
std::optional<std::vector<double>> PoseSolver::bisector_start(const Moment& moment) const {
  if (freedom_.steered().size() != 1) return std::nullopt;
  const std::size_t moved = freedom_.steered().front();
  if (scene_.components[moved].role != Role::secondary) return std::nullopt;
  const Layout layout = place(scene_, moment.to_sun);
  std::optional<Vec> image_m, receiver_m;
  double focal_length_m = 0;
  for (const Placed& placed : layout.placed) {
    const Component& component = scene_.components[static_cast<std::size_t>(placed.component)];
    if (component.role == Role::receiver && !receiver_m) receiver_m = placed.frame.origin;
    const auto* conic = std::get_if<Conic>(&component.surface);
    if (component.role != Role::primary || conic == nullptr || !(conic->curvature_per_m > 0) || image_m) continue;
    focal_length_m = 0.5 / conic->curvature_per_m;
    image_m =
        paraxial_image_m(placed.frame.origin + 2 * focal_length_m * placed.frame.ez, 2 * focal_length_m, moment.to_sun);
  }
  if (!image_m || !receiver_m) return std::nullopt;
  const auto fold = bisector(*image_m, *receiver_m, moment.to_sun, focal_length_m);
  if (!fold) return std::nullopt;
  Scene scene = scene_;
  auto& mount = std::get<SteeredMount>(scene.components[moved].mount);
  mount.offset_m = fold->position_m - mount.home_m;
  const double twist = twist_rad(mount);
  mount.axis = fold->axis;
  turn_to(mount, tilt_rad(mount), twist);
  return freedom_.coordinates_of(scene);
}

std::vector<Optimum> PoseSolver::guided_starts(const Moment& moment, Search& search) const {
  Scene scene = scene_;
  const Merit merit = [&](std::span<const double> at) {
    if (is_asked(options_.stop)) throw Stopped();
    freedom_.apply(at, scene);
    const Layout layout = place(scene, moment.to_sun);
    const double shortfall_m = clearance_.shortfall_m(layout);
    return shortfall_m > 0 ? -shortfall_m : guide_(layout);
  };
  const int points = guided_points_a_coordinate * static_cast<int>(freedom_.size());
  auto out = scatter(merit, freedom_.size(), points, guided_poses, survey_apart);
  for (Optimum& start : out) start.value = search.coarse()(start.at);
  std::ranges::stable_sort(out, std::ranges::greater(), &Optimum::value);  // the guide's order where no light arrives
  out.resize(std::min(out.size(), guided_climbs));
  for (Optimum& start : out)
    if (!(start.value > 0))
      start = climb(merit, {start.at, merit(start.at)}, next_step, coarse_tolerance, most_a_climb);
  return out;
}

Solution PoseSolver::finished(Optimum best, const Moment& moment) const {
  Search search(*this, moment, nullptr);
  const double value = search.fine()(best.at);
  return {std::move(best.at), value, false};
}

std::vector<Optimum> PoseSolver::rough_tops(const Moment& moment, const std::vector<double>* from, std::size_t surveyed,
                                            std::vector<std::vector<double>> starts, Workers& workers) const {
  if (auto start = bisector_start(moment)) starts.push_back(std::move(*start));
  {
    Search search(*this, moment, from);
    const int points = survey_points_a_coordinate * static_cast<int>(freedom_.size());
    for (auto& found : survey(search.coarse(), freedom_.size(), points, surveyed, survey_apart))
      starts.push_back(std::move(found.at));
    for (auto& found : guided_starts(moment, search)) starts.push_back(std::move(found.at));
  }
  std::vector<Optimum> out(starts.size());
  std::vector<std::function<void()>> tasks;
  for (std::size_t i = 0; i < starts.size(); ++i)
    tasks.push_back([&, i] { out[i] = Search(*this, moment, from).roughly_climbed(starts[i], first_step); });
  run_all(workers, tasks);
  std::ranges::stable_sort(out, std::ranges::greater(), &Optimum::value);
  return out;
}

Solution PoseSolver::globally(const Moment& moment, Workers& workers) const {
  std::vector<Optimum> found =
      rough_tops(moment, nullptr, surveyed_starts,
                 {freedom_.coordinates_of(scene_), std::vector<double>(freedom_.size(), 0.0)}, workers);
  found.resize(std::min(found.size(), finely_climbed_starts));
  std::vector<std::function<void()>> tasks;
  for (Optimum& top : found)
    tasks.push_back([&] { top = Search(*this, moment, nullptr).finely_climbed(top, first_step); });
  run_all(workers, tasks);
  const auto best = std::ranges::max_element(found, {}, &Optimum::value);
  if (best->value < 0) throw no_room(*best, moment);
  return finished(Search(*this, moment, nullptr).refined(std::move(*best)), moment);
}

Solution PoseSolver::onward(const Moment& moment, std::span<const Solution> before, Workers& workers) const {
  const std::vector<double>& latest = before.front().coordinates;
  Search search(*this, moment, &latest);
  Optimum continued = search.refined(search.climbed(latest, next_step));
  if (before.size() > 1) {
    // The same step again, as a start.
    std::vector<double> ahead = latest;
    for (std::size_t i = 0; i < ahead.size(); ++i)
      ahead[i] = std::clamp(2 * ahead[i] - before[1].coordinates[i], -1.0, 1.0);
    if (search.fine()(ahead) > search.fine()(latest)) {
      Optimum further = search.climbed(ahead, fine_step);
      if (further.value > continued.value) continued = std::move(further);
    }
  }
  Optimum other = rough_tops(moment, &latest, look_out_starts, {}, workers).front();
  if (promises(other, continued.value)) other = search.refined(search.finely_climbed(other, first_step));
  const double found = std::max(continued.value, other.value);
  if (found < 0) throw no_room(continued.value > other.value ? continued : other, moment);
  if (found == 0 && before.front().value > 0) {
    // The light was lost on the way: worth as long a search as the first sun's.
    Solution anew = globally(moment, workers);
    anew.branched = anew.value > 0;
    if (anew.branched) return anew;
  }
  const bool better = beats(other.value, continued.value);
  // The same hill, climbed a little further, is no other branch.
  const bool branched = better && apart(other.at, continued.at);
  Solution out = finished(std::move(better ? other : continued), moment);
  out.branched = branched;
  return out;
}

std::optional<Solution> PoseSolver::backward(const Moment& moment, const Solution& known, const Solution& after,
                                             const Solution* before) const {
  Search search(*this, moment, before != nullptr ? &before->coordinates : nullptr);
  const double to_beat = search.fine()(known.coordinates);
  Optimum top = search.roughly_climbed(after.coordinates, next_step);
  if (!promises(top, to_beat)) return std::nullopt;
  top = search.finely_climbed(top, next_step);
  if (!beats(top.value, to_beat)) return std::nullopt;
  return finished(search.refined(std::move(top)), moment);
}

bool PoseSolver::are_apart(const Solution& one, const Solution& other) {
  return apart(one.coordinates, other.coordinates);
}

Solution PoseSolver::nearby(const Moment& moment, std::span<const std::vector<double>> starts) const {
  Search search(*this, moment, nullptr);
  Optimum best;
  for (const auto& start : starts) {
    const double value = search.coarse()(start);
    if (best.at.empty() || value > best.value) best = {start, value};
  }
  Optimum top = search.climbed(best.at, next_step);
  if (top.value < 0) throw no_room(top, moment);
  return finished(std::move(top), moment);
}

NoRoom PoseSolver::no_room(const Optimum& best, const Moment& moment) const {
  Scene scene = scene_;
  freedom_.apply(best.at, scene);
  const Clearance::Shortfall worst = clearance_.worst(place(scene, moment.to_sun));
  std::string limits;
  for (std::size_t k = 0; k < best.at.size(); ++k)
    if (std::fabs(best.at[k]) > 0.99) limits += (limits.empty() ? "" : ", ") + freedom_.name(k);
  const auto mover = std::ranges::find(scene.components, worst.mover, &Component::name);
  const Place at = mover == scene.components.end() ? Place{} : mover->place_of("mount.clearance_m");
  const std::string said = fmt::format(
      "no pose within the limits keeps '{}' {:g} m from '{}' (clearance_m): the best found falls short by {:.2g} m{}",
      worst.mover, worst.clearance_m, worst.other, worst.m,
      limits.empty() ? "" : fmt::format(", at the end of its range in {}", limits));
  return NoRoom(located(scene.path, at, said));
}

}  // namespace catoptra
