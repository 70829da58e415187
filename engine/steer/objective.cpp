#include "steer/objective.h"

#include <algorithm>
#include <cmath>

namespace catoptra {

Estimate estimate_of(Objective objective, const TraceResult& result) {
  Estimate out{0, 0};
  double area_m2 = 0;
  switch (objective) {
    case Objective::absorbed:
      out = result.optical_efficiency;
      break;
    case Objective::intercept:
      out = result.intercept_factor;
      break;
    case Objective::peak:
      for (const auto& receiver : result.receivers)
        if (receiver.peak_concentration.value > out.value) out = receiver.peak_concentration;
      break;
    case Objective::mean_concentration:
      for (const auto& receiver : result.receivers) {
        out.value += receiver.mean_concentration.value * receiver.area_m2;
        out.standard_error += receiver.mean_concentration.standard_error * receiver.area_m2;
        area_m2 += receiver.area_m2;
      }
      out = {out.value / area_m2, out.standard_error / area_m2};
      break;
    case Objective::absorbed_power:
      out = result.budget[static_cast<std::size_t>(Term::absorbed)];
      break;
  }
  return std::isfinite(out.value) ? out : Estimate{0, 0};
}

double value_of(Objective objective, const TraceResult& result) {
  return estimate_of(objective, result).value;
}

std::vector<double> values_by_replicate(Objective objective, const TraceResult& result) {
  std::vector<double> out;
  for (const auto& terms : result.budget_by_replicate) {
    const auto of = [&](Term term) { return terms[static_cast<std::size_t>(term)]; };
    const double absorbed_W = of(Term::absorbed), arriving_W = absorbed_W + of(Term::receiver_reflection);
    switch (objective) {
      case Objective::absorbed:
        out.push_back(absorbed_W / (result.dni_W_m2 * result.aperture_area_m2));
        break;
      case Objective::intercept: {
        const double leaving_W = arriving_W + of(Term::spillage);
        out.push_back(leaving_W > 0 ? arriving_W / leaving_W : 0);
        break;
      }
      case Objective::absorbed_power:
        out.push_back(absorbed_W);
        break;
      case Objective::peak:
      case Objective::mean_concentration:
        return {};
    }
  }
  return out;
}

}  // namespace catoptra
