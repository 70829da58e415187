#include "outputs.h"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <fmt/format.h>
#include <fmt/ranges.h>
#include <fstream>
#include <optional>

#include "arguments.h"
#include "files/read_file.h"
#include "files/stored_scene.h"
#include "files/whole_file.h"
#include "scene/mount.h"

namespace catoptra {
namespace {

namespace fs = std::filesystem;

constexpr std::string_view hdf5_begin = "\x89HDF\r\n\x1a\n";
constexpr std::string_view data_of_page = "id=\"data\">{\"kind\":\"";  // page/src/frame.html, pictures/page_data.cpp

std::string begin_of(const fs::path& path, std::size_t bytes) {
  std::string out(bytes, '\0');
  std::ifstream file(path, std::ios::binary);
  file.read(out.data(), static_cast<std::streamsize>(bytes));
  out.resize(static_cast<std::size_t>(file.gcount()));
  return out;
}

/// "result", "scene" or "comparison"; empty for a page that is none of ours.
std::string kind_of_page(const fs::path& path) {
  const std::string text = begin_of(path, 4 << 20);
  const auto at = text.find(data_of_page);
  if (at == text.npos) return {};
  const auto begin = at + data_of_page.size();
  return text.substr(begin, text.find('"', begin) - begin);
}

/// What keeps a page of `kind` from replacing what is there; empty: nothing.
std::string page_refusal(const fs::path& path, std::string_view kind) {
  const std::string there = kind_of_page(path);
  if (there == kind) return {};
  if (there.empty()) return "which is there already and is no page of catoptra's";
  const std::string_view verb = there == "scene" ? "look" : there == "comparison" ? "compare" : "report";
  return fmt::format("which holds a page that catoptra {} made", verb);
}

std::string begin_refusal(const fs::path& path, std::string_view begin, std::string_view what) {
  if (begin_of(path, begin.size()) == begin) return {};
  return fmt::format("which is there already and is no {}", what);
}

std::string schedule_refusal(const StoredFile& file, const std::vector<std::string>& days) {
  const auto* times = file.values<std::string>("/local_time");
  for (const std::string& time : times ? *times : std::vector<std::string>()) {
    const std::string day = time.substr(0, 10);
    if (std::ranges::find(days, day) != days.end()) continue;
    return day.empty() ? "which holds a schedule of the scene's own sun"
                       : fmt::format("which holds a schedule of another day, {}", day);
  }
  return {};
}

std::string result_refusal(const fs::path& path, bool schedule, const std::vector<std::string>& days) {
  std::optional<StoredFile> file;
  try {
    if (begin_of(path, hdf5_begin.size()) == hdf5_begin) file = read_result(path.string());
  } catch (const std::exception&) {
    // Then it is none that we know.
  }
  if (!file) return "which is there already and is no result of catoptra's";
  if (is_schedule(*file) != schedule)
    return schedule ? "which holds what catoptra trace found" : "which holds a schedule, of catoptra steer";
  return schedule ? schedule_refusal(*file, days) : std::string();
}

std::string refusal(const fs::path& path, Content content, const std::vector<std::string>& days) {
  switch (content) {
    case Content::result:
    case Content::schedule:
      return result_refusal(path, content == Content::schedule, days);
    case Content::result_page:
      return page_refusal(path, "result");
    case Content::scene_page:
      return page_refusal(path, "scene");
    case Content::comparison_page:
      return page_refusal(path, "comparison");
    case Content::flux_table:
      return begin_of(path, 5).starts_with("x_m,") ? std::string() : begin_refusal(path, "azimuth_rad,", "flux map");
    case Content::schedule_table:
      return begin_refusal(path, "time_utc,local_time,", "schedule's table");
    case Content::pose_table:
      return begin_refusal(path, fmt::format("{}\n", fmt::join(TableMount::columns, ",")), "table of poses");
    case Content::tolerance_table:
      return begin_refusal(path, "component,error,unit,", "table of tolerances");
    case Content::realisation_table:
      return begin_refusal(path, "build,", "table of realisations");
    case Content::best_scene:
      return begin_refusal(path, "# Found by catoptra steer --free", "scene that a search wrote");
    case Content::vtk:
      return begin_refusal(path, hdf5_begin, "VTKHDF file");
    case Content::gltf:
      return begin_refusal(path, "glTF", "binary glTF file");
    case Content::png:
      return begin_refusal(path, "\x89PNG", "PNG picture");
    case Content::svg:
      return begin_refusal(path, "<?xml", "SVG picture");
    case Content::pdf:
      return begin_refusal(path, "%PDF", "PDF file");
    case Content::stored_scene:
      return "which is there already";  // a person may have written it
  }
  return {};
}

/// Equal for equal files, there or not.
fs::path resolved(const fs::path& path) {
  std::error_code fault;
  const fs::path out = fs::weakly_canonical(fs::absolute(path, fault), fault);
  return fault ? path : out;
}

}  // namespace

Outputs::Outputs(const Scene& scene, bool force) : force_(force) {
  constexpr std::string_view is = "a file that the scene is read from";
  inputs_.push_back({scene.path, is});
  const fs::path folder = fs::path(scene.path).parent_path();
  for (const auto& pulled : scene.pulled_in) inputs_.push_back({folder / pulled.path, is});
}

Outputs::Outputs(const std::vector<std::string>& results, bool force) : force_(force) {
  for (const auto& result : results) inputs_.push_back({result, "the result itself"});
}

void Outputs::add(const fs::path& path, std::string_view option, Content content,
                  const std::vector<std::string>& days) {
  for (const Input& input : inputs_) {
    std::error_code unknown;
    if (fs::equivalent(path, input.path, unknown) || resolved(path) == resolved(input.path))
      throw UsageError(fmt::format("{} is '{}', {}", option, path.string(), input.is));
  }
  if (std::ranges::find(added_, resolved(path)) != added_.end())
    throw UsageError(fmt::format("{} is '{}', a file that is written already", option, path.string()));
  require_writable(path);  // now, not after hours of work
  require_replaceable(path, option, content, days);
  added_.push_back(resolved(path));
}

void Outputs::require_replaceable(const fs::path& path, std::string_view option, Content content,
                                  const std::vector<std::string>& days) const {
  std::error_code unknown;
  const auto size = fs::file_size(path, unknown);
  if (force_ || unknown || size == 0) return;  // nothing is there to lose
  const std::string words = refusal(path, content, days);
  if (!words.empty())
    throw UsageError(fmt::format("{} is '{}', {}\n  allowed: another name, or --force, which replaces it", option,
                                 path.string(), words));
}

void add_force_option(CLI::App& command, bool& force) {
  command.add_flag("--force", force, "Replace a file that is there, whoever made it");
}

}  // namespace catoptra
