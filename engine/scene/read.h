#pragma once
// Scene files (TOML 1.0). Every key is described in docs/scene-reference.md.
#include <optional>
#include <string>
#include <vector>

#include "scene/model.h"
#include "scene/problem.h"

namespace catoptra {

/// What a reading brought: a scene unless there was an error, and all problems, in the order of the file.
struct ReadOutcome {
  std::optional<Scene> scene;
  std::vector<Problem> problems;
  std::size_t left_out = 0;  // problems beyond these, where there are too many to read
};

/// Reads and checks the scene at `path`, with the files that it names (found from its folder). Never throws for what a
/// user can put into a file: that is a Problem.
ReadOutcome read_scene(const std::string& path);
/// The same for a text that stands for the file `path`.
ReadOutcome read_scene_text(std::string text, const std::string& path);
/// The same for a text that a result kept together with the files that it names: the disk is left alone.
ReadOutcome read_kept_scene(std::string text, const std::string& path, std::vector<SourceFile> pulled_in);

}  // namespace catoptra
