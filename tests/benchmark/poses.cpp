// How far the poses that `steer` finds over a day stay below the best that are known, and what the search costs.
//   poses SCENE [--day 2026-06-21] [--every 1800] [--seeds 5] [--known FILE] [--populations 0] [--exchange] [--threads
//   0]
// --known names a table of the best poses known. --populations adds a brute search to them, --exchange what the suns
// learn from each other. What was found is added to the table.
#include <CLI/CLI.hpp>
#include <algorithm>
#include <atomic>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <fmt/format.h>
#include <fstream>
#include <sstream>
#include <string>
#include <sys/resource.h>
#include <vector>

#include "pose_referee.h"
#include "scene/read.h"
#include "steer/schedule.h"

namespace catoptra::benchmark {
namespace {

constexpr std::uint64_t referee_seed = 20260621;
constexpr double allowed = 0.005;  // share of the best that a search may stay below
constexpr double counts = 0.02;    // of the day's best: darker suns are not judged

double cpu_s() {
  rusage used{};
  getrusage(RUSAGE_SELF, &used);
  const auto seconds = [](const timeval& t) {
    return static_cast<double>(t.tv_sec) + 1e-6 * static_cast<double>(t.tv_usec);
  };
  return seconds(used.ru_utime) + seconds(used.ru_stime);
}

double elevation_deg(const Moment& sun) {
  return std::asin(sun.to_sun.z) / units::degree_rad;
}

void read_known(const std::string& path, PoseReferee& referee) {
  std::ifstream in(path);
  std::string line;
  while (std::getline(in, line)) {
    if (line.empty() || line.front() == '#') continue;
    std::istringstream cells(line);
    double posix_s = 0, value = 0, x = 0;
    char comma = 0;
    cells >> posix_s >> comma >> value;
    std::vector<double> at;
    while (cells >> comma >> x) at.push_back(x);
    for (std::size_t i = 0; i < referee.suns().size(); ++i)
      if (referee.suns()[i].posix_s == posix_s && at.size() == referee.freedom().size()) referee.offer(i, at);
  }
}

void write_known(const std::string& path, const PoseReferee& referee, double seconds) {
  std::ofstream out(path, std::ios::app);
  out << fmt::format("# seed {}, {:.0f} s of processor time: posix_s, absorbed, coordinates from -1 to 1\n",
                     referee_seed, seconds);
  for (std::size_t i = 0; i < referee.suns().size(); ++i) {
    out << fmt::format("{:.0f},{:.6f}", referee.suns()[i].posix_s, referee.value(i));
    for (const double x : referee.best(i)) out << fmt::format(",{:.6f}", x);
    out << "\n";
  }
}

struct Run {
  std::vector<std::vector<double>> poses;  // by sun; coordinates
  double cpu_s = 0, wall_s = 0;
};

Run run_steer(const Scene& scene, const PoseReferee& referee, std::uint64_t seed, Workers& workers,
              SearchMemory* memory) {
  ScheduleOptions options;
  options.solver.seed = seed;
  options.solver.memory = memory;
  options.workers = &workers;
  Run run;
  const double before_s = cpu_s();
  const Schedule schedule = make_schedule(scene, referee.suns(), options);
  run.cpu_s = cpu_s() - before_s;
  run.wall_s = schedule.wall_time_s;
  for (std::size_t i = 0; i < schedule.rows.size(); ++i)
    run.poses.push_back(referee.freedom().coordinates_of(scene_at(scene, schedule, i)));
  return run;
}

std::size_t count_traces(const Scene& scene, const PoseReferee& referee, Workers& workers) {
  SearchMemory memory;
  std::atomic<std::size_t> traces = 0;
  memory.changed = [&] { ++traces; };
  run_steer(scene, referee, 1, workers, &memory);
  return traces;
}

void judge(const std::vector<Run>& runs, PoseReferee& referee, Workers& workers) {
  const std::size_t suns = referee.suns().size();
  double day_best = 0;
  for (std::size_t i = 0; i < suns; ++i) day_best = std::max(day_best, referee.value(i));
  std::vector<std::vector<Estimate>> below(runs.size(), std::vector<Estimate>(suns));
  workers.each(suns * runs.size(), [&](std::uint64_t k, int) {
    below[k / suns][k % suns] = referee.shortfall(k % suns, runs[k / suns].poses[k % suns]);
  });
  fmt::print("below the best known, % +- standard error; (suns under {:.0f} % of the day's best are not judged)\n",
             100 * counts);
  std::vector<int> missed(runs.size(), 0);
  std::vector<double> lost(runs.size(), 0);
  double whole = 0, worst = 0;
  int judged = 0;
  for (std::size_t i = 0; i < suns; ++i) {
    const Moment& sun = referee.suns()[i];
    const bool is_judged = referee.value(i) >= counts * day_best;
    const auto clock_min = static_cast<long>(sun.posix_s / 60) + sun.utc_offset_minutes;
    fmt::print("{:02}:{:02} {:5.1f} deg {:.4f}{}", clock_min / 60 % 24, clock_min % 60, elevation_deg(sun),
               referee.value(i), is_judged ? " " : "(");
    for (std::size_t r = 0; r < runs.size(); ++r) {
      const Estimate& e = below[r][i];
      const bool misses = is_judged && e.value - 2 * e.standard_error > allowed;
      fmt::print(" {:6.2f} +-{:.2f}{}", 100 * e.value, 100 * e.standard_error, misses ? "*" : " ");
      missed[r] += misses ? 1 : 0;
      if (is_judged) lost[r] += e.value * referee.value(i);
      if (is_judged) worst = std::max(worst, e.value);
    }
    fmt::print("\n");
    judged += is_judged ? 1 : 0;
    if (is_judged) whole += referee.value(i);
  }
  for (std::size_t r = 0; r < runs.size(); ++r)
    fmt::print("seed {}: {} of {} suns more than {:.1f} % below; the day {:.3f} % below; {:.2f} CPU s, {:.2f} s\n",
               r + 1, missed[r], judged, 100 * allowed, 100 * lost[r] / whole, runs[r].cpu_s, runs[r].wall_s);
  fmt::print("worst: {:.2f} %\n", 100 * worst);
}

int run(int argc, char** argv) {
  CLI::App app("How far the poses of a day stay below the best known");
  std::string path, known;
  std::string day = "2026-06-21";
  double every_s = 1800, least_deg = 0;
  int seeds = 5, populations = 0, threads = 0;
  bool exchange = false, count = false;
  app.add_option("scene", path)->required();
  app.add_option("--day", day);
  app.add_option("--every", every_s);
  app.add_option("--least-elevation", least_deg);
  app.add_option("--seeds", seeds);
  app.add_option("--known", known);
  app.add_option("--populations", populations);
  app.add_option("--threads", threads);
  app.add_flag("--exchange", exchange);
  app.add_flag("--count", count, "also count the traces");
  CLI11_PARSE(app, argc, argv);
  const ReadOutcome outcome = read_scene(path);
  if (!outcome.scene) throw std::runtime_error("can't read " + path);
  const Scene& scene = *outcome.scene;
  CivilDay date{2026, 6, 21, scene.sun.utc_offset_minutes.value_or(0)};
  if (std::sscanf(day.c_str(), "%d-%d-%d", &date.year, &date.month, &date.day) != 3)
    throw std::runtime_error("not a date: " + day);
  Workers workers(threads);
  PoseReferee referee(scene, moments_of_day(station_of(scene), date, every_s, least_deg * units::degree_rad), workers,
                      referee_seed);
  if (!known.empty()) read_known(known, referee);
  std::vector<Run> runs;
  for (int seed = 1; seed <= seeds; ++seed)
    runs.push_back(run_steer(scene, referee, static_cast<std::uint64_t>(seed), workers, nullptr));
  if (count) fmt::print("{} traces for {} suns\n", count_traces(scene, referee, workers), referee.suns().size());
  for (const Run& one : runs)
    for (std::size_t i = 0; i < one.poses.size(); ++i) referee.offer(i, one.poses[i]);
  const double before_s = cpu_s();
  if (populations > 0) referee.evolve(populations);
  if (exchange) referee.exchange();
  if (!known.empty()) write_known(known, referee, cpu_s() - before_s);
  if (!runs.empty()) judge(runs, referee, workers);
  return 0;
}

}  // namespace
}  // namespace catoptra::benchmark

int main(int argc, char** argv) {
  try {
    return catoptra::benchmark::run(argc, argv);
  } catch (const std::exception& fault) {
    fmt::print(stderr, "poses: {}\n", fault.what());
    return 1;
  }
}
