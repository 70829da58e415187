#include "numeric/statistics.h"

#include <algorithm>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>
#include <limits>

#include "numeric/expects.h"

namespace catoptra {

Estimate times(const Estimate& estimate, double factor) {
  return {estimate.value * factor, estimate.standard_error * std::fabs(factor)};
}

Estimate mean_of(std::span<const double> replicates) {
  const auto n = static_cast<double>(replicates.size());
  if (replicates.empty()) return {std::numeric_limits<double>::quiet_NaN(), 0};
  // Of equal numbers: a sum's rounding is no error.
  if (std::ranges::all_of(replicates, [&](double x) { return x == replicates.front(); }))
    return {replicates.front(), 0};
  double sum = 0;
  for (const double x : replicates) sum += x;
  const double mean = sum / n;
  if (replicates.size() < 2) return {mean, 0};
  double squares = 0;  // about the mean: the textbook's difference of large sums loses all digits here
  for (const double x : replicates) squares += (x - mean) * (x - mean);
  return {mean, std::sqrt(squares / (n * (n - 1)))};
}

Estimate ratio_of(std::span<const double> numerators, std::span<const double> denominators) {
  CATOPTRA_EXPECTS(numerators.size() == denominators.size());
  const double below = mean_of(denominators).value;
  if (!(below != 0)) return {std::numeric_limits<double>::quiet_NaN(), std::numeric_limits<double>::quiet_NaN()};
  const double ratio = mean_of(numerators).value / below;
  const auto n = static_cast<double>(numerators.size());
  if (numerators.size() < 2) return {ratio, 0};
  double squares = 0;
  for (std::size_t i = 0; i < numerators.size(); ++i) {
    const double residual = numerators[i] - ratio * denominators[i];
    squares += residual * residual;
  }
  return {ratio, std::sqrt(squares / (n * (n - 1))) / std::fabs(below)};
}

double student_t_factor(double confidence, int replicates) {
  const boost::math::students_t law(replicates - 1);
  return boost::math::quantile(law, 0.5 + confidence / 2);
}

}  // namespace catoptra
