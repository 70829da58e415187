#pragma once
#include <optional>
#include <string>

#include "steer/schedule.h"

namespace catoptra {

/// What a day's schedule absorbs, J, and what the sun sends through the primaries' apertures in the same time. Each sun
/// stands for the time to half way between it and its neighbours, the first and the last for as long on either side.
/// The DNI is the scene's, the same all day. Errors are added up as if all suns erred together, which is never too
/// small.
struct DayEnergy {
  Estimate absorbed_J;
  double sunlight_J = 0;
};

/// None for a schedule of fewer than two suns, of several days, or that was stopped before its end.
std::optional<DayEnergy> day_energy(const Schedule& schedule);

/// Two lines in kWh; empty where there is no day to tell of.
std::string day_energy_text(const Schedule& schedule);

}  // namespace catoptra
