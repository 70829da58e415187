#pragma once
// The part of a schedule's file that holds many builds of its design.
#include "files/hdf5_file.h"
#include "steer/realisations.h"

namespace catoptra {

/// As /realisations; needs the scale /direction.
void put_realisations(Hdf5File& file, const Realisations& realisations);

}  // namespace catoptra
