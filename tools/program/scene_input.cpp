#include "scene_input.h"

#include <CLI/CLI.hpp>
#include <array>
#include <cerrno>
#include <fmt/format.h>
#include <stdexcept>
#include <system_error>
#include <unistd.h>
#include <utility>

#include "scene/read_file.h"
#include "scene/settings.h"
#include "streams.h"

namespace catoptra {
namespace {

constexpr const char* standard_input = "<stdin>";

bool is_standard_input(const TypedScene& typed) {
  return typed.path == "-";
}

/// Throws std::runtime_error where nothing can be read.
std::string read_standard_input() {
  std::string out;
  std::array<char, 1 << 16> block;
  for (;;) {
    const ssize_t size = ::read(STDIN_FILENO, block.data(), block.size());
    if (size < 0 && errno == EINTR) continue;
    if (size < 0) throw std::runtime_error(std::generic_category().message(errno));
    if (size == 0) break;
    out.append(block.data(), static_cast<std::size_t>(size));
    if (out.size() > most_scene_bytes) throw std::runtime_error(too_large_words);
  }
  if (out.empty()) throw std::runtime_error("the standard input is empty or closed");
  return out;
}

}  // namespace

void add_scene_options(CLI::App& command, TypedScene& typed) {
  command.add_option("SCENE", typed.path, "Scene file (TOML); - for the standard input")->required()->option_text(" ");
  command.add_option("--set", typed.settings, "A value instead of the scene's; repeat for more")
      ->option_text("PATH=VALUE")
      ->allow_extra_args(false);
}

ReadOutcome read_typed(const TypedScene& typed) {
  if (!is_standard_input(typed)) return read_scene(typed.path, typed.settings);
  try {
    return read_scene_text(read_standard_input(), standard_input, typed.settings);
  } catch (const std::runtime_error& fault) {
    ReadOutcome out;
    Problem& problem = out.problems.emplace_back();
    problem.path = standard_input;
    problem.message = fmt::format("can't read the scene: {}", fault.what());
    problem.notes = {"allowed: a scene's text, as in 'catoptra check - < scene.toml'"};
    return out;
  }
}

std::optional<Scene> read_or_report(const TypedScene& typed) {
  auto outcome = read_typed(typed);
  print_err(text_of(outcome.problems, outcome.left_out));
  return std::move(outcome.scene);
}

std::filesystem::path name_for_outputs(const TypedScene& typed) {
  return is_standard_input(typed) ? std::filesystem::path("scene") : std::filesystem::path(typed.path).stem();
}

std::string path_of(const TypedScene& typed) {
  return is_standard_input(typed) ? standard_input : typed.path;
}

}  // namespace catoptra
