#pragma once
// Means over replicates, with the standard error of the mean.
#include <span>

namespace catoptra {

struct Estimate {
  double value = 0;
  double standard_error = 0;
};

/// `factor` times as much, error and all.
Estimate times(const Estimate& estimate, double factor);

/// Mean and its standard error, s / sqrt(R), from R independent replicates (R >= 2, else the error is 0).
Estimate mean_of(std::span<const double> replicates);

/// Ratio of two means taken over the same replicates; the error by linearisation, sd(a_r - (A/B) b_r) / (B sqrt(R))
/// (W. G. Cochran, Sampling Techniques, 3rd ed. 1977, section 6.3). NaN where the denominator is 0.
Estimate ratio_of(std::span<const double> numerators, std::span<const double> denominators);

/// The factor of a two-sided interval: Student's t for `replicates` - 1 degrees of freedom.
double student_t_factor(double confidence, int replicates);

}  // namespace catoptra
