#pragma once
// How much light errors of a moving component cost, one after the other: pointing, position, slope, focus.
#include <array>
#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "numeric/statistics.h"
#include "steer/schedule.h"
#include "steer/spoil.h"

namespace catoptra {

/// One point of a curve; all suns of the schedule together.
struct TolerancePoint {
  double error = 0;           // rad, m, share of the focal length or 1/m; signed but for slopes
  Estimate intercept_factor;  // power on the receivers / power that leaves the last mirror unblocked
  Estimate absorbed_share;    // absorbed power / that without the error, by the same samples
};

struct ToleranceCurve {
  std::string component, axis;  // "x", "y", "z" of pointing; "east", "north", "up" of position; else "both"
  ErrorKind kind = ErrorKind::pointing;
  std::vector<TolerancePoint> points;  // errors rising
  /// The smallest error, of either sign, at which the shares of `lost_shares` are lost; none where the curve ends
  /// first.
  std::array<std::optional<Estimate>, 3> error_at_loss;
};

inline constexpr std::array<double, 3> lost_shares{0.01, 0.05, 0.10};

struct ToleranceOptions {
  std::uint64_t samples = 1 << 16;  // of each trace
  std::uint64_t seed = 1;
  int replicates = 32;
  Workers* workers = nullptr;  // null: made for the call, all that the machine has
  int points = 10;             // on either side of 0
  const Stop* stop = nullptr;
  SearchMemory* memory = nullptr;
  std::function<void(std::size_t, std::size_t)> progress;  // curves done, of how many
};

/// The errors are those of steer/spoil.h that each moving component can have. Every error is traced with the same
/// samples as none, replicate by replicate, so that shares are far better known than powers. Throws Stopped when told
/// to stop.
std::vector<ToleranceCurve> tolerance_curves(const Scene& scene, const Schedule& schedule,
                                             const ToleranceOptions& options);

}  // namespace catoptra
