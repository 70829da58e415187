// catoptra trace: what happens at this instant.
#include "trace/trace.h"

#include <filesystem>
#include <fmt/format.h>
#include <memory>

#include "arguments.h"
#include "checkpoint.h"
#include "files/json.h"
#include "files/write_result.h"
#include "memory.h"
#include "outputs.h"
#include "progress.h"
#include "save.h"
#include "scene_input.h"
#include "signals.h"
#include "streams.h"
#include "verb.h"
#include "words/table.h"

namespace catoptra {
namespace {

namespace fs = std::filesystem;

constexpr const char* none_kept = "catoptra: stopped before the first samples were done; nothing is kept\n";
constexpr const char* not_written = "(not written)";
constexpr const char* nothing_new = "catoptra: stopped before more samples were done; the checkpoint is as it was\n";

struct Typed {  // as typed; empty: not given
  TypedScene scene;
  std::string output, samples, precision, max_samples, seed, threads, replicates, paths, checkpoint;
  bool json = false, quiet = false, force = false;
};

TraceOptions options_of(const Typed& typed) {
  if (!typed.samples.empty() && !typed.precision.empty())
    throw UsageError("--samples and --precision can't be used together\n  allowed: --precision with --max-samples");
  if (!typed.max_samples.empty() && typed.precision.empty())
    throw UsageError("--max-samples without --precision\n  did you mean '--samples'?");
  TraceOptions options;
  if (!typed.samples.empty()) options.samples = count_of("--samples", typed.samples, 1, most_samples);
  if (!typed.precision.empty()) options.precision = ratio_of_percent("--precision", typed.precision);
  if (!typed.max_samples.empty()) options.max_samples = count_of("--max-samples", typed.max_samples, 1, most_samples);
  if (!typed.seed.empty()) options.seed = integer_of("--seed", typed.seed, 0, UINT64_MAX);
  if (!typed.replicates.empty()) options.replicates = replicates_of(typed.replicates);
  if (!typed.paths.empty()) options.paths = static_cast<int>(count_of("--paths", typed.paths, 0, 1'000'000));
  return options;
}

/// All that decides the sums.
std::string run_text(const TraceOptions& o) {
  return fmt::format("trace {} {} {} {} {}", o.samples, o.precision, o.max_samples, o.seed, o.replicates);
}

/// Where the run that was cut off stood, if it was.
std::optional<RunState> kept_state(Checkpoint& checkpoint, bool quiet) {
  const auto text = checkpoint.load();
  if (!text) return std::nullopt;
  ByteReader in(*text);
  RunState state = run_state(in);
  if (!quiet)
    tell("catoptra: goes on from '{}', {:.0f} % done\n", checkpoint.place(),
         100 * static_cast<double>(state.bundles_done) / static_cast<double>(state.bundles_wanted));
  return state;
}

int run(const Typed& typed, const std::string& command_line) {
  watch_for_stop(none_kept);
  TraceOptions options = options_of(typed);
  Workers workers(typed.threads.empty() ? 0 : threads_of(typed.threads));
  options.workers = &workers;
  options.stop = &stop_signal();
  Provenance from = provenance_now(command_line);
  from.settings = typed.scene.settings;
  const bool is_kept = !is_none(typed.output);
  const double every_s = checkpoint_every_s(typed.checkpoint, is_kept);
  const auto scene = read_or_report(typed.scene);
  if (!scene) return wrong_input;
  const fs::path output = typed.output.empty() ? name_for_outputs(typed.scene).concat(".h5") : fs::path(typed.output);
  if (is_kept) Outputs(*scene, typed.force).add(output, "--output", Content::result);
  require_memory(*scene, options, is_kept);

  Checkpoint checkpoint(output, *scene, run_text(options), every_s);
  const auto state = kept_state(checkpoint, typed.quiet);
  if (state) watch_for_stop(nothing_new);
  if (state) options.resume = &*state;
  options.commit = [&](const std::function<RunState()>& now) {
    const auto text = [&] {
      ByteWriter out;
      put(now(), out);
      return out.take();
    };
    checkpoint.keep(text, stop_wanted());
  };

  ProgressDisplay display(display_for_stderr(typed.quiet));
  options.progress = [&](const Progress& progress) {
    keep_from_now_on();
    display.show(progress);
  };
  TraceResult result;
  try {
    result = trace(*scene, options);
  } catch (const StoppedEarly&) {
    display.clear();
    tell("{}", state ? nothing_new : none_kept);
    return stopped;
  }
  display.clear();
  const auto write = [&](const fs::path& path) { write_result(path, *scene, result, from); };
  const Saved saved = is_kept ? save_files({{output, write}}) : Saved();
  const std::string place = is_kept ? saved.places.front() : std::string();
  if (typed.json) {
    print_out(to_json(*scene, result, from, place));
  } else {
    say("{}\nresult: {}\n{}", result_text(*scene, result), is_kept ? place : not_written, caution_text);
  }
  if (!saved.fault.empty()) saved.tell_fault();
  if (!saved.fault.empty()) return failed;
  if (!result.interrupted) checkpoint.remove();
  if (!result.interrupted) return done;
  if (is_kept)
    tell("catoptra: stopped; the {} samples done are kept in '{}'{}\n", result.samples, place,
         checkpoint.is_on() ? "; the same command goes on" : "");
  else
    tell("catoptra: stopped; the result rests on the {} samples done and is not kept\n", result.samples);
  return stopped;
}

}  // namespace

Verb add_trace(CLI::App& app, const std::string& command_line) {
  CLI::App* command = app.add_subcommand("trace", "Trace a scene for its own sun: loss budget, flux, concentration");
  command->footer(
      "Examples:\n"
      "  catoptra trace scenes/bowl.toml\n"
      "  catoptra trace scenes/bowl.toml --precision 0.1% -o noon.h5\n"
      "  catoptra trace scenes/bowl.toml --samples 4M --json | jq .intercept_factor\n"
      "  catoptra trace scenes/bowl.toml --set sun.dni_W_m2=850 -o none\n\n"
      "The result depends only on the scene, --seed, the samples and --replicates: any number of\n"
      "threads gives the same bits. Ctrl-C stops a run and keeps the samples done so far.");
  const auto typed = std::make_shared<Typed>();
  const auto option = [&](auto&&... words) { add_text_option(*command, words...); };
  add_scene_options(*command, typed->scene);
  option("-o,--output", typed->output, "FILE", "Output HDF5 file, or none [the scene's name with .h5, in this folder]");
  option("-n,--samples", typed->samples, "N", "Samples to trace, rounded up: 250000, 1e6, 2^20, 4M [2^20]");
  option("--precision", typed->precision, "P%",
         "Trace until the intercept factor's standard error is this small a share of it");
  option("--max-samples", typed->max_samples, "N", "Where --precision gives up [2^32]");
  option("--seed", typed->seed, "S", "Another seed, another independent run [1]");
  option("--threads", typed->threads, "T", "Threads [all]");
  option("--replicates", typed->replicates, "R", "Independent repetitions that the errors come from [32]");
  option("--paths", typed->paths, "N", "Ray paths kept in the file [200]");
  add_checkpoint_option(*command, typed->checkpoint);
  add_force_option(*command, typed->force);
  command->add_flag("--json", typed->json, "Print the result as JSON, not as a table");
  command->add_flag("-q,--quiet", typed->quiet, "Show no progress");
  return {command, [typed, command_line] { return run(*typed, command_line); }};
}

}  // namespace catoptra
