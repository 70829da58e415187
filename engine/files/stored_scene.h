#pragma once
// What a result file was made from and what it holds, as the engine's own types.
#include <optional>
#include <string>
#include <vector>

#include "files/read_file.h"
#include "scene/model.h"
#include "steer/schedule.h"
#include "trace/result.h"

namespace catoptra {

/// Written by `catoptra steer`: a line of suns, without maps and paths.
bool is_schedule(const StoredFile& file);

/// The text of the scene that the result rests on, and its path; those of the files that it names. Throws
/// std::runtime_error where the file keeps no scene.
SourceFile scene_text_of(const StoredFile& file);
std::vector<SourceFile> pulled_in_of(const StoredFile& file);

/// The scene that the result rests on, out of the text that it keeps; of a schedule with its sun and its steered
/// components where row `row` has them. Throws std::runtime_error where this program does not understand the text.
Scene scene_of(const StoredFile& file, std::size_t row = 0);
/// Moves a schedule's scene on to another row.
void stand_at(Scene& scene, const StoredFile& file, std::size_t row);

/// The schedule as steer had it: of the traces their numbers alone. Throws std::invalid_argument for another file.
Schedule schedule_of(const StoredFile& file);

std::vector<std::string> receivers_of(const StoredFile& file);
/// None where the file holds no map of it.
std::optional<FluxMap> flux_of(const StoredFile& file, const std::string& receiver);
std::vector<RayPath> paths_of(const StoredFile& file);

}  // namespace catoptra
