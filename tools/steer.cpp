// catoptra steer: where the moving mirror must stand, hour by hour.
#include <chrono>
#include <filesystem>
#include <fmt/format.h>
#include <memory>
#include <optional>

#include "arguments.h"
#include "free.h"
#include "progress.h"
#include "results/design_rows.h"
#include "results/schedule_rows.h"
#include "results/table.h"
#include "results/tolerance_rows.h"
#include "results/whole_file.h"
#include "results/write_schedule.h"
#include "scene/problem.h"
#include "scene/read.h"
#include "signals.h"
#include "steer/schedule.h"
#include "verb.h"

namespace catoptra {
namespace {

namespace fs = std::filesystem;

struct TypedSteer {  // as typed; empty: not given
  TypedFree free;
  std::string scene, output, poses, day, year, every, utc_offset, objective, smooth, samples, search_samples, seed,
      threads, replicates;
  bool json = false, quiet = false, tolerance = false;
};

ScheduleOptions options_of(const TypedSteer& typed) {
  ScheduleOptions options;
  if (!typed.objective.empty())
    options.solver.objective = static_cast<Objective>(word_of("--objective", typed.objective, objective_words));
  if (!typed.smooth.empty()) options.solver.travel_cost_per_m = ratio_of_percent("--smooth", typed.smooth);
  if (!typed.samples.empty()) options.samples = count_of("--samples", typed.samples, 1, most_samples);
  if (!typed.search_samples.empty())
    options.solver.samples = count_of("--search-samples", typed.search_samples, 1, most_samples);
  if (!typed.seed.empty()) options.solver.seed = integer_of("--seed", typed.seed, 0, UINT64_MAX - 1);
  if (!typed.threads.empty()) options.threads = threads_of(typed.threads);
  if (!typed.replicates.empty()) options.replicates = replicates_of(typed.replicates);
  return options;
}

/// Only a scene with a mount that is free to move can be steered; says what is missing where it would stand.
bool can_be_steered(const Scene& scene) {
  if (Freedom(scene).size() > 0) return true;
  Problems problems(scene.path, scene.text);
  if (Freedom(scene).steered().empty()) {
    problems.error({}, "nothing to steer: no component has a steered mount",
                   {"allowed: mount = { kind = \"steered\", home_m = [x, y, z], travel_m = [x, y, z], tilt_deg = a }"});
  } else {
    Place place;
    int line = 1;
    const std::string_view word = "\"steered\"";
    for (std::size_t begin = 0; begin < scene.text.size() && place.line == 0; ++line) {
      const std::size_t end = std::min(scene.text.find('\n', begin), scene.text.size());
      const auto at = scene.text.substr(begin, end - begin).find(word);
      if (at != std::string::npos) place = {line, static_cast<int>(at) + 1, static_cast<int>(word.size())};
      begin = end + 1;
    }
    problems.error(place, "nothing to steer: the mount leaves no degree of freedom",
                   {"allowed: more than 0 in travel_m, tilt_deg or roll_limit_deg"});
  }
  for (const auto& problem : problems.take()) fmt::print(stderr, "{}\n", problem.text());
  return false;
}

/// The suns asked for, and by which clock.
std::vector<SunMoment> suns_of(const TypedSteer& typed, const Scene& scene) {
  if (typed.day.empty() && typed.year.empty()) {
    if (!typed.every.empty() || !typed.utc_offset.empty())
      throw UsageError("--every and --utc-offset go with --day\n  allowed: --day 2026-06-21 --every 10min");
    return own_sun(scene);
  }
  if (!typed.day.empty() && !typed.year.empty())
    throw UsageError("--day and --year exclude each other\n  allowed: one of them");
  const bool is_day = typed.year.empty();
  CivilDay day = is_day ? day_of("--day", typed.day)
                        : CivilDay{static_cast<int>(integer_of("--year", typed.year, 1950, 2050)), 1, 1, 0};
  if (!scene.site)
    throw UsageError(fmt::format(
        "{} needs to know where '{}' stands\n  allowed: a table [site] with latitude_deg and longitude_deg in it",
        is_day ? "--day" : "--year", scene.path));
  if (!typed.utc_offset.empty()) {
    day.utc_offset_minutes = utc_offset_of("--utc-offset", typed.utc_offset);
  } else {
    day.utc_offset_minutes =
        scene.sun.utc_offset_minutes.value_or(mean_solar_offset_minutes(scene.site->longitude_rad));
  }
  const double every_s = typed.every.empty() ? (is_day ? 600 : 3600) : duration_s_of("--every", typed.every, 1, 86400);
  try {
    return is_day ? suns_of_day(scene, day, every_s, 0)
                  : suns_of_year(scene, day.year, day.utc_offset_minutes, every_s, 0);
  } catch (const std::invalid_argument& fault) {
    throw UsageError(
        fmt::format("{} is '{}': {}", is_day ? "--day" : "--year", is_day ? typed.day : typed.year, fault.what()));
  }
}

struct Outputs {
  fs::path hdf5, csv, poses, tolerance, best;  // empty: not wanted
};

Outputs outputs_of(const TypedSteer& typed, const Scene& scene) {
  Outputs out;
  out.hdf5 = typed.output.empty() ? fs::path(typed.scene).stem().concat("-steer.h5") : fs::path(typed.output);
  out.csv = fs::path(out.hdf5).replace_extension(".csv");
  out.poses = typed.poses;
  if (typed.tolerance) out.tolerance = fs::path(out.hdf5).replace_extension().concat("-tolerance.csv");
  if (out.csv == out.hdf5)
    throw UsageError(fmt::format("--output is '{}'\n  allowed: another ending than .csv, which the table beside it has",
                                 out.hdf5.string()));
  if (!out.poses.empty() && Freedom(scene).steered().size() != 1)
    throw UsageError("--poses holds one steered component, and the scene has another number of them");
  if (typed.tolerance && Freedom(scene).steered().empty())
    throw UsageError("--tolerance is about steered components, and the scene has none");
  if (!typed.free.free.empty()) {
    out.best = best_path_of(typed.free, typed.scene, scene);
    require_other_file(out.best, scene, "--best");
    for (const fs::path& other : {out.hdf5, out.csv, out.poses, out.tolerance})
      if (out.best == other)
        throw UsageError(fmt::format("--best is '{}', a file that is written already", out.best.string()));
    require_writable(out.best);
  }
  for (const fs::path& path : {out.hdf5, out.csv, out.poses, out.tolerance}) {
    if (path.empty()) continue;
    require_other_file(path, scene);
    require_writable(path);  // now, not after hours of searching
  }
  if (!out.poses.empty() && (out.poses == out.csv || out.poses == out.hdf5))
    throw UsageError(fmt::format("--poses is '{}', a file that is written already", out.poses.string()));
  return out;
}

void write_text(const fs::path& path, const std::string& text) {
  write_whole_file(path, std::as_bytes(std::span(text)));
}

/// None where it was stopped: the schedule is whole without them.
std::vector<ToleranceCurve> find_tolerance(const Scene& scene, const Schedule& schedule, const ScheduleOptions& of,
                                           bool quiet) {
  ProgressDisplay display(display_for_stderr(quiet));
  const auto began = std::chrono::steady_clock::now();
  ToleranceOptions options;
  options.samples = std::max<std::uint64_t>(of.samples / 4, 1);
  options.seed = schedule.seed;
  options.replicates = of.replicates;
  options.threads = of.threads;
  options.keep_going = of.solver.keep_going;
  options.progress = [&](std::size_t done, std::size_t all) {
    const std::chrono::duration<double> passed = std::chrono::steady_clock::now() - began;
    display.show(CountProgress{.done = done, .expected = all, .seconds = passed.count()});
  };
  try {
    return tolerance_curves(scene, schedule, options);
  } catch (const Stopped&) {
    display.clear();
    fmt::print(stderr, "catoptra: stopped; the schedule is kept, without tolerances\n");
    return {};
  }
}

struct Found {
  Scene scene;  // whose schedule it is
  Schedule schedule;
  std::optional<Design> design;
};

/// None where it was stopped before there was anything to keep, which is said.
std::optional<Found> find(const TypedSteer& typed, const Scene& scene, const std::vector<SunMoment>& suns,
                          const std::vector<FreeParameter>& parameters, const Outputs& outputs,
                          ScheduleOptions options) {
  ProgressDisplay display(display_for_stderr(typed.quiet));
  const auto began = std::chrono::steady_clock::now();
  const auto show = [&](std::size_t done, std::size_t expected) {
    const std::chrono::duration<double> passed = std::chrono::steady_clock::now() - began;
    display.show(CountProgress{.done = done, .expected = expected, .seconds = passed.count()});
  };
  Found out;
  try {
    if (parameters.empty()) {
      options.progress = [&](std::size_t done) { show(done, suns.size()); };
      out.scene = scene;
      out.schedule = make_schedule(scene, suns, options);
    } else {
      out.design = search_design(scene, suns, parameters,
                                 {.schedule = options, .evaluations = evaluations_of(typed.free), .progress = show});
      if (out.design) {
        out.schedule = out.design->schedule;
        // As the file will be read: with its name, its first lines and all.
        out.scene = *read_scene_text(best_scene_text(*out.design), outputs.best.string()).scene;
      }
    }
  } catch (const NoRoom& fault) {
    throw UsageError(fmt::format("{}: {}", scene.path, fault.what()));
  } catch (const WrongPath& fault) {
    throw UsageError(fmt::format("{}: {}", scene.path, fault.what()));
  }
  display.clear();
  if (!out.schedule.rows.empty()) return out;
  fmt::print(stderr, "catoptra: stopped before the first {} was done; nothing is kept\n",
             parameters.empty() ? "sun" : "variant");
  return std::nullopt;
}

int run(const TypedSteer& typed, const std::string& command_line) {
  ScheduleOptions options = options_of(typed);
  const Provenance from = provenance_now(command_line);
  const auto scene = read_or_report(typed.scene);
  if (!scene || (typed.free.free.empty() && !can_be_steered(*scene))) return wrong_input;
  const std::vector<FreeParameter> parameters = free_parameters_of(typed.free, *scene);
  evaluations_of(typed.free);
  const std::vector<SunMoment> suns = suns_of(typed, *scene);
  const Outputs outputs = outputs_of(typed, *scene);

  watch_for_stop();
  options.solver.keep_going = [] { return !stop_wanted(); };
  const auto found = find(typed, *scene, suns, parameters, outputs, options);
  if (!found) return failed;
  const Schedule& schedule = found->schedule;
  const Design* design = found->design ? &*found->design : nullptr;
  const bool interrupted = schedule.interrupted() || (design != nullptr && design->interrupted);
  const std::vector<ToleranceCurve> tolerance = typed.tolerance && !interrupted
                                                    ? find_tolerance(found->scene, schedule, options, typed.quiet)
                                                    : std::vector<ToleranceCurve>();
  if (design != nullptr) write_text(outputs.best, found->scene.text);
  write_schedule(outputs.hdf5, found->scene, schedule, tolerance, from, design);
  write_text(outputs.csv, schedule_csv(found->scene, schedule));
  if (!outputs.poses.empty()) write_text(outputs.poses, pose_table_csv(schedule));
  if (!tolerance.empty()) write_text(outputs.tolerance, tolerance_csv(tolerance));
  if (typed.json) {
    fmt::print("{}", to_json(found->scene, schedule, tolerance, from, outputs.hdf5.string(), design));
  } else {
    fmt::print("{}{}", schedule_text(found->scene, schedule), tolerance_text(tolerance));
    if (design != nullptr) fmt::print("\n{}\nbest scene: {}", design_text(*design), outputs.best.string());
    fmt::print("\nschedule: {} and {}\n{}", outputs.hdf5.string(), outputs.csv.string(), caution_text);
  }
  if (!interrupted) return typed.tolerance && tolerance.empty() ? failed : done;
  if (design != nullptr) {
    fmt::print(stderr, "catoptra: stopped; the best of the {} variants done is kept in '{}'\n", design->variants.size(),
               outputs.best.string());
  } else {
    fmt::print(stderr, "catoptra: stopped; the {} of {} suns done are kept in '{}'\n", schedule.rows.size(),
               schedule.asked, outputs.hdf5.string());
  }
  return failed;
}

}  // namespace

Verb add_steer(CLI::App& app, const std::string& command_line) {
  CLI::App* command = app.add_subcommand("steer", "Find where the moving mirror must stand, hour by hour");
  command->footer(
      "Examples:\n"
      "  catoptra steer scenes/bowl.toml\n"
      "  catoptra steer scenes/bowl.toml --day 2026-06-21 --every 10min -o june.h5\n"
      "  catoptra steer scenes/bowl.toml --day 2026-12-21 --smooth 0.5% --poses december.csv\n"
      "  catoptra steer scenes/bowl.toml --day 2026-06-21 --every 1h \\\n"
      "    --free secondary.pilot.shape.conic_constant=-12..-2\n\n"
      "Moves what stands on steered mounts, within their travel, tilt and clearance. Without --day\n"
      "it finds the pose for the scene's own sun. The day is that of the clock: --utc-offset, else\n"
      "that of the scene's 'at', else mean solar time of the site. The schedule goes to an HDF5\n"
      "file and a CSV file of the same name. It depends on the scene and the options alone; any\n"
      "number of threads gives the same bits. Ctrl-C keeps the suns that are done.\n\n"
      "With --free it also searches for the best value of any number in the scene, as the mean over\n"
      "all suns, and writes the best scene. Other values are written into the scene's own text, so\n"
      "the key must stand there. Ctrl-C keeps the best so far.");
  const auto typed = std::make_shared<TypedSteer>();
  const auto option = [&](auto&&... words) { add_text_option(*command, words...); };
  command->add_option("SCENE", typed->scene, "Scene file (TOML)")->required()->option_text(" ");
  option("--day", typed->day, "DATE", "Every sun of this day, as 2026-06-21");
  option("--year", typed->year, "YEAR", "Every sun of the 21st of each of its months");
  option("--every", typed->every, "TIME", "From sun to sun: 10min, 1h, 90s [10min, with --year 1h]");
  option("--utc-offset", typed->utc_offset, "+HH:MM", "How far the day's clock is ahead of UTC");
  option("--objective", typed->objective, "WORD",
         "absorbed, intercept, peak, mean_concentration, absorbed_power [absorbed]");
  command->add_option("--free", typed->free.free, "A number of the scene and its range; again for more")
      ->option_text("PATH=LO..HI")
      ->allow_extra_args(false);
  option("--evaluations", typed->free.evaluations, "N", "Variants that --free tries at most [50 for each number]");
  option("--best", typed->free.best, "FILE", "Where the best scene goes [its name with -best.toml, in this folder]");
  option("--smooth", typed->smooth, "P%", "Share of the objective to give up for a metre less of travel [none]");
  option("-o,--output", typed->output, "FILE",
         "Where the HDF5 file goes [the scene's name with -steer.h5, in this folder]");
  option("--poses", typed->poses, "FILE", "Also a pose table, which a scene's 'table' mount reads");
  option("-n,--samples", typed->samples, "N", "Samples of each sun's final numbers [2^18]");
  option("--search-samples", typed->search_samples, "N", "Samples by which each pose that is tried is judged [2^13]");
  option("--seed", typed->seed, "S", "Another seed, another independent run [1]");
  option("--threads", typed->threads, "T", "Threads [all]");
  option("--replicates", typed->replicates, "R", "Independent repetitions that the errors come from [32]");
  command->add_flag("--tolerance", typed->tolerance, "Also how much errors of pointing, position and slope cost");
  command->add_flag("--json", typed->json, "Print the schedule as JSON, not as a table");
  command->add_flag("-q,--quiet", typed->quiet, "Show no progress");
  return {command, [typed, command_line] { return run(*typed, command_line); }};
}

}  // namespace catoptra
