#pragma once
// A schedule as text: for a terminal, for spreadsheets, and as a table that a scene's `table` mount reads.
#include <string>

#include "scene/model.h"
#include "steer/schedule.h"

namespace catoptra {

/// A line a sun, of at most 80 columns, and what the day comes to.
std::string schedule_text(const Scene& scene, const Schedule& schedule);

/// RFC 4180 with a line of names: every number of the HDF5 file, a line a sun. Times, places and rates of each moving
/// component under its name. What is not a number is an empty cell.
std::string schedule_csv(const Scene& scene, const Schedule& schedule);

/// The poses of the only moving component, as the `table` mount reads them. Throws std::invalid_argument where there
/// is not exactly one.
std::string pose_table_csv(const Schedule& schedule);

}  // namespace catoptra
