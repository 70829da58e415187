#include "as_built.h"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <fmt/format.h>

#include "arguments.h"
#include "progress.h"
#include "streams.h"

namespace catoptra {
namespace {

using UnitList = std::vector<std::pair<std::string_view, double>>;

struct Drawable {
  std::string_view word;
  double BuildErrors::*rms;
  UnitList units;
  double most;
  std::string_view allowed;
};

const std::vector<Drawable>& drawables() {
  static const std::vector<Drawable> list{
      {"pointing", &BuildErrors::pointing_rad, {{"mrad", 1e-3}, {"deg", units::degree_rad}}, 0.1, "up to 100mrad"},
      {"position", &BuildErrors::position_m, {{"mm", 1e-3}, {"cm", 1e-2}, {"m", 1}}, 10, "up to 10m"},
      {"focus", &BuildErrors::focus, {{"%", 1e-2}}, 0.2, "up to 20%"},
      {"curvature", &BuildErrors::curvature_per_m, {{"/km", 1e-3}, {"/m", 1}}, 1, "up to 1/m"},
  };
  return list;
}

constexpr const char* example = "pointing=1mrad, position=3mm, focus=0.5%, curvature=2/km";

BuildErrors build_errors_of(const TypedErrors& typed) {
  BuildErrors out;
  for (const std::string& one : typed.draw) {
    const std::size_t equals = one.find('=');
    if (equals == one.npos)
      throw UsageError(fmt::format("--draw is '{}'\n  allowed: an error and its rms: {}", one, example));
    std::vector<std::string_view> words;
    for (const Drawable& drawable : drawables()) words.push_back(drawable.word);
    const std::string_view text(one);
    const Drawable& drawable = drawables()[word_of("--draw", text.substr(0, equals), words)];
    if (out.*drawable.rms > 0)
      throw UsageError(fmt::format("--draw names {} twice\n  allowed: each error once", drawable.word));
    out.*drawable.rms =
        quantity_of(fmt::format("--draw {}", drawable.word), text.substr(equals + 1), drawable.units, 1e-12,
                    drawable.most, fmt::format("an rms more than 0 with its unit, {}: {}", drawable.allowed, example));
  }
  return out;
}

std::size_t builds_of(const TypedErrors& typed) {
  return count_of("--realisations", typed.realisations, 1, 1'000'000);
}

/// Shares are far better known than powers: a quarter of a sun's samples is plenty.
std::uint64_t samples_of(const ScheduleOptions& of) {
  return std::max<std::uint64_t>(of.samples / 4, 1);
}

}  // namespace

void add_error_options(CLI::App& command, TypedErrors& typed) {
  command.add_flag("--tolerance", typed.tolerance,
                   "Also find how much power each error costs: pointing, position, slope and focus of moving parts");
  add_text_option(command, "--realisations", typed.realisations, "N",
                  "Also trace N builds, each with its own random errors of --draw");
  command
      .add_option("--draw", typed.draw,
                  "rms of a random error: pointing, position, focus or curvature; repeat for more")
      ->option_text("WORD=RMS")
      ->allow_extra_args(false);
}

void require_sound(const TypedErrors& typed, const Scene& scene) {
  const BuildErrors rms = build_errors_of(typed);
  if (typed.realisations.empty() != typed.draw.empty())
    throw UsageError(fmt::format("--realisations and --draw go together\n  allowed: --realisations 100 --draw {}",
                                 "pointing=1mrad --draw focus=0.5%"));
  if (!typed.realisations.empty()) builds_of(typed);
  if (!typed.wanted()) return;
  const std::vector<std::size_t> moving = moving_components(scene);
  if (moving.empty())
    throw UsageError(fmt::format("{} is about moving components, and the scene has none (arrays not counted)",
                                 typed.tolerance ? "--tolerance" : "--realisations"));
  const auto has = [&](ErrorKind kind) {
    return std::ranges::any_of(moving, [&](std::size_t i) {
      const auto errors = possible_errors(scene, scene.components[i]);
      return std::ranges::find(errors, kind) != errors.end();
    });
  };
  if (rms.focus > 0 && !has(ErrorKind::focus))
    throw UsageError(
        "--draw focus is about curved mirrors that move, and the scene has none\n  allowed: curvature, for flat ones");
  if (rms.curvature_per_m > 0 && !has(ErrorKind::curvature))
    throw UsageError(
        "--draw curvature is about flat mirrors that move, and the scene has none\n  allowed: focus, for curved ones");
}

std::vector<ToleranceCurve> find_tolerance(const Scene& scene, const Schedule& schedule, const ScheduleOptions& of,
                                           bool quiet) {
  CountDisplay display(quiet);
  ToleranceOptions options;
  options.samples = samples_of(of);
  options.seed = schedule.seed;
  options.replicates = of.replicates;
  options.workers = of.workers;
  options.stop = of.solver.stop;
  options.memory = of.solver.memory;
  options.progress = [&](std::size_t done, std::size_t all) { display.show(done, all); };
  try {
    return tolerance_curves(scene, schedule, options);
  } catch (const Stopped&) {
    display.clear();
    tell("catoptra: stopped; the schedule is kept, without tolerances\n");
    return {};
  }
}

std::optional<Realisations> find_realisations(const TypedErrors& typed, const Scene& scene, const Schedule& schedule,
                                              const ScheduleOptions& of, bool quiet) {
  CountDisplay display(quiet);
  RealisationOptions options;
  options.builds = builds_of(typed);
  options.rms = build_errors_of(typed);
  options.samples = samples_of(of);
  options.seed = schedule.seed;
  options.replicates = of.replicates;
  options.workers = of.workers;
  options.stop = of.solver.stop;
  options.memory = of.solver.memory;
  options.progress = [&](std::size_t done) { display.show(done, options.builds); };
  Realisations found = trace_realisations(scene, schedule, options);
  display.clear();
  if (!found.builds.empty()) return found;
  tell("catoptra: stopped; the schedule is kept, without realisations\n");
  return std::nullopt;
}

}  // namespace catoptra
