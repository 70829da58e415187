#include "pose_referee.h"

#include <algorithm>
#include <cmath>
#include <random>

#include "numeric/sobol.h"
#include "steer/optimise.h"

namespace catoptra::benchmark {
namespace {

constexpr std::uint64_t few = 1 << 11, many = 1 << 14, most = 1 << 16;
constexpr double worth_taking = 1e-3, worth_a_climb = 0.6;  // of the best known
constexpr int pairs = 24;                                   // of fresh samples
constexpr double like_height_rad = 3 * units::degree_rad, near_rad = 12 * units::degree_rad;

double azimuth_rad(const Vec& v) {
  return std::atan2(v.x, v.y);
}

Vec turned(const Vec& v, double by_rad) {  // clockwise from above, as azimuths count
  const double c = std::cos(by_rad), s = std::sin(by_rad);
  return {c * v.x + s * v.y, c * v.y - s * v.x, v.z};
}

Vec mirrored_at(const Vec& v, double plane_rad) {
  const Vec n{std::cos(plane_rad), -std::sin(plane_rad), 0};  // across the plane that holds the vertical
  return v - (2 * dot(v, n)) * n;
}

}  // namespace

PoseReferee::PoseReferee(const Scene& scene, std::vector<Moment> suns, Workers& workers, std::uint64_t seed)
    : scene_(scene),
      suns_(std::move(suns)),
      workers_(workers),
      seed_(seed),
      freedom_(scene_),
      clearance_(scene_),
      pool_(search_pool(scene_, Objective::absorbed)),
      best_(suns_.size()) {}

void PoseReferee::for_each_sun(const std::function<void(std::size_t)>& body) {
  workers_.each(suns_.size(), [&](std::uint64_t i, int) { body(static_cast<std::size_t>(i)); });
}

double PoseReferee::value_at(std::size_t sun, std::span<const double> at, std::uint64_t samples, std::uint64_t seed) {
  Evaluator evaluate(scene_, freedom_, clearance_, pool_, {.samples = samples, .seed = seed});
  evaluate.set_moment(suns_[sun]);
  return evaluate(at);
}

std::vector<double> PoseReferee::climbed(std::size_t sun, const std::vector<double>& start, double step) {
  std::vector<double> at = start;
  for (const std::uint64_t samples : {few, many}) {
    Evaluator evaluate(scene_, freedom_, clearance_, pool_, {.samples = samples, .seed = seed_ + 1});
    evaluate.set_moment(suns_[sun]);
    const Merit merit = [&](std::span<const double> x) { return evaluate(x); };
    at = climb(merit, {at, merit(at)}, step, 1e-3, 500).at;
    step /= 4;
  }
  return at;
}

std::vector<double> PoseReferee::evolved(std::size_t sun, std::uint64_t stream) {
  const std::size_t n = freedom_.size(), size = 12 * n;
  constexpr int generations = 100;
  constexpr double crossing = 0.9;
  std::mt19937_64 draw(mix(seed_ ^ mix(stream)));
  const auto uniform = [&](double low, double high) { return low + (high - low) * 0x1p-53 * double(draw() >> 11); };
  Evaluator evaluate(scene_, freedom_, clearance_, pool_, {.samples = few, .seed = seed_ + 1});
  evaluate.set_moment(suns_[sun]);
  std::vector<Optimum> all(size);
  for (Optimum& one : all) {
    for (std::size_t k = 0; k < n; ++k) one.at.push_back(std::clamp(uniform(-1.2, 1.2), -1.0, 1.0));
    one.value = evaluate(one.at);
  }
  for (int generation = 0; generation < generations; ++generation) {
    for (Optimum& one : all) {
      const Optimum &a = all[draw() % size], &b = all[draw() % size], &c = all[draw() % size];
      const double factor = uniform(0.4, 0.9);
      const std::size_t always = draw() % n;
      std::vector<double> trial = one.at;
      for (std::size_t k = 0; k < n; ++k)
        if (k == always || uniform(0, 1) < crossing)
          trial[k] = std::clamp(a.at[k] + factor * (b.at[k] - c.at[k]), -1.0, 1.0);
      const double value = evaluate(trial);
      if (value >= one.value) one = {std::move(trial), value};
    }
  }
  return climbed(sun, std::ranges::max_element(all, {}, &Optimum::value)->at, 0.05);
}

void PoseReferee::offer(std::size_t sun, const std::vector<double>& at) {
  Known& known = best_[sun];
  const double value = value_at(sun, at, most, seed_);
  if (known.at.empty() || value > known.value + worth_taking * std::fabs(known.value))
    known = {at, value, known.changed + 1};
}

void PoseReferee::evolve(int populations) {
  for_each_sun([&](std::size_t i) {
    for (int p = 0; p < populations; ++p) offer(i, evolved(i, static_cast<std::uint64_t>(p) * suns_.size() + i));
  });
}

std::vector<double> PoseReferee::carried(const std::vector<double>& at, std::size_t from, std::size_t to,
                                         bool mirrored) const {
  Scene scene = scene_;
  freedom_.apply(at, scene);
  const double before_rad = azimuth_rad(suns_[from].to_sun), after_rad = azimuth_rad(suns_[to].to_sun);
  const auto carry = [&](const Vec& v) {
    return mirrored ? mirrored_at(v, (before_rad + after_rad) / 2) : turned(v, after_rad - before_rad);
  };
  for (const std::size_t i : freedom_.steered()) {
    auto& mount = std::get<SteeredMount>(scene.components[i].mount);
    mount.offset_m = carry(mount.home_m + mount.offset_m) - mount.home_m;
    mount.axis = carry(mount.axis);
    if (mirrored) mount.roll_rad = -mount.roll_rad;
  }
  return freedom_.coordinates_of(scene);
}

void PoseReferee::exchange() {
  constexpr int most_rounds = 60;
  std::vector<int> told(suns_.size(), -1);  // of each sun's pose, what the others have tried
  for (int round = 0; round < most_rounds; ++round) {
    const std::vector<Known> before = best_;
    for_each_sun([&](std::size_t i) {
      for (std::size_t j = 0; j < suns_.size(); ++j) {
        if (before[j].at.empty() || before[j].changed == told[j]) continue;
        const Vec &here = suns_[i].to_sun, &there = suns_[j].to_sun;
        const bool beside = j + 1 == i || i + 1 == j;
        const bool alike = std::fabs(std::asin(here.z) - std::asin(there.z)) < like_height_rad &&
                           std::acos(std::clamp(dot(here, there), -1.0, 1.0)) > near_rad;
        const auto learn = [&](const std::vector<double>& start) {
          if (value_at(i, start, few, seed_) > worth_a_climb * best_[i].value) offer(i, climbed(i, start, 0.1));
        };
        if (beside) learn(before[j].at);
        if (beside || alike) learn(carried(before[j].at, j, i, false));
        if (alike || i == j) learn(carried(before[j].at, j, i, true));
      }
    });
    bool improved = false;
    for (std::size_t i = 0; i < suns_.size(); ++i) {
      improved = improved || best_[i].changed != before[i].changed;
      told[i] = before[i].changed;
    }
    if (!improved) return;
  }
}

Estimate PoseReferee::shortfall(std::size_t sun, const std::vector<double>& at) {
  std::vector<double> lost, whole;
  for (std::uint64_t r = 0; r < pairs; ++r) {
    const std::uint64_t seed = mix(seed_ + 2) + r;
    const double best = value_at(sun, best_[sun].at, many, seed), other = value_at(sun, at, many, seed);
    lost.push_back(best - other);
    whole.push_back(best);
  }
  return ratio_of(lost, whole);
}

}  // namespace catoptra::benchmark
