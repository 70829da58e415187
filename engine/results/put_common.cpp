#include "results/put_common.h"

#include <vector>

namespace catoptra {

using namespace hdf5_units;

void put_provenance(Hdf5File& file, const Scene& scene, const std::string& search, const Provenance& from) {
  file.describe("/", "Conventions", "CF-1.8");
  file.describe("/", "schema_version", std::int64_t{result_schema_version});
  file.describe("/", "title", scene.title);
  file.describe("/", "generator", from.generator);
  file.describe("/", "compiler", from.compiler);
  file.describe("/", "instruction_set", from.instruction_set);
  file.describe("/", "search", search);
  file.describe("/", "created_utc", from.created_utc);
  file.describe("/", "command", from.command);
}

void put_estimate(Hdf5File& file, const std::string& path, const Estimate& estimate, Units units, LongName long_name) {
  file.put(path, estimate.value, units, long_name);
  file.describe(path, "standard_error", estimate.standard_error);
}

void put_with_errors(Hdf5File& file, const std::string& path, const std::string& error_path,
                     const std::vector<Estimate>& estimates, const Scales& scales, Units units,
                     const std::string& long_name) {
  std::vector<double> values, errors;
  for (const auto& [value, error] : estimates) {
    values.push_back(value);
    errors.push_back(error);
  }
  file.put(path, values, scales, units, LongName{long_name});
  file.describe(path, "ancillary_variables", error_path.substr(error_path.rfind('/') + 1));
  file.put(error_path, errors, scales, units, LongName{"standard error: " + long_name});
}

void put_scene(Hdf5File& file, const Scene& scene) {
  file.put("/scene/source", scene.text, ratio, LongName{"the scene file's exact text (TOML)"});
  file.describe("/scene/source", "path", scene.path);
  if (scene.pulled_in.empty()) return;
  std::vector<std::string> paths, texts;
  for (const auto& pulled : scene.pulled_in) {
    paths.push_back(pulled.path);
    texts.push_back(pulled.text);
  }
  file.put_scale("/scene/pulled_in/path", std::span<const std::string>(paths), ratio,
                 LongName{"files that the scene pulled in, as it names them"});
  file.put("/scene/pulled_in/text", std::span<const std::string>(texts), {"/scene/pulled_in/path"}, ratio,
           LongName{"their exact text"});
}

void put_budget_terms(Hdf5File& file) {
  const std::vector<std::string> terms(term_names.begin(), term_names.end());
  file.put_scale("/budget/term", std::span<const std::string>(terms), ratio,
                 LongName{"where the light went, in the order that it meets them"});
}

}  // namespace catoptra
