#include "free.h"

#include <charconv>
#include <fmt/format.h>
#include <optional>

#include "arguments.h"

namespace catoptra {
namespace {

namespace fs = std::filesystem;

std::optional<double> number(std::string_view text) {
  double out = 0;
  const auto [stop, fault] = std::from_chars(text.data(), text.data() + text.size(), out);
  if (fault != std::errc{} || stop != text.data() + text.size()) return std::nullopt;
  return out;
}

FreeParameter parameter_of(const std::string& typed, const TypedScene& from, const Scene& scene) {
  const std::size_t equals = typed.rfind('='), dots = typed.find("..", equals == typed.npos ? 0 : equals);
  std::optional<double> low, high;
  if (equals != typed.npos && equals > 0 && dots != typed.npos) {
    low = number(std::string_view(typed).substr(equals + 1, dots - equals - 1));
    high = number(std::string_view(typed).substr(dots + 2));
  }
  if (!low || !high)
    throw UsageError(fmt::format(
        "--free is '{}'\n  allowed: a path, =, a lower number, two dots and a higher number, in the unit of "
        "the key: secondary.pilot.shape.conic_constant=-3..0",
        typed));
  try {
    return free_parameter(scene, typed.substr(0, equals), *low, *high);
  } catch (const std::invalid_argument& fault) {
    throw UsageError(
        fmt::format("--free is '{}': {}\n  allowed: two finite numbers, the lower first", typed, fault.what()));
  } catch (const WrongPath& fault) {
    throw UsageError(fmt::format("--free: {}", located(scene.path, place_in_file(from, fault), fault.what())));
  }
}

}  // namespace

Place place_in_file(const TypedScene& from, const WrongPath& fault) {
  return from.settings.empty() ? fault.place() : Place{};
}

std::vector<FreeParameter> free_parameters_of(const TypedFree& typed, const TypedScene& from, const Scene& scene) {
  if (typed.free.empty() && !(typed.best.empty() && typed.evaluations.empty()))
    throw UsageError(
        "--best and --evaluations go with --free\n  allowed: --free secondary.pilot.shape.conic_constant=-3..0");
  std::vector<FreeParameter> out;
  std::vector<std::size_t> places;
  for (const auto& one : typed.free) {
    out.push_back(parameter_of(one, from, scene));
    // Two ways to name it, as z and 2 of a position, are one number.
    const std::size_t place = find_number(scene.text, out.back().path).begin;
    for (std::size_t i = 0; i < places.size(); ++i)
      if (places[i] == place)
        throw UsageError(fmt::format("--free names the same number twice: '{}' and '{}'\n  allowed: each once",
                                     out[i].path, out.back().path));
    places.push_back(place);
  }
  return out;
}

int evaluations_of(const TypedFree& typed) {
  if (!typed.evaluations.empty()) return static_cast<int>(count_of("--evaluations", typed.evaluations, 1, 1'000'000));
  return 50 * static_cast<int>(typed.free.size());
}

fs::path best_path_of(const TypedFree& typed, const TypedScene& from, const Scene& scene) {
  const std::string scene_path = path_of(from);
  fs::path out = typed.best.empty() ? name_for_outputs(from).concat("-best.toml") : fs::path(typed.best);
  std::error_code unknown;
  const auto folder = [](const fs::path& file) { return file.has_parent_path() ? file.parent_path() : fs::path("."); };
  if (!scene.pulled_in.empty() && !fs::equivalent(folder(out), folder(scene_path), unknown))
    throw UsageError(
        fmt::format("--best is '{}', and the scene names other files by their paths from its folder\n  allowed: a file "
                    "in the scene's folder, as {}",
                    out.string(), (folder(scene_path) / out.filename()).string()));
  return out;
}

}  // namespace catoptra
