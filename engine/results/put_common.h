#pragma once
// What every result file holds: where it comes from and the scene that it rests on.
#include <string>
#include <vector>

#include "numeric/statistics.h"
#include "results/hdf5_file.h"
#include "results/provenance.h"
#include "scene/model.h"
#include "trace/result.h"

namespace catoptra {

namespace hdf5_units {
inline constexpr Units ratio{"1"}, watt{"W"}, watt_per_m2{"W m-2"}, metre{"m"}, square_metre{"m2"}, degree{"degree"},
    kelvin{"K"};
}

/// Root attributes: conventions, schema version, title, generator, compiler, instruction set, search, time, command.
void put_provenance(Hdf5File& file, const Scene& scene, const std::string& search, const Provenance& from);

/// A number with its standard error as an attribute.
void put_estimate(Hdf5File& file, const std::string& path, const Estimate& estimate, Units units, LongName long_name);

/// Values at `path` and their standard errors at `error_path`, of the same group, which the values name.
void put_with_errors(Hdf5File& file, const std::string& path, const std::string& error_path,
                     const std::vector<Estimate>& estimates, const Scales& scales, Units units,
                     const std::string& long_name);

/// The scene's exact text and that of every file that it pulled in.
void put_scene(Hdf5File& file, const Scene& scene);

/// The budget's terms as a dimension scale, /budget/term.
void put_budget_terms(Hdf5File& file);

}  // namespace catoptra
