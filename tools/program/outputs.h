#pragma once
// What a verb may write, decided here for all verbs, before any work is done: never over what it reads, never over a
// device, pipe or its own output, and not without --force over what it did not make itself.
#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "scene/model.h"

namespace CLI {
class App;
}

namespace catoptra {

/// What a file holds that is to be written, and so what it may replace.
enum class Content {
  result,
  schedule,
  result_page,
  scene_page,
  comparison_page,
  flux_table,
  schedule_table,
  pose_table,
  tolerance_table,
  realisation_table,
  best_scene,
  vtk,
  gltf,
  png,
  svg,
  pdf,
  stored_scene
};

class Outputs {
 public:
  /// The scene and what it names, whose paths count from its folder; or results.
  Outputs(const Scene& scene, bool force);
  Outputs(const std::vector<std::string>& results, bool force);

  /// Throws UsageError where `path`, which came by `option`, is an input, was added before, or holds what `content` may
  /// not replace; CantWrite where it can't be written. For a schedule `days` are its dates, "2026-06-21": it replaces
  /// schedules of these alone.
  void add(const std::filesystem::path& path, std::string_view option, Content content,
           const std::vector<std::string>& days = {});

 private:
  struct Input {
    std::filesystem::path path;
    std::string_view is;  // "a file that the scene is read from"
  };
  void require_replaceable(const std::filesystem::path& path, std::string_view option, Content content,
                           const std::vector<std::string>& days) const;

  std::vector<Input> inputs_;
  std::vector<std::filesystem::path> added_;
  bool force_;
};

/// "none" as an output: no file is written. A file of that name is "./none".
inline bool is_none(std::string_view output) {
  return output == "none";
}

/// --force, which every verb that writes has.
void add_force_option(CLI::App& command, bool& force);

}  // namespace catoptra
