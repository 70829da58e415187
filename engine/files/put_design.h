#pragma once
// A shape search's history in the schedule's file.
#include "files/hdf5_file.h"
#include "steer/design.h"

namespace catoptra {

/// The group /design of docs/result-schema.md.
void put_design(Hdf5File& file, const Design& design);

}  // namespace catoptra
