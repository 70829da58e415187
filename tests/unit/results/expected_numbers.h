#pragma once
// What files call the numbers of a result: names and units of docs/result-schema.md, written out a second time.
#include <cmath>
#include <string>
#include <utility>
#include <vector>

#include "numbers_in.h"
#include "study/heat.h"

namespace catoptra::test {

inline constexpr double degree = 3.14159265358979323846 / 180;

inline double azimuth(const Vec& s) {
  const double angle = std::atan2(s.x, s.y) / degree;
  return angle < 0 ? angle + 360 : angle;
}
inline double elevation(const Vec& s) {
  return std::asin(s.z) / degree;
}
inline std::vector<double> list(const Vec& v) {
  return {v.x, v.y, v.z};
}
inline std::vector<double> middles(const std::vector<double>& edges) {
  std::vector<double> out;
  for (std::size_t i = 1; i < edges.size(); ++i) out.push_back((edges[i - 1] + edges[i]) / 2);
  return out;
}

using NamedEstimates = std::vector<std::pair<std::string, Estimate>>;

/// Those that traces and schedules have of a receiver.
inline NamedEstimates estimates_of(const ReceiverResult& r) {
  return {{"intercept_factor", r.intercept_factor},     {"arriving_power_W", r.arriving_power_W},
          {"absorbed_power_W", r.absorbed_power_W},     {"direct_power_W", r.direct_power_W},
          {"peak_concentration", r.peak_concentration}, {"mean_concentration", r.mean_concentration}};
}
inline NamedEstimates estimates_of(const HeatBalance& heat) {
  return {{"heat/heat_in_W", heat.heat_in_W},
          {"heat/useful_heat_W", heat.useful_heat_W},
          {"heat/receiver_efficiency", heat.receiver_efficiency},
          {"heat/work_W", heat.work_W},
          {"heat/stagnation_temperature_K", heat.stagnation_temperature_K},
          {"heat/best_temperature_K", heat.best_temperature_K},
          {"heat/best_work_W", heat.best_work_W}};
}
inline std::string term_name(std::size_t t) {
  constexpr const char* names[] = {"cosine",     "shading",  "primary_absorption",  "blocking", "secondary_absorption",
                                   "cover_loss", "spillage", "receiver_reflection", "absorbed"};
  return names[t];
}
/// "absorbed_power_W" has its error in "absorbed_power_standard_error_W": the unit stays last.
inline std::string error_name(const std::string& name) {
  for (const std::string unit : {"_W", "_K"})
    if (name.ends_with(unit)) return name.substr(0, name.size() - 2) + "_standard_error" + unit;
  return name + "_standard_error";
}

inline void add_estimate(NamedNumbers& to, const std::string& path, const Estimate& e) {
  add(to, path, e.value);
  add(to, error_name(path), e.standard_error);
}
inline void add_json(NamedNumbers& to, const std::string& pointer, const Estimate& e) {
  to[pointer + "/value"] = e.value;
  to[pointer + "/standard_error"] = e.standard_error;
}

/// The root's numbers that every file has.
inline void add_head(NamedNumbers& to, std::uint64_t seed, std::uint64_t samples, double wall_time_s) {
  add(to, "/@schema_version", 2);
  add(to, "/@seed", static_cast<double>(seed));
  add(to, "/@samples", static_cast<double>(samples));
  add(to, "/@replicates", 2);
  add(to, "/@wall_time_s", wall_time_s);
  add(to, "/@interrupted", 0);
}

/// Sun, budget and receivers of a trace or of a schedule's row.
inline void add_json_of(NamedNumbers& out, const Scene& scene, const std::string& root, const TraceResult& result) {
  out[root + "/incident_power_W"] = result.incident_power_W;
  add_json(out, root + "/closure_W", result.closure);
  add_json(out, root + "/optical_efficiency", result.optical_efficiency);
  add_json(out, root + "/intercept_factor", result.intercept_factor);
  for (std::size_t t = 0; t < term_count; ++t)
    add_json(out, root + "/budget/" + term_name(t) + "/power_W", result.budget[t]);
  for (const ReceiverResult& r : result.receivers) {
    const std::string at = root + "/receivers/" + r.name + "/";
    for (const auto& [name, estimate] : estimates_of(r)) add_json(out, at + name, estimate);
    const HeatBalance heat = *heat_balance(scene, r);
    out[at + "heat/temperature_K"] = heat.temperature_K;
    out[at + "heat/heat_loss_W"] = heat.heat_loss_W;
    for (const auto& [name, estimate] : estimates_of(heat)) add_json(out, at + name, estimate);
  }
}

}  // namespace catoptra::test
