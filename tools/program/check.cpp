// catoptra check: what a scene file was understood to mean.
#include <fmt/format.h>
#include <memory>

#include "files/check_json.h"
#include "memory.h"
#include "scene/describe.h"
#include "scene_input.h"
#include "streams.h"
#include "verb.h"

namespace catoptra {
namespace {

int run(const TypedScene& typed, bool json) {
  if (json) {
    const ReadOutcome outcome = read_typed(typed);
    print_out(
        check_json(path_of(typed), typed.settings, outcome, outcome.scene ? foretold_of(*outcome.scene) : Foretold{}));
    return outcome.scene ? done : wrong_input;
  }
  const auto scene = read_or_report(typed);
  if (!scene) return wrong_input;
  say("{}\n{}", describe(*scene), foretold_words(foretold_of(*scene)));
  return done;
}

}  // namespace

Verb add_check(CLI::App& app) {
  CLI::App* command = app.add_subcommand("check", "Say what a scene file means, or what is wrong with it");
  command->footer(
      "Examples:\n"
      "  catoptra check scenes/bowl.toml\n"
      "  catoptra check scenes/bowl.toml --set sun.dni_W_m2=850 --json\n\n"
      "Every problem is shown with its file, line and column. Nothing is traced or written.");
  const auto typed = std::make_shared<TypedScene>();
  const auto json = std::make_shared<bool>(false);
  add_scene_options(*command, *typed);
  command->add_flag("--json", *json, "Print all of it as JSON, the problems too");
  return {command, [typed, json] { return run(*typed, *json); }};
}

}  // namespace catoptra
