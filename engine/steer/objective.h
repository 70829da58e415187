#pragma once
// What a pose is judged by.
#include <array>
#include <string_view>
#include <vector>

#include "trace/result.h"

namespace catoptra {

/// `absorbed`: absorbed power / (DNI x aperture area). `intercept`: the intercept factor; it does not ask how much
/// light the moving mirror catches. `peak`: the largest concentration on any receiver. `mean_concentration`: of all
/// receivers' fronts together. `absorbed_power`: in W, for scenes whose aperture is free too.
enum class Objective { absorbed, intercept, peak, mean_concentration, absorbed_power };

inline constexpr std::array<std::string_view, 5> objective_words{"absorbed", "intercept", "peak", "mean_concentration",
                                                                 "absorbed_power"};

/// The number that is maximised; 0 where it is not defined, as the intercept factor of no light. The standard error of
/// several receivers' mean concentration is at most what is said.
Estimate estimate_of(Objective objective, const TraceResult& result);
double value_of(Objective objective, const TraceResult& result);

/// The same of each replicate, so that two traces with the same seed can be compared pair by pair; empty where it is
/// not known, as of peaks.
std::vector<double> values_by_replicate(Objective objective, const TraceResult& result);

}  // namespace catoptra
