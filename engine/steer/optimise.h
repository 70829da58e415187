#pragma once
// Maximising over the box -1 … 1 by NLopt's methods that need no derivatives. The only pair of files that sees NLopt.
#include <cstdint>
#include <functional>
#include <span>
#include <vector>

namespace catoptra {

using Merit = std::function<double(std::span<const double>)>;

struct Optimum {
  std::vector<double> at;
  double value = 0;
};

/// Climbs from `start`, first by steps of `step`, until they are smaller than `tolerance` or `most` points were tried.
/// Never returns less than the start; returns the start itself unless something is better. What `merit` throws comes
/// through. The same call gives the same answer.
Optimum climb(const Merit& merit, const Optimum& start, double step, double tolerance, int most);

/// The same by a quadratic model of the merit, which takes far fewer points where the merit is smooth (one coordinate:
/// as climb()).
Optimum climb_by_model(const Merit& merit, const Optimum& start, double step, double tolerance, int most);

/// Divides the box ever more finely where it promises most, `most` points in all, and returns the best `count` of them
/// that differ by more than `apart` in some coordinate, best first.
std::vector<Optimum> survey(const Merit& merit, std::size_t size, int most, std::size_t count, double apart);

/// The best `count` of `most` points that lie evenly over a box a quarter wider, brought back to the limits, so that
/// faces and corners, where poses of low suns stand, have points of their own; apart and ordered as survey()'s. Another
/// `draw` places them elsewhere.
std::vector<Optimum> scatter(const Merit& merit, std::size_t size, int most, std::size_t count, double apart,
                             std::uint64_t draw = 0);

}  // namespace catoptra
