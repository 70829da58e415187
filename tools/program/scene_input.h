#pragma once
// The scene that a verb works on: from a file or the standard input, with the values that --set gives it.
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "scene/read.h"

namespace CLI {
class App;
}

namespace catoptra {

struct TypedScene {                   // as typed
  std::string path;                   // "-": the standard input
  std::vector<std::string> settings;  // of --set
};

/// SCENE and --set, which every verb that reads a scene has.
void add_scene_options(CLI::App& command, TypedScene& typed);

/// The standard input is read to its end; files that its scene names are then found from the current folder.
ReadOutcome read_typed(const TypedScene& typed);

/// The scene, its problems printed to stderr; none where there is an error among them.
std::optional<Scene> read_or_report(const TypedScene& typed);

/// What files without a name of their own are called, without ending: as the scene's file; "scene" where it has none.
std::filesystem::path name_for_outputs(const TypedScene& typed);

/// The file that the scene is read from, as paths count from it: any name in the current folder for the standard input.
std::string path_of(const TypedScene& typed);

}  // namespace catoptra
