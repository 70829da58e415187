#include "steer/design.h"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <fmt/format.h>
#include <limits>
#include <map>
#include <utility>

#include "scene/read.h"
#include "steer/optimise.h"

namespace catoptra {
namespace {

// Shares of half a parameter's range.
constexpr double first_step = 0.2, tolerance = 2e-3, survey_apart = 0.4;
constexpr double not_possible = -1;  // for the optimiser: less than any objective

/// A round number, at most a ten-thousandth of the range: values as a person would write them.
double round_step(double low, double high) {
  return std::pow(10.0, std::floor(std::log10((high - low) * 1e-4)));
}

using Poses = std::vector<std::vector<ScheduledPose>>;  // by sun, then by steered component

struct Judged {
  double objective = 0;
  Poses poses;
};

class DesignSearch {
 public:
  DesignSearch(const Scene& scene, const std::vector<Moment>& suns, const std::vector<FreeParameter>& parameters,
               const DesignOptions& options)
      : scene_(scene), suns_(suns), parameters_(parameters), options_(options) {
    // Evenly picked; the middle of each stretch.
    const std::size_t n = std::min(suns.size(), most_searched_suns);
    for (std::size_t k = 0; k < n; ++k) picked_.push_back((2 * k + 1) * suns.size() / (2 * n));
    const bool steered = Freedom(scene).size() > 0;
    expected_ = static_cast<std::size_t>(options.evaluations) + 2 * (steered ? suns.size() : std::size_t{1});
  }

  std::optional<Design> operator()() {
    for (const Component& component : scene_.components)  // an error now, not after hours
      if (const auto* mount = std::get_if<SteeredMount>(&component.mount))
        with_pose(scene_.text, component.name, *mount);
    const Schedule original = schedule_of(scene_, suns_);
    if (original.interrupted()) return std::nullopt;
    for (const std::size_t i : picked_) original_poses_.push_back(original.rows[i].poses);
    try {
      search();
    } catch (const Stopped&) {
      interrupted_ = true;
    }
    if (!best_) return std::nullopt;
    return finished(original);
  }

 private:
  bool told_to_stop() const { return is_asked(options_.schedule.solver.stop); }
  void tell(std::size_t more) {
    done_ += more;
    if (options_.progress && more > 0) options_.progress(std::min(done_, expected_), expected_);
  }

  double value_at(std::size_t i, double coordinate) const {
    const FreeParameter& p = parameters_[i];
    const double value = p.low + (p.high - p.low) * (coordinate + 1) / 2;
    // Divided by a whole number, the quotient is the double nearest to the decimal.
    const double rounded =
        p.step < 1 ? std::round(value / p.step) / std::round(1 / p.step) : std::round(value / p.step) * p.step;
    return std::clamp(rounded, p.low, p.high);
  }
  double coordinate_at(std::size_t i, double value) const {
    const FreeParameter& p = parameters_[i];
    return std::clamp(2 * (value - p.low) / (p.high - p.low) - 1, -1.0, 1.0);
  }
  std::string text_with(const std::vector<double>& values) const {
    std::vector<NewValue> changes;
    for (std::size_t i = 0; i < values.size(); ++i) changes.push_back({parameters_[i].path, values[i]});
    return with_values(scene_.text, changes);
  }

  /// Every sun's pose, and the final traces. Rows are missing where it was told to stop.
  Schedule schedule_of(const Scene& scene, const std::vector<Moment>& suns) {
    ScheduleOptions options = options_.schedule;
    if (Freedom(scene).size() > 0) {
      options.progress = [this](std::size_t) { tell(1); };
      return make_schedule(scene, suns, options);
    }
    Schedule out = make_schedule(scene, suns, options);
    tell(1);
    return out;
  }
  ScheduleOptions unstoppable() const {
    ScheduleOptions options = options_.schedule;
    options.solver.stop = nullptr;
    options.progress = nullptr;
    return options;
  }

  void search() {
    const Merit merit = [this](std::span<const double> at) { return try_at(at); };
    const std::size_t n = parameters_.size();
    std::vector<double> start;
    for (std::size_t i = 0; i < n; ++i) start.push_back(coordinate_at(i, parameters_[i].original));
    std::vector<Optimum> starts{{start, merit(start)}};
    if (left() > 1)
      for (auto& found : survey(merit, n, std::max(1, left() / 2), 2, survey_apart)) starts.push_back(std::move(found));
    std::ranges::stable_sort(starts, std::ranges::greater(), &Optimum::value);
    for (const Optimum& from : starts)
      if (left() > 0) climb(merit, from, first_step, tolerance, left() + 1);  // it asks for its start again
    tell(static_cast<std::size_t>(left()));                                   // the climbs have come to their ends
  }
  int left() const { return options_.evaluations - static_cast<int>(variants_.size()); }

  double try_at(std::span<const double> at) {
    if (told_to_stop()) throw Stopped();
    std::vector<double> values;
    for (std::size_t i = 0; i < at.size(); ++i) values.push_back(value_at(i, at[i]));
    const auto known = tried_.find(values);
    if (known != tried_.end()) return known->second;
    if (left() == 0) return not_possible;
    const std::optional<Judged> judged = judge(values);
    variants_.push_back({values, judged ? judged->objective : std::numeric_limits<double>::quiet_NaN()});
    poses_.push_back(judged ? judged->poses : Poses());
    if (judged && (!best_ || judged->objective > variants_[*best_].objective)) best_ = variants_.size() - 1;
    tell(1);
    return tried_[values] = judged ? judged->objective : not_possible;
  }

  /// None: the reader refuses such a scene, it can't be placed for one of the suns, or no pose is clear.
  std::optional<Judged> judge(const std::vector<double>& values) {
    const auto outcome = read_scene_text(text_with(values), scene_.path);
    if (!outcome.scene) return std::nullopt;
    const Scene& scene = *outcome.scene;
    const Freedom freedom(scene);
    const Clearance clearance(scene);
    SolverOptions options = options_.schedule.solver;
    options.travel_cost_per_m = 0;
    std::optional<PoseSolver> solver;
    if (freedom.size() > 0) solver.emplace(scene, options);
    PreparedPool pool = search_pool(scene, options.objective);
    std::vector<const Poses*> known{&original_poses_};
    if (best_) known.push_back(&poses_[*best_]);
    if (const auto near = nearest_to(values)) known.push_back(&poses_[*near]);
    Judged out{0, Poses(picked_.size())};
    std::vector<double> by_sun(picked_.size());
    std::atomic<bool> possible = true;
    std::vector<std::function<void()>> tasks;
    for (std::size_t k = 0; k < picked_.size(); ++k) {
      tasks.push_back([&, k] {
        const Moment& moment = suns_[picked_[k]];
        Scene at_sun = scene;
        set_moment(at_sun, moment);
        try {
          place(at_sun, moment.to_sun);
        } catch (const std::runtime_error&) {
          possible = false;
          return;
        }
        std::vector<double> coordinates;
        if (solver) {
          std::vector<std::vector<double>> starts{std::vector<double>(freedom.size(), 0.0)};
          for (const Poses* poses : known) {
            set_poses(at_sun, (*poses)[k]);
            starts.push_back(freedom.coordinates_of(at_sun));
          }
          try {
            const Solution solution = solver->nearby(moment, starts);
            by_sun[k] = solution.value;
            coordinates = solution.coordinates;
          } catch (const NoRoom&) {
            possible = false;
            return;
          }
        } else {
          if (told_to_stop()) throw Stopped();
          Evaluator evaluate(at_sun, freedom, clearance, pool,
                             {options.objective, options.samples, options.seed, 0, options.memory});
          by_sun[k] = evaluate(coordinates);
          if (!(by_sun[k] >= 0)) possible = false;  // one store: another sun may say so at the same time
        }
        freedom.apply(coordinates, at_sun);
        out.poses[k] = poses_of(at_sun);
      });
    }
    run_all(*options_.schedule.workers, tasks);
    if (!possible) return std::nullopt;
    for (const double value : by_sun) out.objective += value / static_cast<double>(by_sun.size());
    return out;
  }

  /// The possible variant nearest to `values`, in shares of the ranges.
  std::optional<std::size_t> nearest_to(const std::vector<double>& values) const {
    std::optional<std::size_t> out;
    double least = std::numeric_limits<double>::infinity();
    for (std::size_t v = 0; v < variants_.size(); ++v) {
      if (poses_[v].empty()) continue;
      double square = 0;
      for (std::size_t i = 0; i < values.size(); ++i) {
        const double apart = coordinate_at(i, values[i]) - coordinate_at(i, variants_[v].values[i]);
        square += apart * apart;
      }
      if (square < least) {
        least = square;
        out = v;
      }
    }
    return out;
  }

  Design finished(const Schedule& original) {
    Design out{.parameters = parameters_, .variants = variants_, .best = *best_, .searched_suns = picked_.size()};
    out.interrupted = interrupted_;
    out.original_text = scene_.text;
    Scene scene = *read_scene_text(text_with(variants_[*best_].values), scene_.path).scene;
    std::vector<std::size_t> rows;  // of the original
    if (!interrupted_) {
      out.schedule = schedule_of(scene, suns_);
      out.interrupted = out.schedule.interrupted();
      for (std::size_t i = 0; i < suns_.size(); ++i) rows.push_back(i);
    }
    if (out.interrupted) {  // what the search knows is kept; this takes no search
      std::vector<Moment> suns;
      for (const std::size_t i : picked_) suns.push_back(suns_[i]);
      out.schedule = trace_schedule(scene, suns, poses_[*best_], unstoppable());
      out.schedule.asked = suns_.size();
      rows = picked_;
    }
    std::vector<std::size_t> all;
    for (std::size_t i = 0; i < rows.size(); ++i) all.push_back(i);
    compare(original, rows, scene, all, out);
    if (out.gain.value < 0) {
      out.original_kept = true;
      out.scene = scene_;
      out.schedule = kept_schedule(original, rows);
      return out;
    }
    pose_for_own_sun(scene, out.schedule);
    std::string text = scene.text;
    const Freedom freedom(scene);
    for (const std::size_t i : freedom.steered()) {
      const auto& mount = std::get<SteeredMount>(scene.components[i].mount);
      if (freedom.size() > 0) text = with_pose(text, scene.components[i].name, mount);
    }
    out.scene = std::move(*read_scene_text(text, scene_.path).scene);
    return out;
  }

  /// Traces both once more, with seeds that neither the searches nor the schedules have used: another for each sun, so
  /// that suns are independent, the same for both, so that what chance does to both does not count.
  void compare(const Schedule& original, const std::vector<std::size_t>& rows, const Scene& scene,
               const std::vector<std::size_t>& found_rows, Design& out) const {
    const Objective objective = options_.schedule.solver.objective;
    const auto n = static_cast<double>(rows.size());
    std::uint64_t seed = options_.schedule.solver.seed + 2;
    PreparedPool original_pool(scene_), found_pool(scene);
    const auto traced = [&](PreparedPool& pool, const Scene& at_sun) {
      const TraceOptions options{.samples = options_.schedule.samples,
                                 .seed = seed,
                                 .replicates = options_.schedule.replicates,
                                 .workers = options_.schedule.workers,
                                 .paths = 0};
      return remembered_trace(pool, at_sun, options, options_.schedule.solver.memory);
    };
    const auto add = [&](Estimate& mean, double value, double error) {
      mean.value += value / n;
      mean.standard_error = std::hypot(mean.standard_error, error / n);
    };
    for (std::size_t k = 0; k < rows.size(); ++k) {
      const TraceResult before = traced(original_pool, scene_at(scene_, original, rows[k])),
                        after = traced(found_pool, scene_at(scene, out.schedule, found_rows[k]));
      const Estimate was = estimate_of(objective, before), is = estimate_of(objective, after);
      add(out.original, was.value, was.standard_error);
      add(out.found, is.value, is.standard_error);
      std::vector<double> gains = values_by_replicate(objective, after);
      const std::vector<double> then = values_by_replicate(objective, before);
      for (std::size_t r = 0; r < gains.size(); ++r) gains[r] -= then[r];
      add(out.gain, is.value - was.value,
          gains.empty() ? std::hypot(is.standard_error, was.standard_error) : mean_of(gains).standard_error);
      seed += 2;
    }
  }

  /// The original's, as far as it was compared.
  static Schedule kept_schedule(const Schedule& original, const std::vector<std::size_t>& rows) {
    Schedule out = original;
    out.rows.clear();
    for (const std::size_t i : rows) out.rows.push_back(original.rows[i]);
    return out;
  }

  /// Moves the steered components to where they belong for the scene's own sun: from the pose of the sun nearest to it.
  void pose_for_own_sun(Scene& scene, const Schedule& schedule) const {
    const Freedom freedom(scene);
    if (freedom.size() == 0) return;
    const auto nearest = std::ranges::max_element(
        schedule.rows, {}, [&](const ScheduleRow& row) { return dot(row.sun.to_sun, scene.sun.toward); });
    set_poses(scene, nearest->poses);
    std::vector<double> at = freedom.coordinates_of(scene);
    if (!(nearest->sun.to_sun == scene.sun.toward) && scene.sun.toward.z > 0) {
      try {
        SolverOptions options = unstoppable().solver;
        at = PoseSolver(scene, options).nearby(own_moment(scene), std::vector<std::vector<double>>{at}).coordinates;
      } catch (const NoRoom&) {
        // The pose of the nearest sun is the best that is known.
      }
    }
    // A limit that is met to the last digit may read back as one that is passed.
    for (double& coordinate : at) coordinate *= 1 - 1e-9;
    freedom.apply(at, scene);
  }

  const Scene& scene_;
  const std::vector<Moment>& suns_;
  const std::vector<FreeParameter>& parameters_;
  const DesignOptions& options_;
  std::vector<std::size_t> picked_;
  Poses original_poses_;
  std::vector<Variant> variants_;
  std::vector<Poses> poses_;  // by variant; none where it is not possible
  std::map<std::vector<double>, double> tried_;
  std::optional<std::size_t> best_;
  std::size_t done_ = 0, expected_ = 0;
  bool interrupted_ = false;
};

/// What the reader says of a value of the parameter's, which stands at the same place in each variant; none if nothing.
/// A value of the wrong type in a list is reported at the list's place.
std::optional<Problem> complaint(const Scene& scene, const std::string& path, const Place& at, double value) {
  const std::vector<NewValue> changes{{path, value}};
  for (auto& problem : read_scene_text(with_values(scene.text, changes), scene.path).problems)
    if (problem.severity == Severity::error && ((problem.place.line == at.line && problem.place.column == at.column) ||
                                                problem.message.starts_with("wrong type")))
      return std::move(problem);
  return std::nullopt;
}

}  // namespace

FreeParameter free_parameter(const Scene& scene, const std::string& path, double low, double high) {
  if (!(low < high) || !std::isfinite(high - low)) throw std::invalid_argument("the range is empty or endless");
  const WrittenNumber number = find_number(scene.text, path);
  if (path.find(".mount.pose.") != std::string::npos)
    throw WrongPath(number.place,
                    fmt::format("'{}': every variant's poses are found anew\n  allowed: home_m, travel_m, tilt_deg and "
                                "what else belongs to the machine",
                                path));
  FreeParameter out{path, low, high, round_step(low, high), number.value, false};
  for (const double bound : {low, high})
    if (const auto problem = complaint(scene, path, number.place, bound))
      throw WrongPath(number.place, fmt::format("'{}' can't be {}: {}{}", path, bound, problem->message,
                                                problem->notes.empty() ? "" : "\n  " + problem->notes.back()));
  // A number between the bounds that is neither whole nor, as a rule, where a range has a hole.
  const double between = low + 0.381966 * (high - low);
  if (low == std::round(low) && high == std::round(high) && between != std::round(between) &&
      complaint(scene, path, number.place, between)) {
    out.is_whole = true;
    out.step = std::max(1.0, out.step);
  }
  return out;
}

std::optional<Design> search_design(const Scene& scene, const std::vector<Moment>& suns,
                                    const std::vector<FreeParameter>& parameters, const DesignOptions& options) {
  if (suns.empty() || parameters.empty() || options.evaluations < 1)
    throw std::invalid_argument("a shape search needs suns, free parameters and variants to try");
  const GivenOrAll workers(options.schedule.workers);
  DesignOptions own = options;
  own.schedule.workers = &*workers;
  std::optional<Design> out;
  workers->inside([&] { out = DesignSearch(scene, suns, parameters, own)(); });
  return out;
}

}  // namespace catoptra
