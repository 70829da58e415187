// catoptra check: what a scene file was understood to mean.
#include <fmt/format.h>
#include <memory>

#include "memory.h"
#include "scene/describe.h"
#include "scene/read.h"
#include "streams.h"
#include "verb.h"

namespace catoptra {

std::optional<Scene> read_or_report(const std::string& path) {
  auto outcome = read_scene(path);
  print_err(text_of(outcome.problems, outcome.left_out));
  return std::move(outcome.scene);
}

Verb add_check(CLI::App& app) {
  CLI::App* command = app.add_subcommand("check", "Say what a scene file means, or what is wrong with it");
  command->footer(
      "Example:\n  catoptra check scenes/bowl.toml\n\n"
      "Every problem is shown with its file, line and column. Nothing is traced or written.");
  const auto scene_path = std::make_shared<std::string>();
  command->add_option("SCENE", *scene_path, "Scene file (TOML)")->required()->option_text(" ");
  return {command, [scene_path]() -> int {
            const auto scene = read_or_report(*scene_path);
            if (!scene) return wrong_input;
            say("{}\n{}", describe(*scene), foretold_words(*scene));
            return done;
          }};
}

}  // namespace catoptra
