#include "steer/tolerance.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <iterator>
#include <mutex>
#include <stdexcept>
#include <utility>

#include "geometry/bounds.h"
#include "geometry/scaled.h"
#include "steer/spoilt_tracer.h"

namespace catoptra {
namespace {

double size_m(const Component& component) {
  const Box own = bounds_of(component.surface, component.outline);
  return length(own.high - own.low);
}

/// Where the share falls to `wanted`, going outward from no error along one sign; losses grow with the square of an
/// error, so the share is taken to be linear in that.
std::optional<Estimate> crossing(const std::vector<TolerancePoint>& outward, double wanted) {
  for (std::size_t i = 1; i < outward.size(); ++i) {
    const TolerancePoint &a = outward[i - 1], &b = outward[i];
    if (b.absorbed_share.value > wanted) continue;
    const double a2 = a.error * a.error, b2 = b.error * b.error;
    const double slope = (b.absorbed_share.value - a.absorbed_share.value) / (b2 - a2);
    const double at = std::sqrt(a2 + (wanted - a.absorbed_share.value) / slope);
    return Estimate{at, b.absorbed_share.standard_error / std::fabs(slope) / (2 * at)};
  }
  return std::nullopt;
}

void find_losses(ToleranceCurve& curve) {
  const auto zero = std::ranges::find(curve.points, 0.0, &TolerancePoint::error);
  const std::vector<TolerancePoint> up(zero, curve.points.end());
  const std::vector<TolerancePoint> down(std::make_reverse_iterator(zero + 1), curve.points.rend());
  for (std::size_t k = 0; k < lost_shares.size(); ++k) {
    for (const auto* side : {&up, &down}) {
      const auto at = crossing(*side, 1 - lost_shares[k]);
      auto& smallest = curve.error_at_loss[k];
      if (at && (!smallest || at->value < smallest->value)) smallest = at;
    }
  }
}

/// The curves without their points: which errors there are.
std::vector<ToleranceCurve> blank_curves(const Scene& scene, const Schedule& schedule) {
  std::vector<ToleranceCurve> out;
  for (const auto& name : schedule.components) {
    const auto& component = *std::ranges::find(scene.components, name, &Component::name);
    for (const ErrorKind kind : possible_errors(scene, component)) {
      if (kind == ErrorKind::pointing)
        for (const auto* axis : {"x", "y", "z"}) out.push_back({name, axis, kind, {}, {}});
      else if (kind == ErrorKind::position)
        for (const auto* axis : {"east", "north", "up"}) out.push_back({name, axis, kind, {}, {}});
      else
        out.push_back({name, "both", kind, {}, {}});
    }
  }
  return out;
}

/// One curve: how far it reaches, then its points.
class CurveTracer {
 public:
  CurveTracer(const Scene& scene, const SpoiltTracer& traced, const SpoiltPowers& sound, const ToleranceCurve& curve)
      : traced_(traced), sound_(sound), kind_(curve.kind) {
    const auto found = std::ranges::find(scene.components, curve.component, &Component::name);
    component_ = static_cast<std::size_t>(found - scene.components.begin());
    const auto is = [&](const char* one, const char* other) { return curve.axis == one || curve.axis == other; };
    axis_ = is("x", "east") ? 0 : is("y", "north") ? 1 : 2;
    const double size = size_m(*found);
    switch (kind_) {
      case ErrorKind::pointing:
        first_ = 1e-3, last_ = 0.512;
        break;
      case ErrorKind::position:
        first_ = size / 1024, last_ = size / 2;
        break;
      case ErrorKind::slope:
        first_ = 1e-3, last_ = 0.064;
        break;
      case ErrorKind::focus:  // a sphere must still reach its rim
        last_ = std::fmin(0.256, 0.999 * (1 - least_scale(found->surface, found->outline)));
        first_ = last_ / 256;
        break;
      case ErrorKind::curvature:  // slopes at the rim up to some 0.1
        first_ = 1e-3 / size, last_ = 0.256 / size;
        break;
    }
  }

  std::vector<TolerancePoint> operator()(int points) const {
    const double reach = find_reach();
    std::vector<TolerancePoint> out;
    for (int i = kind_ == ErrorKind::slope ? 0 : -points; i <= points; ++i) {
      // Closer together near 0, where the first percent is lost.
      const double share = static_cast<double>(i) / points;
      out.push_back(at(reach * share * std::fabs(share)));
    }
    return out;
  }

 private:
  TolerancePoint at(double error) const {
    const std::string name = fmt::format("{} {} {} {}", static_cast<int>(kind_), component_, axis_, error);
    const SpoiltPowers powers = traced_(name, [&](Scene& spoilt) {
      switch (kind_) {
        case ErrorKind::pointing:
          return point_wrongly(spoilt, component_, axis_, error);
        case ErrorKind::position:
          return move_wrongly(spoilt, component_, axis_, error);
        case ErrorKind::slope:
          return roughen(spoilt, component_, error);
        case ErrorKind::focus:
          return refocus(spoilt, component_, error);
        case ErrorKind::curvature:
          return bend(spoilt, component_, error);
      }
    });
    return {error, ratio_of(powers.arriving, powers.leaving), ratio_of(powers.absorbed, sound_.absorbed)};
  }

  /// Doubled until enough is lost on one side: the points then lie no more than half as close as they could.
  double find_reach() const {
    const double left = 1 - 1.1 * lost_shares.back();
    for (double error = first_; error < last_; error *= 2) {
      if (at(error).absorbed_share.value < left) return error;
      if (kind_ != ErrorKind::slope && at(-error).absorbed_share.value < left) return error;
    }
    return last_;
  }

  const SpoiltTracer& traced_;
  const SpoiltPowers& sound_;
  ErrorKind kind_;
  std::size_t component_ = 0;
  int axis_ = 0;
  double first_ = 0, last_ = 0;  // in the error's SI unit
};

}  // namespace

std::vector<ToleranceCurve> tolerance_curves(const Scene& scene, const Schedule& schedule,
                                             const ToleranceOptions& options) {
  if (options.replicates < 2 || options.points < 1)
    throw std::invalid_argument("tolerance: too few replicates or points");
  const GivenOrAll workers(options.workers);
  const SpoiltTracer traced(scene, schedule,
                            {options.samples, options.seed, options.replicates, options.stop, options.memory});
  SpoiltPowers sound;
  workers->inside([&] { sound = traced("none", [](Scene&) {}); });
  std::vector<ToleranceCurve> curves = blank_curves(scene, schedule);
  std::size_t done = 0;
  std::mutex lock;
  std::vector<std::function<void()>> tasks;
  for (ToleranceCurve& curve : curves) {
    tasks.push_back([&] {
      curve.points = CurveTracer(scene, traced, sound, curve)(options.points);
      find_losses(curve);
      const std::scoped_lock guard(lock);
      ++done;
      if (options.progress) options.progress(done, curves.size());
    });
  }
  workers->inside([&] { run_all(*workers, tasks); });
  return curves;
}

}  // namespace catoptra
