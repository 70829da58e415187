#include "steer/tolerance.h"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <mutex>
#include <stdexcept>
#include <tuple>
#include <utility>

#include "steer/tasks.h"

namespace catoptra {
namespace {

/// Sums over the suns, a replicate each.
struct Powers {
  std::vector<double> absorbed, arriving, leaving;
};

double term_W(const std::array<double, term_count>& terms, Term term) {
  return terms[static_cast<std::size_t>(term)];
}

/// `frame` turned about its own x, y or z (0, 1, 2), right-handed.
Frame turned(const Frame& frame, int axis, double angle_rad) {
  const double s = std::sin(angle_rad), c = std::cos(angle_rad);
  const auto pair = [&](const Vec& a, const Vec& b) { return std::pair{c * a + s * b, c * b - s * a}; };
  Frame out = frame;
  if (axis == 0) std::tie(out.ey, out.ez) = pair(frame.ey, frame.ez);
  if (axis == 1) std::tie(out.ez, out.ex) = pair(frame.ez, frame.ex);
  if (axis == 2) std::tie(out.ex, out.ey) = pair(frame.ex, frame.ey);
  return out;
}

void point_wrongly(SteeredMount& mount, int axis, double error_rad) {
  const Frame frame = turned(facing({0, 0, 0}, mount.axis, mount.roll_rad), axis, error_rad);
  mount.axis = unit(frame.ez);
  const Frame level = facing({0, 0, 0}, mount.axis);
  mount.roll_rad = std::atan2(dot(frame.ex, level.ey), dot(frame.ex, level.ex));
}

void move_wrongly(SteeredMount& mount, int axis, double error_m) {
  double* const along[] = {&mount.offset_m.x, &mount.offset_m.y, &mount.offset_m.z};
  *along[axis] += error_m;
}

/// The component's own slope error and this one, which is independent of it.
void roughen(Scene& scene, std::size_t component, double error_rad) {
  Component& rough = scene.components[component];
  NamedFinish finish = scene.finishes[static_cast<std::size_t>(rough.front_finish)];
  auto& mirror = std::get<Mirror>(finish.finish);
  mirror.slope_error_rad = {std::hypot(mirror.slope_error_rad.x, error_rad),
                            std::hypot(mirror.slope_error_rad.y, error_rad)};
  rough.front_finish = static_cast<int>(scene.finishes.size());
  scene.finishes.push_back(std::move(finish));
}

bool is_mirror(const Scene& scene, const Component& component) {
  return component.front_finish >= 0 &&
         std::holds_alternative<Mirror>(scene.finishes[static_cast<std::size_t>(component.front_finish)].finish);
}

double size_m(const Component& component) {
  const Box own = std::visit([&](const auto& s) { return s.box(component.outline); }, component.surface);
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

class Tracer {
 public:
  Tracer(const Scene& scene, const Schedule& schedule, const ToleranceOptions& options)
      : options_(options), sampler_(scene.sun.shape) {
    for (std::size_t row = 0; row < schedule.rows.size(); ++row) {
      scenes_.push_back(scene_at(scene, schedule, row));
      for (Component& component : scenes_.back().components) component.flux_bins = {1, 1};
    }
  }

  /// `spoil(scene)` puts the error into each sun's scene.
  template <class Spoil>
  Powers operator()(const Spoil& spoil) const {
    const auto replicates = static_cast<std::size_t>(options_.replicates);
    Powers out{std::vector<double>(replicates), std::vector<double>(replicates), std::vector<double>(replicates)};
    for (Scene scene : scenes_) {
      if (options_.keep_going && !options_.keep_going()) throw Stopped();
      spoil(scene);
      const TraceResult result = trace(scene, {.samples = options_.samples,
                                               .seed = options_.seed,
                                               .replicates = options_.replicates,
                                               .threads = 1,
                                               .paths = 0,
                                               .sampler = &sampler_});
      for (std::size_t r = 0; r < replicates; ++r) {
        const auto& terms = result.budget_by_replicate[r];
        const double arriving = term_W(terms, Term::absorbed) + term_W(terms, Term::receiver_reflection);
        out.absorbed[r] += term_W(terms, Term::absorbed);
        out.arriving[r] += arriving;
        out.leaving[r] += arriving + term_W(terms, Term::spillage);
      }
    }
    return out;
  }

 private:
  const ToleranceOptions& options_;
  SunSampler sampler_;
  std::vector<Scene> scenes_;
};

/// The curves without their points: which errors there are.
std::vector<ToleranceCurve> blank_curves(const Scene& scene, const Schedule& schedule) {
  std::vector<ToleranceCurve> out;
  for (const auto& name : schedule.components) {
    const auto& component = *std::ranges::find(scene.components, name, &Component::name);
    for (const auto* axis : {"x", "y", "z"}) out.push_back({name, axis, ErrorKind::pointing, {}, {}});
    for (const auto* axis : {"east", "north", "up"}) out.push_back({name, axis, ErrorKind::position, {}, {}});
    if (is_mirror(scene, component)) out.push_back({name, "both", ErrorKind::slope, {}, {}});
  }
  return out;
}

/// One curve: how far it reaches, then its points.
class CurveTracer {
 public:
  CurveTracer(const Scene& scene, const Tracer& traced, const Powers& sound, const ToleranceCurve& curve)
      : traced_(traced), sound_(sound), kind_(curve.kind) {
    const auto found = std::ranges::find(scene.components, curve.component, &Component::name);
    component_ = static_cast<std::size_t>(found - scene.components.begin());
    const auto is = [&](const char* one, const char* other) { return curve.axis == one || curve.axis == other; };
    axis_ = is("x", "east") ? 0 : is("y", "north") ? 1 : 2;
    first_ = kind_ == ErrorKind::position ? size_m(*found) / 1024 : 1e-3;
    last_ = kind_ == ErrorKind::position ? size_m(*found) / 2 : kind_ == ErrorKind::pointing ? 0.512 : 0.064;
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
    const Powers powers = traced_([&](Scene& spoilt) {
      if (kind_ == ErrorKind::slope) return roughen(spoilt, component_, error);
      auto& mount = std::get<SteeredMount>(spoilt.components[component_].mount);
      kind_ == ErrorKind::pointing ? point_wrongly(mount, axis_, error) : move_wrongly(mount, axis_, error);
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

  const Tracer& traced_;
  const Powers& sound_;
  ErrorKind kind_;
  std::size_t component_ = 0;
  int axis_ = 0;
  double first_ = 0, last_ = 0;  // rad or m
};

}  // namespace

std::vector<ToleranceCurve> tolerance_curves(const Scene& scene, const Schedule& schedule,
                                             const ToleranceOptions& options) {
  if (options.replicates < 2 || options.points < 1)
    throw std::invalid_argument("tolerance: too few replicates or points");
  const Tracer traced(scene, schedule, options);
  const Powers sound = traced([](Scene&) {});
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
  run_all(tasks, thread_count(options.threads));
  return curves;
}

}  // namespace catoptra
