// catoptra look: a scene in space, before an hour is spent on it.
#include <fmt/format.h>
#include <memory>
#include <nlohmann/json.hpp>

#include "arguments.h"
#include "outputs.h"
#include "page.h"
#include "pictures/page_data.h"
#include "pictures/scene_view.h"
#include "scene/describe.h"
#include "scene_input.h"
#include "trace/trace.h"
#include "verb.h"

namespace catoptra {
namespace {

constexpr std::uint64_t few_samples = 1 << 12;  // well under a second, whatever the scene

int run(const TypedScene& typed, const std::string& output, const std::string& paths, bool force) {
  const auto page = page_path(output, name_for_outputs(typed).concat(".toml").string());
  TraceOptions options;
  options.samples = few_samples;
  options.replicates = 2;
  if (!paths.empty()) options.paths = static_cast<int>(count_of("--paths", paths, 1, few_samples / 2));
  require_pages();
  const auto scene = read_or_report(typed);
  if (!scene) return wrong_input;
  Outputs(*scene, force).add(page, "--output", Content::scene_page);

  const TraceResult result = trace(*scene, options);
  const nlohmann::ordered_json about{{"path", scene->path},
                                     {"dni_W_m2", scene->sun.dni_W_m2},
                                     {"description", describe(*scene)},
                                     {"source", scene->text}};
  const PageFile file{about.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace),
                      to_json(view_of(*scene), result.paths), "null"};
  write_page(page, page_json("scene", scene->title, std::span(&file, 1)));
  return done;
}

}  // namespace

Verb add_look(CLI::App& app) {
  CLI::App* command = app.add_subcommand("look", "Show a scene in space on one page, with a few rays");
  command->footer(
      "Example:\n"
      "  catoptra look scenes/bowl.toml\n\n"
      "It traces only the few rays that it shows. 'catoptra check' describes the scene in words.");
  const auto scene = std::make_shared<TypedScene>();
  const auto output = std::make_shared<std::string>(), paths = std::make_shared<std::string>();
  const auto force = std::make_shared<bool>(false);
  add_scene_options(*command, *scene);
  add_text_option(*command, "-o,--output", *output, "FILE",
                  "Output page [the scene's name with .html, in this folder]");
  add_text_option(*command, "--paths", *paths, "N", "Number of rays to show [200]");
  add_force_option(*command, *force);
  return {command, [=] { return run(*scene, *output, *paths, *force); }};
}

}  // namespace catoptra
