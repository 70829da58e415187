#pragma once
// What every result file holds: where it comes from and the scene that it rests on.
#include <string>
#include <vector>

#include "files/hdf5_file.h"
#include "files/provenance.h"
#include "numeric/statistics.h"
#include "scene/model.h"
#include "trace/result.h"

namespace catoptra {

namespace hdf5_units {
inline constexpr Units ratio{"1"}, watt{"W"}, watt_per_m2{"W m-2"}, metre{"m"}, square_metre{"m2"}, degree{"degree"},
    kelvin{"K"};
}

/// Root attributes: conventions, schema version, title, generator, compiler, instruction set, search, time, command,
/// settings.
void put_provenance(Hdf5File& file, const Scene& scene, const std::string& search, const Provenance& from);

/// A number at `group` + `name` + `suffix`, its unit, and its standard error at error_key() beside it, which the number
/// names in its attribute ancillary_variables.
void put_estimate(Hdf5File& file, const std::string& group, std::string_view name, std::string_view suffix,
                  const Estimate& estimate, Units units, std::string_view long_name);
/// The same for arrays.
void put_with_errors(Hdf5File& file, const std::string& group, std::string_view name, std::string_view suffix,
                     std::span<const double> values, std::span<const double> errors, const Scales& scales, Units units,
                     std::string_view long_name);
void put_with_errors(Hdf5File& file, const std::string& group, std::string_view name, std::string_view suffix,
                     std::span<const Estimate> estimates, const Scales& scales, Units units,
                     std::string_view long_name);

/// The scene's exact text and that of every file that it pulled in.
void put_scene(Hdf5File& file, const Scene& scene);

/// The budget's terms as a dimension scale, /budget/term, and what they mean.
void put_budget_terms(Hdf5File& file);

}  // namespace catoptra
