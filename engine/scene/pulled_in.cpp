#include "scene/pulled_in.h"

#include <algorithm>
#include <filesystem>
#include <fmt/format.h>
#include <stdexcept>

#include "scene/plain_text.h"
#include "scene/read_file.h"

namespace catoptra {

std::string PulledIn::text_of(const std::string& file, const std::string& path) const {
  if (!kept_) return read_whole_file(path);
  const auto at = std::ranges::find(*kept_, file, &SourceFile::path);
  if (at == kept_->end()) throw std::runtime_error("it was not kept with the scene");
  return at->text;
}

std::optional<std::vector<std::vector<double>>> PulledIn::read(const std::string& file, Place place,
                                                               std::span<const std::string_view> columns,
                                                               Problems& problems) {
  const std::string path = (std::filesystem::path(scene_path_).parent_path() / file).string();
  try {
    std::string text = text_of(file, path);
    Problems in_file(path, text);
    std::optional<std::vector<std::vector<double>>> rows;
    if (refuse_non_text(text, in_file)) rows = read_csv(text, columns, in_file);
    problems.append(in_file.take());
    files_.push_back({file, std::move(text)});
    return rows;
  } catch (const std::runtime_error& fault) {
    problems.error(place, fmt::format("can't read {}: {}", path, fault.what()),
                   {"allowed: a file's path from the scene's folder"});
    return std::nullopt;
  }
}

}  // namespace catoptra
