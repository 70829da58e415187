#pragma once
// What a design brings as it may come out of the workshop: errors drawn once for each of many builds.
#include <cstdint>
#include <functional>
#include <vector>

#include "numeric/statistics.h"
#include "steer/spoilt_tracer.h"

namespace catoptra {

/// rms of the errors that a build has, Gaussian, each drawn by itself for every moving component and axis.
struct BuildErrors {
  double pointing_rad = 0;     // about its x, y, z
  double position_m = 0;       // along the scene's x, y, z
  double focus = 0;            // share of the focal length
  double curvature_per_m = 0;  // of flat mirrors
};

/// One moving component of one build.
struct DrawnErrors {
  Vec pointing_rad{0, 0, 0}, position_m{0, 0, 0};
  double focus = 0, curvature_per_m = 0;
};

struct Realisation {
  std::vector<DrawnErrors> drawn;  // by moving component
  Estimate intercept_factor;       // power on the receivers / power that leaves the last mirror unblocked, all suns
  Estimate absorbed_share;         // absorbed power / that without the errors, all suns, by the same samples
};

struct Realisations {
  std::vector<std::string> components;
  BuildErrors rms;
  std::vector<Realisation> builds;
  std::size_t asked = 0;
  bool interrupted() const { return builds.size() < asked; }
};

/// Errors of build `build`: a function of these three alone.
DrawnErrors drawn_errors(const BuildErrors& rms, std::uint64_t seed, std::size_t build, std::size_t component);

struct RealisationOptions {
  std::size_t builds = 100;
  BuildErrors rms;
  std::uint64_t samples = 1 << 16;  // of each trace
  std::uint64_t seed = 1;           // of the draws and the traces
  int replicates = 32;
  Workers* workers = nullptr;  // null: made for the call, all that the machine has
  const Stop* stop = nullptr;
  SearchMemory* memory = nullptr;
  std::function<void(std::size_t)> progress;  // builds done; from any thread, one at a time
};

/// Each build's geometry is made anew and traced for every sun of the schedule. The poses stay as they are: they are
/// not re-optimised for each build. A focal length drawn below what the mirror's rim can have takes the least that it
/// can. Any number of workers gives the same bits. When told to stop, the first builds, as far as all of them are done,
/// are returned.
Realisations trace_realisations(const Scene& scene, const Schedule& schedule, const RealisationOptions& options);

/// The mean absorbed share over builds: what errors of this size cost on average.
Estimate mean_share(const Realisations& realisations);

/// The absorbed share below which this share of the builds stays, linear between order statistics, and its standard
/// error from those sqrt(n p (1 - p)) places either way (H. A. David and H. N. Nagaraja, Order Statistics, 3rd ed.
/// 2003, section 7.1; from memory). NaN for no builds.
Estimate share_percentile(const Realisations& realisations, double below);

}  // namespace catoptra
