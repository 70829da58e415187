#include "steer/objective.h"

#include <algorithm>
#include <cmath>

namespace catoptra {

double value_of(Objective objective, const TraceResult& result) {
  double value = 0, area_m2 = 0;
  switch (objective) {
    case Objective::absorbed:
      value = result.optical_efficiency.value;
      break;
    case Objective::intercept:
      value = result.intercept_factor.value;
      break;
    case Objective::peak:
      for (const auto& receiver : result.receivers) value = std::fmax(value, receiver.peak_concentration.value);
      break;
    case Objective::mean_concentration:
      for (const auto& receiver : result.receivers) {
        value += receiver.mean_concentration.value * receiver.area_m2;
        area_m2 += receiver.area_m2;
      }
      value /= area_m2;
      break;
  }
  return std::isfinite(value) ? value : 0;
}

}  // namespace catoptra
