#pragma once
// Results in which no two numbers are alike, so that one that comes out at another's place is seen.
#include <string>

#include "scene/model.h"
#include "steer/design.h"
#include "steer/realisations.h"
#include "steer/tolerance.h"

namespace catoptra::test {

/// Each call's numbers are larger than all before.
class MadeUp {
 public:
  double number() { return 1 + 0.0137 * ++count_; }
  Estimate estimate() {
    const double value = number();
    return {value, number()};
  }
  Vec vec() {
    const double x = number(), y = number();
    return {x, y, number()};
  }
  std::vector<double> numbers(std::size_t n) {
    std::vector<double> out;
    for (std::size_t i = 0; i < n; ++i) out.push_back(number());
    return out;
  }

  ReceiverResult receiver(const std::string& name, bool is_tube) {
    ReceiverResult out;
    out.name = name;
    out.area_m2 = number();
    out.intercept_factor = estimate();
    out.arriving_power_W = estimate();
    out.absorbed_power_W = estimate();
    out.direct_power_W = estimate();
    out.peak_concentration = estimate();
    out.mean_concentration = estimate();
    out.peak_at = {number(), number()};
    const auto axis = [&](const char* axis_name, const char* unit, std::size_t bins) {
      return FluxAxis{axis_name, unit, std::string("place along ") + axis_name, numbers(bins + 1)};
    };
    out.flux.first = is_tube ? axis("azimuth_rad", "rad", 2) : axis("x_m", "m", 2);
    out.flux.second = is_tube ? axis("height_m", "m", 3) : axis("y_m", "m", 3);
    out.flux.flux_W_m2 = numbers(6);
    out.flux.standard_error_W_m2 = numbers(6);
    out.flux.area_m2 = numbers(6);
    out.enclosed = {"the middle", numbers(2), numbers(2), numbers(2)};
    return out;
  }

  TraceResult trace() {
    TraceResult out;
    out.seed = 4001 + static_cast<std::uint64_t>(++count_);
    out.samples = 5001 + static_cast<std::uint64_t>(++count_);
    out.replicates = 2;
    out.wall_time_s = number();
    out.dni_W_m2 = number();
    out.aperture_area_m2 = number();
    out.incident_power_W = number();
    out.to_sun = unit(vec());
    for (Estimate& term : out.budget) term = estimate();
    out.budget_by_replicate.resize(2);
    for (auto& replicate : out.budget_by_replicate)
      for (double& term : replicate) term = number();
    for (const char* name : {"dish", "plate", "tube"}) {
      out.by_component.push_back({name, {}});
      for (Estimate& term : out.by_component.back().terms) term = estimate();
    }
    out.closure = estimate();
    out.optical_efficiency = estimate();
    out.intercept_factor = estimate();
    out.receivers = {receiver("plate", false), receiver("tube", true)};
    out.paths = {{{vec(), vec(), vec()}, number(), Fate::spillage}, {{vec(), vec()}, number(), Fate::cover_loss}};
    out.search = "direct";
    return out;
  }

  DrawnErrors drawn() { return {vec(), vec(), number(), number()}; }

 private:
  int count_ = 0;
};

/// Both receivers with a heat balance, of different temperatures.
inline Scene made_up_scene() {
  Scene scene;
  scene.path = "made-up.toml";
  scene.text = "schema = 1\n";
  scene.sun.dni_W_m2 = 777;
  for (const auto& [name, temperature_K] : {std::pair{"plate", 400.0}, {"tube", 500.0}}) {
    Component receiver;
    receiver.name = name;
    receiver.role = Role::receiver;
    receiver.heat = HeatLoss{0.3, temperature_K, 290, 7};
    scene.components.push_back(receiver);
  }
  return scene;
}

/// Three suns at uneven steps; a mirror that is steered and one that follows a law.
inline Schedule made_up_schedule(MadeUp& made) {
  Schedule out;
  out.components = {"pilot", "follower"};
  out.by_law = 1;
  out.search_samples = 6001, out.search_seed = 6002, out.samples = 6003, out.seed = 6004;
  out.travel_cost_per_m = made.number();
  out.asked = 3;
  out.wall_time_s = made.number();
  for (const double minute : {0, 10, 35}) {
    ScheduleRow row;
    row.sun = {unit(made.vec()), 1782041400 + 60 * minute, 60};
    for (int k = 0; k < 2; ++k)
      row.poses.push_back({made.vec(), made.vec(), made.vec(), made.number(), made.vec(), made.number()});
    row.result = made.trace();
    // These are the scene's, the same for every sun.
    if (!out.rows.empty()) {
      const TraceResult& first = out.rows.front().result;
      row.result.aperture_area_m2 = first.aperture_area_m2;
      for (std::size_t r = 0; r < 2; ++r) row.result.receivers[r].area_m2 = first.receivers[r].area_m2;
    }
    row.branched = minute == 10;
    out.rows.push_back(std::move(row));
  }
  return out;
}

/// A curve of every kind for one component, and one for the other.
inline std::vector<ToleranceCurve> made_up_tolerance(MadeUp& made) {
  std::vector<ToleranceCurve> out;
  const auto add = [&](const char* component, const char* axis, ErrorKind kind) {
    ToleranceCurve curve{component, axis, kind, {}, {}};
    for (int i = 0; i < 3; ++i) curve.points.push_back({made.number(), made.estimate(), made.estimate()});
    for (auto& loss : curve.error_at_loss) loss = made.estimate();
    out.push_back(std::move(curve));
  };
  for (const char* axis : {"x", "y", "z"}) add("pilot", axis, ErrorKind::pointing);
  for (const char* axis : {"east", "north", "up"}) add("pilot", axis, ErrorKind::position);
  for (const ErrorKind kind : {ErrorKind::slope, ErrorKind::focus, ErrorKind::curvature}) add("pilot", "both", kind);
  add("follower", "y", ErrorKind::pointing);
  return out;
}

inline Realisations made_up_realisations(MadeUp& made) {
  Realisations out;
  out.components = {"pilot", "follower"};
  out.rms = {made.number(), made.number(), made.number(), made.number()};
  out.asked = 17;
  for (int b = 0; b < 3; ++b) out.builds.push_back({{made.drawn(), made.drawn()}, made.estimate(), made.estimate()});
  return out;
}

inline Design made_up_design(MadeUp& made) {
  Design out;
  for (const char* path : {"receiver.plate.mount.position_m.z", "secondary.pilot.shape.conic_constant"})
    out.parameters.push_back({path, made.number(), made.number(), 1e-6, made.number(), false});
  for (int v = 0; v < 3; ++v) out.variants.push_back({made.numbers(2), made.number()});
  out.best = 1;
  out.searched_suns = 12;
  out.original = made.estimate();
  out.found = made.estimate();
  out.gain = made.estimate();
  out.original_kept = true;
  return out;
}

}  // namespace catoptra::test
