// catoptra steer: where the moving mirror must stand, hour by hour.
#include <filesystem>
#include <fmt/format.h>
#include <fmt/ranges.h>
#include <memory>
#include <optional>

#include "arguments.h"
#include "as_built.h"
#include "checkpoint.h"
#include "files/names.h"
#include "files/whole_file.h"
#include "files/write_schedule.h"
#include "free.h"
#include "memory.h"
#include "outputs.h"
#include "progress.h"
#include "save.h"
#include "scene/placement.h"
#include "scene/problem.h"
#include "scene/read.h"
#include "scene_input.h"
#include "signals.h"
#include "steer/schedule.h"
#include "streams.h"
#include "suns.h"
#include "verb.h"
#include "words/design_rows.h"
#include "words/realisation_rows.h"
#include "words/schedule_rows.h"
#include "words/table.h"
#include "words/tolerance_rows.h"

namespace catoptra {
namespace {

namespace fs = std::filesystem;

constexpr const char* no_sun_kept = "catoptra: stopped before the first sun was done; nothing is kept\n";
constexpr const char* nothing_new = "catoptra: stopped; the checkpoint is as it was\n";
constexpr const char* no_variant_kept = "catoptra: stopped before the first variant was done; nothing is kept\n";

struct TypedSteer {  // as typed; empty: not given
  TypedScene scene;
  TypedFree free;
  TypedSuns suns;
  std::string output, poses, objective, smooth, samples, search_samples, seed, threads, replicates, checkpoint;
  TypedErrors errors;
  bool json = false, quiet = false, force = false;
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
  if (!typed.replicates.empty()) options.replicates = replicates_of(typed.replicates);
  return options;
}

bool follows_law(const Component& component) {
  return !std::holds_alternative<FixedMount>(component.mount) &&
         !std::holds_alternative<CarriedMount>(component.mount) &&
         !std::holds_alternative<SteeredMount>(component.mount);
}

/// Only a scene in which something moves, freely or by a law, can be steered; says what is missing where it would
/// stand.
bool can_be_steered(const Scene& scene, bool has_settings) {
  if (Freedom(scene).size() > 0 || std::ranges::any_of(scene.components, follows_law)) return true;
  Problems problems(scene.path, scene.text);
  if (has_settings) problems.hide_lines();  // places count in the text before them
  if (Freedom(scene).steered().empty()) {
    problems.error({}, "nothing to steer: every mount is fixed",
                   {"allowed: mount = { kind = \"steered\", home_m = [x, y, z], travel_m = [x, y, z], tilt_deg = a }",
                    "or a mount that follows a law, such as turn_about_centre"});
  } else {
    const Component& first = scene.components[Freedom(scene).steered().front()];
    problems.error(first.place_of("mount.kind"), "nothing to steer: the mount leaves no degree of freedom",
                   {"allowed: more than 0 in travel_m, tilt_deg or roll_limit_deg"});
  }
  for (const auto& problem : problems.take()) tell("{}\n", problem.text());
  return false;
}

/// Words for a search, where nothing is searched.
void require_no_search_options(const TypedSteer& typed) {
  const std::pair<const char*, const std::string&> options[] = {
      {"--objective", typed.objective}, {"--smooth", typed.smooth}, {"--search-samples", typed.search_samples}};
  for (const auto& [option, word] : options)
    if (!word.empty())
      throw UsageError(
          fmt::format("{} is '{}', but no mount is free to move\n"
                      "  allowed: a component with a steered mount; else leave this option out",
                      option, word));
}

struct Places {
  fs::path hdf5, csv, poses, tolerance, realisations, best;  // empty: not wanted
};

Places places_of(const TypedSteer& typed, const Scene& scene, const std::vector<Moment>& suns) {
  Places out;
  out.poses = typed.poses;
  if (!is_none(typed.output)) {
    out.hdf5 = typed.output.empty() ? name_for_outputs(typed.scene).concat("-steer.h5") : fs::path(typed.output);
    const auto beside = [&](const char* ending) { return fs::path(out.hdf5).replace_extension().concat(ending); };
    out.csv = beside(".csv");
    if (typed.errors.tolerance) out.tolerance = beside("-tolerance.csv");
    if (!typed.errors.realisations.empty()) out.realisations = beside("-realisations.csv");
  }
  if (!out.hdf5.empty() && out.csv == out.hdf5)
    throw UsageError(fmt::format("--output is '{}'\n  allowed: another ending than .csv, which the table beside it has",
                                 out.hdf5.string()));
  if (!out.poses.empty() && moving_components(scene).size() != 1)
    throw UsageError(fmt::format("--poses holds one moving component, and the scene has {} (arrays not counted)",
                                 moving_components(scene).size()));
  require_sound(typed.errors, scene);
  if (!typed.free.free.empty()) out.best = best_path_of(typed.free, typed.scene, scene);
  std::vector<std::string> days;
  for (const Moment& sun : suns) days.push_back(time_text(scene, sun, true).substr(0, 10));
  Outputs outputs(scene, typed.force);
  if (!out.hdf5.empty()) {
    outputs.add(out.hdf5, "--output", Content::schedule, days);
    outputs.add(out.csv, "the table of --output", Content::schedule_table);
  }
  if (!out.tolerance.empty()) outputs.add(out.tolerance, "the tolerances' table of --output", Content::tolerance_table);
  if (!out.realisations.empty())
    outputs.add(out.realisations, "the realisations' table of --output", Content::realisation_table);
  if (!out.poses.empty()) outputs.add(out.poses, "--poses", Content::pose_table);
  if (!out.best.empty()) outputs.add(out.best, "--best", Content::best_scene);
  return out;
}

struct Found {
  Scene scene;  // whose schedule it is
  Schedule schedule;
  std::optional<Design> design;
};

/// None where it was stopped before the first sun or variant was done.
std::optional<Found> find(const TypedSteer& typed, const Scene& scene, const std::vector<Moment>& suns,
                          const std::vector<FreeParameter>& parameters, const Places& places, ScheduleOptions options) {
  CountDisplay display(typed.quiet);
  const auto show = [&](std::size_t done, std::size_t expected) {
    keep_from_now_on();
    display.show(done, expected);
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
        out.scene = *read_scene_text(best_scene_text(*out.design), places.best.string()).scene;
      }
    }
  } catch (const NoRoom& fault) {
    throw UsageError(fault.what());
  } catch (const WrongPath& fault) {
    throw UsageError(located(scene.path, place_in_file(typed.scene, fault), fault.what()));
  }
  display.clear();
  if (out.schedule.rows.empty()) return std::nullopt;
  return out;
}

/// All that decides the numbers, as typed.
std::string run_text(const TypedSteer& t) {
  std::vector<std::string> words{"steer",
                                 t.suns.day,
                                 t.suns.twelve_days,
                                 t.suns.every,
                                 t.suns.utc_offset,
                                 t.objective,
                                 t.smooth,
                                 t.samples,
                                 t.search_samples,
                                 t.seed,
                                 t.replicates,
                                 t.errors.realisations,
                                 t.free.evaluations,
                                 t.errors.tolerance ? "tolerance" : ""};
  words.insert(words.end(), t.errors.draw.begin(), t.errors.draw.end());
  words.insert(words.end(), t.free.free.begin(), t.free.free.end());
  return fmt::format("{}", fmt::join(words, "\n"));
}

int run(const TypedSteer& typed, const std::string& command_line) {
  watch_for_stop(typed.free.free.empty() ? no_sun_kept : no_variant_kept);
  ScheduleOptions options = options_of(typed);
  Workers workers(typed.threads.empty() ? 0 : threads_of(typed.threads));
  options.workers = &workers;
  Provenance from = provenance_now(command_line);
  from.settings = typed.scene.settings;
  const double every_s = checkpoint_every_s(typed.checkpoint, !is_none(typed.output));
  const auto scene = read_or_report(typed.scene);
  if (!scene) return wrong_input;
  if (typed.free.free.empty() && !can_be_steered(*scene, !from.settings.empty())) return wrong_input;
  const std::vector<FreeParameter> parameters = free_parameters_of(typed.free, typed.scene, *scene);
  evaluations_of(typed.free);
  if (typed.free.free.empty() && Freedom(*scene).size() == 0) require_no_search_options(typed);
  const std::vector<Moment> suns = suns_of(typed.suns, *scene);
  require_places(*scene, suns);
  const Places places = places_of(typed, *scene, suns);
  require_memory(*scene, {.samples = options.samples, .replicates = options.replicates}, false);

  options.solver.stop = &stop_signal();
  SearchMemory memory;
  Checkpoint checkpoint(places.hdf5, *scene, run_text(typed), every_s);
  if (const auto text = checkpoint.load()) {
    memory.read(*text);
    watch_for_stop(nothing_new);
    if (!typed.quiet) tell("catoptra: goes on from '{}'\n", checkpoint.place());
  }
  const auto keep = [&] { checkpoint.keep([&] { return memory.text(); }, stop_wanted()); };
  memory.changed = [&] {
    keep_from_now_on();
    checkpoint.keep([&] { return memory.text(); }, false);
  };
  if (checkpoint.is_on()) options.solver.memory = &memory;
  const auto found = find(typed, *scene, suns, parameters, places, options);
  if (stop_wanted()) keep();
  if (!found) {
    if (checkpoint.is_on())
      tell("catoptra: stopped before the first {} was done; what the search knows is kept in '{}'\n",
           parameters.empty() ? "sun" : "variant", checkpoint.place());
    else
      tell("{}", parameters.empty() ? no_sun_kept : no_variant_kept);
    return stopped;
  }
  const Schedule& schedule = found->schedule;
  const Design* design = found->design ? &*found->design : nullptr;
  const bool interrupted = schedule.interrupted() || (design != nullptr && design->interrupted);
  ScheduleExtras extras;
  extras.design = design;
  if (typed.errors.tolerance && !interrupted)
    extras.tolerance = find_tolerance(found->scene, schedule, options, typed.quiet);
  std::optional<Realisations> realisations;
  if (!typed.errors.realisations.empty() && !interrupted && !stop_wanted())
    realisations = find_realisations(typed.errors, found->scene, schedule, options, typed.quiet);
  if (stop_wanted()) keep();
  if (realisations) extras.realisations = &*realisations;
  std::vector<FileToSave> files;
  const auto add = [&](const fs::path& path, auto text) {
    files.push_back({path, [text](const fs::path& to) { write_whole_file(to, text()); }});
  };
  if (design != nullptr) add(places.best, [&] { return found->scene.text; });
  if (!places.poses.empty()) add(places.poses, [&] { return pose_table_csv(schedule); });
  if (!extras.tolerance.empty() && !places.tolerance.empty())
    add(places.tolerance, [&] { return tolerance_csv(extras.tolerance); });
  if (realisations && !places.realisations.empty())
    add(places.realisations, [&] { return realisations_csv(*realisations); });
  const bool is_kept = !places.hdf5.empty();
  if (is_kept) {
    add(places.csv, [&] { return schedule_csv(found->scene, schedule); });
    files.push_back(
        {places.hdf5, [&](const fs::path& to) { write_schedule(to, found->scene, schedule, from, extras); }});
  }
  const Saved saved = files.empty() ? Saved() : save_files(files);
  const std::string hdf5 = is_kept ? saved.places.back() : std::string();
  const std::string best = design != nullptr ? saved.places.front() : std::string();
  if (typed.json) {
    print_out(to_json(found->scene, schedule, from, hdf5, extras));
  } else {
    say("{}{}", schedule_text(found->scene, schedule), tolerance_text(extras.tolerance));
    if (realisations) say("{}", realisations_text(*realisations));
    if (design != nullptr) say("\n{}\nbest scene: {}", design_text(*design), best);
    say("\nschedule: {}\n{}",
        is_kept ? fmt::format("{} and {}", hdf5, saved.places[files.size() - 2]) : "(not written)", caution_text);
  }
  if (!saved.fault.empty()) saved.tell_fault();
  if (!saved.fault.empty()) return failed;
  if (!interrupted) {
    const bool whole = (!typed.errors.tolerance || !extras.tolerance.empty()) &&
                       (typed.errors.realisations.empty() || (realisations && !realisations->interrupted()));
    if (whole) checkpoint.remove();
    return whole ? done : stopped;
  }
  const char* goes_on = checkpoint.is_on() ? "; the same command goes on" : "";
  if (design != nullptr) {
    tell("catoptra: stopped; the best of the {} variants done is kept in '{}'{}\n", design->variants.size(), best,
         goes_on);
  } else if (is_kept) {
    tell("catoptra: stopped; the {} of {} suns done are kept in '{}'{}\n", schedule.rows.size(), schedule.asked, hdf5,
         goes_on);
  } else {
    tell("catoptra: stopped; {} of {} suns are done, and their schedule is not kept\n", schedule.rows.size(),
         schedule.asked);
  }
  return stopped;
}

}  // namespace

Verb add_steer(CLI::App& app, const std::string& command_line) {
  CLI::App* command = app.add_subcommand("steer", "Find where the moving mirrors must be, hour by hour");
  command->footer(
      "Examples:\n"
      "  catoptra steer scenes/bowl.toml\n"
      "  catoptra steer scenes/bowl.toml --day 2026-06-21 --every 10min -o june.h5\n"
      "  catoptra steer scenes/bowl.toml --day 2026-12-21 --smooth 0.5% --poses dec.csv\n"
      "  catoptra steer scenes/bowl.toml --day 2026-06-21 --every 1h \\\n"
      "    --free secondary.pilot.shape.conic_constant=-12..-2\n\n"
      "steer moves components on steered mounts, within their travel, tilt and clearance. If a scene\n"
      "has none, it only follows the mounts that obey a law. Without --day it uses the scene's own\n"
      "sun. The day is a day of the clock: of --utc-offset if given, else of the scene's 'at', else of\n"
      "mean solar time at the site. The schedule is written to an HDF5 file and to a CSV file of the\n"
      "same name. It depends only on the scene and the options: any number of threads gives the same\n"
      "bits. Ctrl-C keeps the sun positions that are done.\n\n"
      "--free also searches for the best value of any number in the scene, as the mean over all sun\n"
      "positions, and writes the best scene. The path is that of the key in the scene file, with the\n"
      "component's name: secondary.pilot.shape.conic_constant. The key must be written in the file\n"
      "or set with --set, even where it has its default. Ctrl-C keeps the best so far.");
  const auto typed = std::make_shared<TypedSteer>();
  const auto option = [&](auto&&... words) { add_text_option(*command, words...); };
  add_scene_options(*command, typed->scene);
  add_sun_options(*command, typed->suns);
  option("--objective", typed->objective, "WORD",
         "absorbed, intercept, peak, mean_concentration, absorbed_power [absorbed]");
  command->add_option("--free", typed->free.free, "A number in the scene and its range; repeat for more")
      ->option_text("PATH=LO..HI")
      ->allow_extra_args(false);
  option("--evaluations", typed->free.evaluations, "N", "Variants that --free tries at most [50 for each number]");
  option("--best", typed->free.best, "FILE",
         "Output file for the best scene [its name with -best.toml, in this folder]");
  option("--smooth", typed->smooth, "P%", "Loss of the objective to accept for one metre less of travel [none]");
  option("-o,--output", typed->output, "FILE",
         "Output HDF5 file, or none [the scene's name with -steer.h5, in this folder]");
  option("--poses", typed->poses, "FILE", "Also a pose table, which a scene's 'table' mount reads");
  option("-n,--samples", typed->samples, "N", "Samples at each sun position for the final numbers, rounded up [2^18]");
  option("--search-samples", typed->search_samples, "N", "Samples for each pose that the search tries [2^13]");
  option("--seed", typed->seed, "S", "Seed of the random numbers [1]");
  option("--threads", typed->threads, "T", "Number of threads [all]");
  option("--replicates", typed->replicates, "R", "Independent replicates, which give the standard errors [32]");
  add_error_options(*command, typed->errors);
  add_checkpoint_option(*command, typed->checkpoint);
  add_force_option(*command, typed->force);
  command->add_flag("--json", typed->json, "Print the schedule as JSON, not as a table");
  command->add_flag("-q,--quiet", typed->quiet, "Show no progress");
  return {command, [typed, command_line] { return run(*typed, command_line); }};
}

}  // namespace catoptra
