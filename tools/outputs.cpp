// Where a verb may write.
#include <filesystem>
#include <fmt/format.h>
#include <string>
#include <vector>

#include "arguments.h"
#include "verb.h"

namespace catoptra {

void require_other_file(const std::filesystem::path& output, const Scene& scene, std::string_view option) {
  std::vector<std::string> inputs{scene.path};
  for (const auto& pulled : scene.pulled_in) inputs.push_back(pulled.path);
  for (const auto& input : inputs) {
    std::error_code unknown;
    if (std::filesystem::equivalent(output, input, unknown))
      throw UsageError(fmt::format("{} is '{}', a file that the scene is read from", option, output.string()));
  }
}

}  // namespace catoptra
