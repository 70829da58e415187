#include "files/put_common.h"

#include <fmt/format.h>
#include <fmt/ranges.h>
#include <vector>

#include "trace/numbers.h"

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
  file.describe("/", "settings", fmt::format("{}", fmt::join(from.settings, "\n")));
}

namespace {

struct Keys {
  Keys(const std::string& group, std::string_view name, std::string_view suffix)
      : value(group + std::string(name) + std::string(suffix)),
        error(error_key(name, suffix)),
        error_path(group + error) {}
  std::string value, error, error_path;
};

std::string error_meaning(std::string_view meaning) {
  return "standard error: " + std::string(meaning);
}

}  // namespace

void put_estimate(Hdf5File& file, const std::string& group, std::string_view name, std::string_view suffix,
                  const Estimate& estimate, Units units, std::string_view long_name) {
  const Keys keys(group, name, suffix);
  file.put(keys.value, estimate.value, units, LongName{long_name});
  file.describe(keys.value, "ancillary_variables", keys.error);
  file.put(keys.error_path, estimate.standard_error, units, LongName{error_meaning(long_name)});
}

void put_with_errors(Hdf5File& file, const std::string& group, std::string_view name, std::string_view suffix,
                     std::span<const double> values, std::span<const double> errors, const Scales& scales, Units units,
                     std::string_view long_name) {
  const Keys keys(group, name, suffix);
  file.put(keys.value, values, scales, units, LongName{long_name});
  file.describe(keys.value, "ancillary_variables", keys.error);
  file.put(keys.error_path, errors, scales, units, LongName{error_meaning(long_name)});
}

void put_with_errors(Hdf5File& file, const std::string& group, std::string_view name, std::string_view suffix,
                     std::span<const Estimate> estimates, const Scales& scales, Units units,
                     std::string_view long_name) {
  std::vector<double> values, errors;
  for (const auto& [value, error] : estimates) {
    values.push_back(value);
    errors.push_back(error);
  }
  put_with_errors(file, group, name, suffix, values, errors, scales, units, long_name);
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
                 LongName{"files that the scene uses, as it names them"});
  file.put("/scene/pulled_in/text", std::span<const std::string>(texts), {"/scene/pulled_in/path"}, ratio,
           LongName{"exact text of each file"});
}

void put_budget_terms(Hdf5File& file) {
  const std::vector<std::string> terms(term_names.begin(), term_names.end());
  file.put_scale("/budget/term", std::span<const std::string>(terms), ratio,
                 LongName{"terms of the budget, in the order in which light meets them"});
  std::vector<std::string> meanings;
  for (const TermWords& term : budget_terms) meanings.emplace_back(term.meaning);
  file.put("/budget/meaning", std::span<const std::string>(meanings), {"/budget/term"}, ratio,
           LongName{"meaning of each term"});
}

}  // namespace catoptra
