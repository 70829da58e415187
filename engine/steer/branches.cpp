#include "steer/branches.h"

#include <algorithm>
#include <cmath>

#include "numeric/sobol.h"
#include "numeric/statistics.h"
#include "steer/starts.h"
#include "steer/way.h"

namespace catoptra {
namespace {

// Steps, tolerances and distances are shares of each coordinate's range.
constexpr double first_step = 0.2, offer_step = 0.1, fine_step = 0.05, deep_step = 0.02;
constexpr double coarse_tolerance = 5e-3, fine_tolerance = 1e-3;
constexpr double coarse_news = 1e-2, fine_news = 1e-3;  // less gain is no news for other suns
constexpr std::size_t least_starts = 6;                 // by the guide, of a sun among many
constexpr int most_a_climb = 500;                       // points
constexpr std::size_t most_branches = 4;                // of a sun
constexpr double worth_keeping = 0.5;                   // of the sun's best, to a branch after coarse climbs
constexpr double worth_a_climb = 0.15;                  // the same to another sun's pose before its coarse climb
constexpr double worth_a_fine_offer = 0.98;             // and before its fine climb
constexpr double worth_a_fine_climb = 0.9;              // and to a branch before its fine climb
constexpr std::size_t climbs_a_round = 3;               // of a sun
constexpr std::size_t finely_climbed = 3;               // branches of a sun
constexpr int most_rounds = 40, simplex_rounds = 4;
constexpr double bright = 0.3;  // of the day's best, to a sun that few samples serve
constexpr double most_dim_times = 4;
constexpr int most_fine_rounds = 4;
constexpr double same_pose = 0.02;
constexpr double like_height_rad = 6 * units::degree_rad, beside_rad = 12 * units::degree_rad;
constexpr double known_to = 3e-3;  // the error of a value that is small enough, as a share of it
constexpr double most_times_samples = 8;
constexpr double worth_depth = 0.01;  // of the day's best, to a sun
constexpr double rival = 0.98;        // of the sun's best, to another branch
constexpr int noise_draws = 8;
constexpr double error_power = 0.75, fine_over_coarse = 2.8;  // 4^0.75: how errors fall with the number of samples
constexpr int least_draws = 4, most_draws = 32;               // of `samples` each, to settle rivals

struct Branch {
  Optimum top;
  int changed = 0;  // the round in which it was found or made better
};

/// From which other suns a sun learns, and how their poses are carried over.
struct Source {
  std::size_t sun;
  bool as_it_stands, turned, mirrored;
};

bool are_near(const std::vector<double>& one, const std::vector<double>& other, double distance) {
  for (std::size_t i = 0; i < one.size(); ++i)
    if (std::fabs(one[i] - other[i]) > distance) return false;
  return true;
}

class BranchSearch {
 public:
  BranchSearch(const SearchGround& ground, std::span<const Moment> suns, Workers& workers)
      : ground_(ground),
        suns_(suns),
        workers_(workers),
        branches_(suns.size()),
        sources_(suns.size()),
        times_(suns.size(), 1) {
    for (std::size_t i = 0; i < suns.size(); ++i) find_sources(i);
  }

  std::vector<std::vector<Optimum>> operator()() {
    seed();
    weigh_brightness();
    for (int round = 1; round <= most_rounds && learn(round, coarse_samples(), coarse_offers(round)); ++round) {
    }
    refine();
    for (int round = 1; round <= most_fine_rounds && learn(round, ground_.options.samples, fine_offers()); ++round) {
    }
    const double day_best = best_of_all();
    std::vector<std::vector<Optimum>> out(suns_.size());
    for_each_sun([&](std::size_t i) { out[i] = judged(i, day_best); });
    return out;
  }

 private:
  /// How a round goes about what suns are offered.
  struct Offers {
    double least;  // of the sun's best, before the climb
    double step, tolerance;
    double news;      // the gain that makes a branch new to other suns, as a share
    bool best_only;   // of each source
    bool by_simplex;  // three times the points, but it follows ridges between cliffs
  };
  struct Task {
    std::size_t sun;
    std::vector<double> start;
    Optimum top;
  };

  std::uint64_t coarse_samples() const { return std::max<std::uint64_t>(ground_.options.samples / 4, 1); }
  static Offers coarse_offers(int round) {
    return {worth_a_climb, offer_step, coarse_tolerance, coarse_news, false, round <= simplex_rounds};
  }
  static Offers fine_offers() { return {worth_a_fine_offer, deep_step, fine_tolerance, fine_news, true, false}; }

  double best_of_all() const {
    double out = 0;
    for (const auto& own : branches_) out = std::max(out, own.front().top.value);
    return out;
  }

  /// Of few samples a dim sun's value is mostly noise, by which no climb finds its way: it gets more.
  void weigh_brightness() {
    const double day_best = best_of_all();
    for_each_sun([&](std::size_t i) {
      const double value = branches_[i].front().top.value;
      if (!(value > worth_depth * day_best)) return;
      times_[i] = static_cast<std::uint64_t>(std::clamp(std::round(bright * day_best / value), 1.0, most_dim_times));
      Climber climber(ground_, suns_[i], times_[i] * coarse_samples());
      for (Branch& branch : branches_[i]) branch.top = climber.valued(branch.top.at);
      std::ranges::stable_sort(branches_[i],
                               [](const Branch& a, const Branch& b) { return a.top.value > b.top.value; });
    });
  }

  void for_each_sun(const std::function<void(std::size_t)>& body) const {
    std::vector<std::function<void()>> tasks;
    for (std::size_t i = 0; i < suns_.size(); ++i) tasks.push_back([&body, i] { body(i); });
    run_all(workers_, tasks);
  }

  void find_sources(std::size_t i) {
    const double height_rad = ground_.carry.off_axis_rad(suns_[i].to_sun);
    std::size_t partner = suns_.size();
    double least_rad = like_height_rad;
    for (std::size_t j = 0; j < suns_.size(); ++j) {
      const bool is_next = (j + 1 == i || i + 1 == j) && on_one_way(suns_[i], suns_[j]);
      if (is_next) sources_[i].push_back({j, true, true, false});
      const double off_rad = std::fabs(ground_.carry.off_axis_rad(suns_[j].to_sun) - height_rad);
      if (j == i || is_next || off_rad >= least_rad || angle_between_rad(suns_[i].to_sun, suns_[j].to_sun) < beside_rad)
        continue;
      least_rad = off_rad;
      partner = j;
    }
    if (partner < suns_.size()) sources_[i].push_back({partner, false, true, true});
    sources_[i].push_back({i, false, false, true});
  }

  /// Climbs of all suns side by side, then what they found, in their order.
  void climb_all(std::vector<Task>& tasks, std::uint64_t samples, double step, double tolerance,
                 bool by_simplex = false) const {
    std::vector<std::function<void()>> work;
    for (Task& task : tasks)
      work.push_back([this, &task, samples, step, tolerance, by_simplex] {
        Climber climber(ground_, suns_[task.sun], times_[task.sun] * samples);
        const Merit merit = [&](std::span<const double> at) { return climber(at); };
        task.top = by_simplex ? climb(merit, climber.valued(task.start), step, tolerance, most_a_climb)
                              : climber.climbed(task.start, step, tolerance);
      });
    run_all(workers_, work);
  }

  void seed() {
    // A day's suns learn from each other, so that each needs few starts; one alone needs all.
    const std::size_t n = suns_.size();
    const std::size_t count = std::clamp<std::size_t>(64 / n, least_starts, 16);
    const int points_a_coordinate = n == 1 ? 400 : n < 8 ? 200 : 100;
    std::vector<std::vector<std::vector<double>>> starts(n);
    for_each_sun([&](std::size_t i) {
      Climber judge(ground_, suns_[i], coarse_samples());
      // The point of the sun's own draw.
      starts[i] = guided_starts(ground_, suns_[i], mix(i), points_a_coordinate, count, judge);
      if (n == 1)
        for (auto& start : surveyed_starts(ground_, judge)) starts[i].push_back(std::move(start));
      if (auto start = bisector_start(ground_, suns_[i])) starts[i].push_back(std::move(*start));
      starts[i].push_back(ground_.freedom.coordinates_of(ground_.scene));
      if (n == 1) starts[i].push_back(std::vector<double>(ground_.freedom.size(), 0.0));
    });
    std::vector<Task> tasks;
    for (std::size_t i = 0; i < n; ++i)
      for (auto& start : starts[i]) tasks.push_back({i, std::move(start), {}});
    climb_all(tasks, coarse_samples(), first_step, coarse_tolerance);
    for (Task& task : tasks) merge(task.sun, std::move(task.top), 0, coarse_news);
  }

  /// Takes a pose among the sun's branches.
  void merge(std::size_t sun, Optimum top, int round, double news) {
    auto& own = branches_[sun];
    const auto same = std::ranges::find_if(own, [&](const Branch& b) { return !are_apart(b.top.at, top.at); });
    if (same == own.end()) {
      own.push_back({std::move(top), round});
    } else if (top.value > same->top.value) {
      if (top.value > same->top.value + news * std::fabs(same->top.value)) same->changed = round;
      same->top = std::move(top);
    } else {
      return;
    }
    std::ranges::stable_sort(own, [](const Branch& a, const Branch& b) { return a.top.value > b.top.value; });
    // One that has climbed toward a better one is no longer another.
    std::vector<Branch> kept;
    for (Branch& branch : own) {
      const auto is_near = [&](const Branch& b) { return !are_apart(b.top.at, branch.top.at); };
      const bool is_worth = kept.empty() || branch.top.value >= worth_keeping * kept.front().top.value;
      if (is_worth && kept.size() < most_branches && std::ranges::none_of(kept, is_near))
        kept.push_back(std::move(branch));
    }
    own = std::move(kept);
  }

  /// What the branches of other suns that changed in the round before lead to here. Whether anything changed.
  bool learn(int round, std::uint64_t samples, const Offers& offers) {
    std::vector<std::vector<std::vector<double>>> chosen(suns_.size());
    for_each_sun([&](std::size_t i) { chosen[i] = choose_offers(i, round, samples, offers); });
    std::vector<Task> tasks;
    for (std::size_t i = 0; i < suns_.size(); ++i)
      for (auto& start : chosen[i]) tasks.push_back({i, std::move(start), {}});
    climb_all(tasks, samples, offers.step, offers.tolerance, offers.by_simplex);
    for (Task& task : tasks) merge(task.sun, std::move(task.top), round, offers.news);
    for (const auto& own : branches_)
      for (const Branch& branch : own)
        if (branch.changed == round) return true;
    return false;
  }

  std::vector<std::vector<double>> choose_offers(std::size_t i, int round, std::uint64_t samples,
                                                 const Offers& offers) const {
    std::vector<Optimum> found;
    Climber judge(ground_, suns_[i], times_[i] * samples);
    const auto& own = branches_[i];
    for (const Source& source : sources_[i]) {
      for (const Branch& branch : branches_[source.sun]) {
        if (offers.best_only && &branch != &branches_[source.sun].front()) break;
        if (branch.changed != round - 1 || !(branch.top.value > 0)) continue;
        const auto& at = branch.top.at;
        const Vec &there = suns_[source.sun].to_sun, &here = suns_[i].to_sun;
        if (source.as_it_stands) found.push_back(judge.valued(at));
        if (source.turned) found.push_back(judge.valued(ground_.carry.turned(at, there, here)));
        if (source.mirrored) found.push_back(judge.valued(ground_.carry.mirrored(at, there, here)));
      }
    }
    std::ranges::stable_sort(found, std::ranges::greater(), &Optimum::value);
    std::vector<std::vector<double>> out;
    for (Optimum& offer : found) {
      if (out.size() == climbs_a_round) break;
      if (!(offer.value > 0) || offer.value < offers.least * own.front().top.value) break;
      const auto is_known = [&](const std::vector<double>& other) { return are_near(offer.at, other, same_pose); };
      const bool nothing_new =
          std::ranges::any_of(own, [&](const Branch& b) { return b.top.value >= offer.value && is_known(b.top.at); });
      if (!nothing_new && std::ranges::none_of(out, is_known)) out.push_back(std::move(offer.at));
    }
    return out;
  }

  /// The best branches climb on with more samples.
  void refine() {
    std::vector<Task> tasks;
    for (std::size_t i = 0; i < suns_.size(); ++i) {
      const auto& own = branches_[i];
      for (std::size_t k = 0; k < std::min(own.size(), finely_climbed); ++k)
        if (k == 0 || own[k].top.value > worth_a_fine_climb * own.front().top.value)
          tasks.push_back({i, own[k].top.at, {}});
    }
    climb_all(tasks, ground_.options.samples, fine_step, fine_tolerance);
    for (auto& own : branches_) own.clear();
    for (Task& task : tasks) merge(task.sun, std::move(task.top), 0, fine_news);
  }

  /// A pose's values on samples that no climb has seen, the same for every pose.
  std::vector<double> fresh_values(std::size_t i, const std::vector<double>& at, std::uint64_t samples, int first,
                                   int count) const {
    std::vector<double> out;
    for (int k = first; k < first + count; ++k)
      out.push_back(
          Climber(ground_, suns_[i], samples, mix(ground_.options.seed) ^ mix(static_cast<std::uint64_t>(k)))(at));
    return out;
  }

  /// How many samples tell a pose's value well enough to climb by it.
  std::uint64_t deep_samples(std::size_t i, double day_best) const {
    const Optimum& best = branches_[i].front().top;
    const std::uint64_t samples = times_[i] * ground_.options.samples;
    if (!(best.value > worth_depth * day_best)) return samples;
    const Estimate mean = mean_of(fresh_values(i, best.at, times_[i] * coarse_samples(), 0, noise_draws));
    if (!(mean.value > 0)) return samples;
    const double spread = mean.standard_error * std::sqrt(double(noise_draws)) / mean.value;
    // Errors of so many samples as a climb has fall nearly as their number, not as its root.
    const double times = std::pow(spread / fine_over_coarse / known_to, 1 / error_power);
    return samples * static_cast<std::uint64_t>(std::clamp(std::round(times), 1.0, most_times_samples));
  }

  /// The best branches climb to their tops once more, on as many samples as it takes. Of rivals close by each other
  /// fresh samples tell which is best, ever more of them until they do.
  std::vector<Optimum> judged(std::size_t i, double day_best) const {
    std::vector<Optimum> out;
    const auto& own = branches_[i];
    const std::uint64_t samples = deep_samples(i, day_best);
    Climber deep(ground_, suns_[i], samples);
    std::size_t rivals = 0;
    for (const Branch& branch : own) {
      const bool is_rival = branch.top.value > rival * own.front().top.value;
      rivals += is_rival ? 1 : 0;  // the first of them: the best come first
      if (is_rival && samples > times_[i] * ground_.options.samples)
        out.push_back(deep.climbed(branch.top.at, deep_step, fine_tolerance));
      else
        out.push_back(branch.top);
    }
    if (rivals > 1) settle(i, std::span(out).first(rivals));
    std::ranges::stable_sort(out, std::ranges::greater(), &Optimum::value);
    return out;
  }

  void settle(std::size_t i, std::span<Optimum> rivals) const {
    std::vector<std::vector<double>> values(rivals.size());
    for (int done = 0, draws = least_draws; done < most_draws; draws = done) {
      for (std::size_t k = 0; k < rivals.size(); ++k) {
        const auto more = fresh_values(i, rivals[k].at, ground_.options.samples, done, draws);
        values[k].insert(values[k].end(), more.begin(), more.end());
        rivals[k].value = mean_of(values[k]).value;
      }
      done += draws;
      std::size_t best = 0, second = 1;
      for (std::size_t k = 1; k < rivals.size(); ++k)
        if (rivals[k].value > rivals[best].value) best = k;
      second = best == 0 ? 1 : 0;
      for (std::size_t k = 0; k < rivals.size(); ++k)
        if (k != best && rivals[k].value > rivals[second].value) second = k;
      std::vector<double> gains;
      for (std::size_t r = 0; r < values[best].size(); ++r) gains.push_back(values[best][r] - values[second][r]);
      const Estimate gain = mean_of(gains);
      if (gain.value > 3 * gain.standard_error || gain.standard_error < fine_news / 2 * rivals[best].value) return;
    }
  }

  const SearchGround& ground_;
  std::span<const Moment> suns_;
  Workers& workers_;
  std::vector<std::vector<Branch>> branches_;  // by sun, best first
  std::vector<std::vector<Source>> sources_;
  std::vector<std::uint64_t> times_;  // by sun: how many times the samples its climbs take
};

}  // namespace

std::vector<std::vector<Optimum>> find_branches(const SearchGround& ground, std::span<const Moment> suns,
                                                Workers& workers) {
  return BranchSearch(ground, suns, workers)();
}

std::vector<Optimum> branches_between(const SearchGround& ground, const Moment& sun,
                                      std::span<const std::vector<double>> ends) {
  std::vector<std::vector<double>> starts(ends.begin(), ends.end());
  if (ends.size() > 1 && !are_apart(ends[0], ends[1])) {
    starts.push_back(ends[0]);
    for (std::size_t k = 0; k < ends[0].size(); ++k) starts.back()[k] = (ends[0][k] + ends[1][k]) / 2;
  }
  Climber climber(ground, sun, ground.options.samples);
  std::vector<Optimum> valued, out;
  for (auto& start : starts) valued.push_back(climber.valued(std::move(start)));
  std::ranges::stable_sort(valued, std::ranges::greater(), &Optimum::value);
  for (const Optimum& start : valued) {
    if (std::ranges::any_of(out, [&](const Optimum& top) { return !are_apart(top.at, start.at); })) continue;
    if (!out.empty() && start.value < worth_a_climb * out.front().value) continue;
    out.push_back(climber.climbed(start.at, fine_step, fine_tolerance));
  }
  std::ranges::stable_sort(out, std::ranges::greater(), &Optimum::value);
  return out;
}

}  // namespace catoptra
