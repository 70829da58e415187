// How fast the engine is beside the same work written out by hand, in the same run: machines are noisy, ratios less so.
//   benchmark            prints the table of docs/performance.md
//   benchmark bowl|threads|tower|sampling|memory|field|planning|suns   one part of it
#include <algorithm>
#include <chrono>
#include <cmath>
#include <ctime>
#include <fmt/format.h>
#include <fstream>
#include <functional>
#include <stdexcept>
#include <string>
#include <string_view>
#include <sys/resource.h>
#include <vector>

#include "bare_bowl.h"
#include "bare_tower.h"
#include "scene/read.h"
#include "trace/search.h"
#include "trace/trace.h"

#ifndef CATOPTRA_BENCHMARK_SCENES
#error "the build names the folder of the benchmark's scenes"
#endif

namespace catoptra::benchmark {

namespace {

Scene load_scene(const std::string& name) {
  ReadOutcome outcome = read_scene(std::string(CATOPTRA_BENCHMARK_SCENES) + "/" + name);
  if (!outcome.scene) throw std::runtime_error("can't read " + name);
  return std::move(*outcome.scene);
}

TraceResult run_engine(const Scene& scene, std::uint64_t samples, int threads) {
  Workers workers(threads);
  return trace(scene, {.samples = samples, .workers = &workers, .paths = 0});
}

/// The best rate of each of two pieces of work, run turn by turn so that both see the same machine.
struct Rates {
  double first, second;  // samples a second
};
Rates alternate(int rounds, const std::function<double()>& first, const std::function<double()>& second) {
  Rates best{0, 0};
  for (int i = 0; i < rounds; ++i) {
    best.first = std::max(best.first, first());
    best.second = std::max(best.second, second());
  }
  return best;
}

std::function<double()> engine_rate(const Scene& scene, std::uint64_t samples, int threads) {
  return [&scene, samples, threads] {
    const TraceResult result = run_engine(scene, samples, threads);
    return static_cast<double>(result.samples) / result.wall_time_s;
  };
}

void bowl() {
  const Scene scene = load_scene("bowl.toml");
  constexpr std::uint64_t samples = 1 << 23;
  const Rates rates = alternate(
      5, [] { return static_cast<double>(samples) / bare_bowl(samples, 1).seconds; }, engine_rate(scene, samples, 1));
  fmt::print("bowl, 1 thread:   bare kernel {:6.2f} Msample/s, engine {:6.2f}, ratio {:.2f} (target 0.60)\n",
             rates.first * 1e-6, rates.second * 1e-6, rates.second / rates.first);
}

std::string text_of(const std::string& name) {
  std::ifstream in(std::string(CATOPTRA_BENCHMARK_SCENES) + "/" + name);
  return {std::istreambuf_iterator<char>(in), {}};
}

/// The tower among more single posts than lists are made beside: all of it then stands in Embree's tree.
Scene tower_among_posts() {
  std::string text = text_of("tower.toml");
  for (int i = 0; i < 30; ++i)
    text += fmt::format(
        "\n[[obstacle]]\nname = \"post {0}\"\nshape = {{ kind = \"cylinder\", radius_m = 0.2, length_m = 3 }}\n"
        "mount = {{ kind = \"fixed\", position_m = [{1}, -20, 1.5] }}\n",
        i, 4 * i - 60);
  ReadOutcome outcome = read_scene_text(text, "tower.toml");
  if (!outcome.scene) throw std::runtime_error("can't read the tower among posts");
  return std::move(*outcome.scene);
}

/// The tower with a pane before its receiver: light then meets covers apart from all else.
Scene tower_behind_glass() {
  const std::string text = text_of("tower.toml") + R"(
[finish.pane]
kind = "glass"
refractive_index = 1.5
thickness_m = 0.004
[[cover]]
name = "window"
shape = { kind = "plane" }
aperture = { kind = "rectangle", width_m = 26, length_m = 26 }
finish = "pane"
mount = { kind = "fixed", position_m = [0, 2, 200], axis = [0, 1, 0] }
)";
  ReadOutcome outcome = read_scene_text(text, "tower.toml");
  if (!outcome.scene) throw std::runtime_error("can't read the tower behind glass");
  return std::move(*outcome.scene);
}

void threads() {
  struct Case {
    const char* name;
    Scene scene;
    std::uint64_t samples;
  };
  const Case cases[] = {{"bowl", load_scene("bowl.toml"), 1 << 23},
                        {"tower", load_scene("tower.toml"), 1 << 23},
                        {"tower among posts", tower_among_posts(), 1 << 21},
                        {"tower behind glass", tower_behind_glass(), 1 << 22},
                        {"glass trough", load_scene("../../scenes/trough-glass.toml"), 1 << 22},
                        {"cup", load_scene("../../scenes/centre-cup.toml"), 1 << 22},
                        {"cpc-trough", load_scene("../../scenes/cpc-trough.toml"), 1 << 22}};
  for (const auto& [name, scene, samples] : cases) {
    const Rates rates = alternate(5, engine_rate(scene, samples, 1), engine_rate(scene, 2 * samples, 2));
    fmt::print("{:18} {:6.2f} Msample/s on one thread, {:6.2f} on two, ratio {:.2f} (target 1.95); {}\n", name,
               rates.first * 1e-6, rates.second * 1e-6, rates.second / rates.first, run_engine(scene, 1, 1).search);
  }
}

void tower() {
  const Scene scene = load_scene("tower.toml");
  const Plan plan = make_plan(scene);
  constexpr std::uint64_t samples = 1 << 22;
  BareTowerResult bare;
  const Rates rates = alternate(
      5,
      [&] {
        bare = bare_tower(plan, samples, 1);
        return static_cast<double>(bare.samples) / bare.seconds;
      },
      engine_rate(scene, samples, 1));
  fmt::print("tower, 1 thread:  bare kernel {:6.2f} Msample/s, engine {:6.2f}, ratio {:.2f} (target 1.30)\n",
             rates.first * 1e-6, rates.second * 1e-6, rates.second / rates.first);
  const TraceResult engine = run_engine(scene, samples, 1);
  fmt::print("                  the bare kernel finds optical efficiency {:.4f}, the engine {:.4f} +- {:.4f}\n",
             bare.optical_efficiency, engine.optical_efficiency.value, engine.optical_efficiency.standard_error);
}

// How many times the samples plain random numbers need for the same error of the intercept factor.
void sampling() {
  const Scene scene = load_scene("dish.toml");
  constexpr int seeds = 16;
  constexpr std::uint64_t samples = 1 << 20;
  const auto mean_variance = [&](Numbers numbers) {
    double sum = 0;
    for (int seed = 1; seed <= seeds; ++seed) {
      const double error =
          trace(scene, {.samples = samples, .seed = static_cast<std::uint64_t>(seed), .numbers = numbers, .paths = 0})
              .intercept_factor.standard_error;
      sum += error * error;
    }
    return sum / seeds;
  };
  const double plain = mean_variance(Numbers::pseudo_random), sobol = mean_variance(Numbers::scrambled_sobol);
  fmt::print(
      "dish, 2^20 samples: standard error of the intercept factor {:.1e} from pseudo-random numbers, {:.1e} from "
      "Sobol's: {:.1f} times fewer samples (target 4)\n",
      std::sqrt(plain), std::sqrt(sobol), plain / sobol);
}

double peak_memory_MB() {
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  return static_cast<double>(usage.ru_maxrss) * 1024e-6;
}

void memory() {
  const Scene scene = load_scene("tower.toml");
  for (const int power : {20, 22, 24}) {
    run_engine(scene, std::uint64_t{1} << power, 2);
    fmt::print("tower, 2^{} samples: {:.0f} MB at most so far (target 300, whatever the samples)\n", power,
               peak_memory_MB());
  }
}

// The field of tower.toml with other numbers of heliostats at the same spacing.
void field() {
  const std::string text = text_of("tower.toml");
  for (const int count : {500, 5000, 50000}) {
    std::string varied = text;
    const std::string key = "count = 5000";
    varied.replace(varied.find(key), key.size(), fmt::format("count = {}", count));
    const auto began = std::chrono::steady_clock::now();
    ReadOutcome outcome = read_scene_text(varied, "tower.toml");
    if (!outcome.scene) throw std::runtime_error("can't read a field of other size");
    const Plan plan = make_plan(*outcome.scene);
    const auto search = make_search(plan);
    const double ready_s = std::chrono::duration<double>(std::chrono::steady_clock::now() - began).count();
    const TraceResult result = run_engine(*outcome.scene, 1 << 24, 1);
    fmt::print(
        "field of {:5} heliostats: read, checked and made ready in {:.2f} s (target 2 for 50000); "
        "{:.2f} us a sample\n",
        count, ready_s, 1e6 * (result.wall_time_s - ready_s) / static_cast<double>(result.samples));
  }
}

// How what a field needs before its first ray grows with the field: processor time, as the machine may be busy.
void planning() {
  const std::string text = text_of("tower.toml");
  double before_us = 0;
  for (const int count : {2000, 20000, 200000}) {
    std::string varied = text;
    const std::string key = "count = 5000";
    varied.replace(varied.find(key), key.size(), fmt::format("count = {}", count));
    const std::clock_t began = std::clock();
    ReadOutcome outcome = read_scene_text(varied, "tower.toml");
    if (!outcome.scene) throw std::runtime_error("can't read a field of other size");
    const Plan plan = make_plan(*outcome.scene);
    const auto search = make_search(plan);
    const double each_us = 1e6 * static_cast<double>(std::clock() - began) / CLOCKS_PER_SEC / count;
    fmt::print("planning {:6} heliostats: {:6.2f} us of processor time each, {:.0f} MB at most so far", count, each_us,
               peak_memory_MB());
    if (before_us > 0)
      fmt::print("; {:.1f} times as long each as for a tenth of them (target 3: near linear)", each_us / before_us);
    fmt::print("\n");
    before_us = each_us;
  }
}

/// Processor time of what `work` does for each of `suns`, ms a sun.
double cpu_ms_a_sun(const std::vector<Scene>& suns, const std::function<void(const Scene&)>& work) {
  work(suns.front());
  const std::clock_t began = std::clock();
  for (const Scene& scene : suns) work(scene);
  return 1e3 * static_cast<double>(std::clock() - began) / CLOCKS_PER_SEC / static_cast<double>(suns.size());
}

// What a sun costs where many of one scene are traced with few samples, as by searches, sweeps and years.
void suns() {
  for (const char* name : {"trough", "bowl", "tower"}) {
    const Scene scene = load_scene(fmt::format("../../scenes/{}.toml", name));
    std::vector<Scene> suns;
    for (int i = 0; i < 100; ++i) {
      const double turn_rad = 0.004 * (i - 50);
      suns.push_back(scene);
      const Vec s = scene.sun.toward;
      suns.back().sun.toward = unit(Vec{s.x + turn_rad, s.y, s.z});
    }
    Workers alone(1);
    PreparedScene prepared(scene);
    for (const int replicates : {2, 32}) {
      const TraceOptions options{.samples = 1 << 12, .replicates = replicates, .workers = &alone, .paths = 0};
      const double anew = cpu_ms_a_sun(suns, [&](const Scene& at) { trace(at, options); });
      const double moved = cpu_ms_a_sun(suns, [&](const Scene& at) {
        prepared.move(stand_of(at));
        trace(prepared, options);
      });
      fmt::print(
          "{:5}, 2^12 samples in {:2} replicates: {:6.2f} ms of processor time a sun made ready anew, {:6.2f} "
          "moved{}\n",
          name, replicates, anew, moved, name == std::string_view("trough") && replicates == 2 ? " (target 0.6)" : "");
    }
  }
}

}  // namespace

}  // namespace catoptra::benchmark

int main(int argc, char** argv) {
  using namespace catoptra::benchmark;
  const std::string part = argc > 1 ? argv[1] : "";
  try {
    if (part.empty() || part == "bowl") bowl();
    if (part.empty() || part == "threads") threads();
    if (part.empty() || part == "tower") tower();
    if (part.empty() || part == "sampling") sampling();
    if (part.empty() || part == "memory") memory();
    if (part.empty() || part == "field") field();
    if (part.empty() || part == "planning") planning();
    if (part.empty() || part == "suns") suns();
  } catch (const std::exception& error) {
    fmt::print(stderr, "benchmark: {}\n", error.what());
    return 1;
  }
  return 0;
}
