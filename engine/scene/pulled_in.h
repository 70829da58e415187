#pragma once
// Files that the scene names in its keys: opened from its folder, and kept for the result.
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "scene/model.h"
#include "scene/problem.h"

namespace catoptra {

class PulledIn {
 public:
  explicit PulledIn(std::string scene_path) : scene_path_(std::move(scene_path)) {}
  /// The disk is left alone: `kept` has them all.
  PulledIn(std::string scene_path, std::vector<SourceFile> kept)
      : scene_path_(std::move(scene_path)), kept_(std::move(kept)) {}

  /// Columns of numbers out of `file`; a problem at `place` where it can't be read, in the file where it is wrong.
  std::optional<std::vector<std::vector<double>>> read(const std::string& file, Place place,
                                                       std::span<const std::string_view> columns, Problems& problems);
  std::vector<SourceFile> take() { return std::move(files_); }

 private:
  std::string text_of(const std::string& file, const std::string& path) const;

  std::string scene_path_;
  std::optional<std::vector<SourceFile>> kept_;
  std::vector<SourceFile> files_;
};

/// What all readers of one scene share.
struct Reading {
  Problems& problems;
  PulledIn& files;
};

}  // namespace catoptra
