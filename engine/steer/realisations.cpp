#include "steer/realisations.h"

#include <algorithm>
#include <boost/math/special_functions/erf.hpp>
#include <cmath>
#include <fmt/format.h>
#include <limits>
#include <mutex>
#include <optional>

#include "geometry/scaled.h"
#include "numeric/sobol.h"

namespace catoptra {
namespace {

constexpr std::uint64_t draws_key = 0x6275696c64730001;  // keeps these numbers apart from the traces'

double gaussian(double uniform) {
  return std::sqrt(2.0) * boost::math::erf_inv(2 * uniform - 1);
}

void spoil(Scene& scene, std::size_t component, const DrawnErrors& drawn) {
  // Rotations by small angles hardly depend on their order; this one is x, y, z.
  const double pointing_rad[] = {drawn.pointing_rad.x, drawn.pointing_rad.y, drawn.pointing_rad.z};
  const double position_m[] = {drawn.position_m.x, drawn.position_m.y, drawn.position_m.z};
  for (int axis = 0; axis < 3; ++axis) {
    point_wrongly(scene, component, axis, pointing_rad[axis]);
    move_wrongly(scene, component, axis, position_m[axis]);
  }
  const Component& spoilt = scene.components[component];
  for (const ErrorKind kind : possible_errors(scene, spoilt)) {
    const double least = least_scale(spoilt.surface, spoilt.outline) - 1;
    if (kind == ErrorKind::focus) refocus(scene, component, std::fmax(drawn.focus, 0.999 * least));
    if (kind == ErrorKind::curvature) bend(scene, component, drawn.curvature_per_m);
  }
}

}  // namespace

DrawnErrors drawn_errors(const BuildErrors& rms, std::uint64_t seed, std::size_t build, std::size_t component) {
  std::array<double, 8> z{};
  for (std::size_t i = 0; i < z.size(); i += 2) {
    const auto pair = philox_pair(seed ^ draws_key, build, static_cast<std::uint32_t>(8 * component + i));
    z[i] = gaussian(pair[0]);
    z[i + 1] = gaussian(pair[1]);
  }
  return {rms.pointing_rad * Vec{z[0], z[1], z[2]}, rms.position_m * Vec{z[3], z[4], z[5]}, rms.focus * z[6],
          rms.curvature_per_m * z[7]};
}

Realisations trace_realisations(const Scene& scene, const Schedule& schedule, const RealisationOptions& options) {
  Realisations out;
  out.components = schedule.components;
  out.rms = options.rms;
  out.asked = options.builds;
  const GivenOrAll workers(options.workers);
  const std::vector<std::size_t> moving = moving_components(scene);
  std::vector<std::optional<Realisation>> builds(options.builds);
  try {
    const SpoiltTracer traced(scene, schedule,
                              {options.samples, options.seed, options.replicates, options.stop, options.memory});
    SpoiltPowers sound;
    workers->inside([&] { sound = traced("none", [](Scene&) {}); });
    std::size_t done = 0;
    std::mutex lock;
    std::vector<std::function<void()>> tasks;
    for (std::size_t b = 0; b < builds.size(); ++b) {
      tasks.push_back([&, b] {
        Realisation build;
        for (std::size_t k = 0; k < moving.size(); ++k)
          build.drawn.push_back(drawn_errors(options.rms, options.seed, b, k));
        const SpoiltPowers powers = traced(fmt::format("build {}", b), [&](Scene& spoilt) {
          for (std::size_t k = 0; k < moving.size(); ++k) spoil(spoilt, moving[k], build.drawn[k]);
        });
        build.intercept_factor = ratio_of(powers.arriving, powers.leaving);
        build.absorbed_share = ratio_of(powers.absorbed, sound.absorbed);
        const std::scoped_lock guard(lock);
        builds[b] = std::move(build);
        ++done;
        if (options.progress) options.progress(done);
      });
    }
    workers->inside([&] { run_all(*workers, tasks); });
  } catch (const Stopped&) {
    // What is done stays.
  }
  for (auto& build : builds) {
    if (!build) break;
    out.builds.push_back(std::move(*build));
  }
  return out;
}

Estimate mean_share(const Realisations& realisations) {
  std::vector<double> shares;
  for (const Realisation& build : realisations.builds) shares.push_back(build.absorbed_share.value);
  return mean_of(shares);
}

Estimate share_percentile(const Realisations& realisations, double below) {
  std::vector<double> shares;
  for (const Realisation& build : realisations.builds) shares.push_back(build.absorbed_share.value);
  const double nan = std::numeric_limits<double>::quiet_NaN();
  if (shares.empty()) return {nan, nan};
  std::ranges::sort(shares);
  const auto n = static_cast<double>(shares.size());
  // Order statistic k (from 1) of n estimates the quantile k / (n + 1).
  const auto at = [&](double place) {
    const double within = std::clamp(place - 1, 0.0, n - 1), whole = std::floor(within);
    const auto i = static_cast<std::size_t>(whole);
    const std::size_t next = std::min(i + 1, shares.size() - 1);
    return shares[i] + (within - whole) * (shares[next] - shares[i]);
  };
  const double place = below * (n + 1), spread = std::sqrt(n * below * (1 - below));
  return {at(place), (at(place + spread) - at(place - spread)) / 2};
}

}  // namespace catoptra
