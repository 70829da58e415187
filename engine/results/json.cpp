#include "results/json.h"

#include <nlohmann/json.hpp>

#include "results/estimate_json.h"
#include "results/put_heat.h"
#include "results/write_result.h"

namespace catoptra {
namespace {

using Json = nlohmann::ordered_json;

Json json_of(const ReceiverResult& receiver) {
  Json peak = json_of(receiver.peak_concentration);
  peak["position"] = {{receiver.flux.first.name, receiver.peak_at[0]},
                      {receiver.flux.second.name, receiver.peak_at[1]}};
  return {{"area_m2", receiver.area_m2},
          {"intercept_factor", json_of(receiver.intercept_factor)},
          {"arriving_power_W", json_of(receiver.arriving_power_W)},
          {"absorbed_power_W", json_of(receiver.absorbed_power_W)},
          {"direct_power_W", json_of(receiver.direct_power_W)},
          {"peak_concentration", std::move(peak)},
          {"mean_concentration", json_of(receiver.mean_concentration)}};
}

}  // namespace

std::string to_json(const Scene& scene, const TraceResult& result, const Provenance& from, const std::string& file) {
  Json out{{"schema_version", result_schema_version},
           {"generator", from.generator},
           {"created_utc", from.created_utc},
           {"scene", scene.path},
           {"file", file},
           {"seed", result.seed},
           {"samples", result.samples},
           {"replicates", result.replicates},
           {"wall_time_s", from.reproducible ? 0 : result.wall_time_s},
           {"precision_reached", result.precision_reached},
           {"interrupted", result.interrupted},
           {"warnings", remarks(result)},
           {"sun",
            {{"dni_W_m2", result.dni_W_m2},
             {"azimuth_deg", azimuth_deg(result.to_sun)},
             {"elevation_deg", elevation_deg(result.to_sun)}}},
           {"aperture_area_m2", result.aperture_area_m2},
           {"incident_power_W", result.incident_power_W},
           {"budget", Json::object()},
           {"optical_efficiency", json_of(result.optical_efficiency)},
           {"intercept_factor", json_of(result.intercept_factor)},
           {"receivers", Json::object()}};
  for (std::size_t i = 0; i < term_count; ++i)
    out["budget"][std::string(term_names[i])] = {{"power_W", result.budget[i].value},
                                                 {"standard_error_W", result.budget[i].standard_error}};
  for (const auto& receiver : result.receivers) {
    Json& entry = out["receivers"][receiver.name] = json_of(receiver);
    if (const auto heat = heat_balance(scene, receiver)) entry["heat"] = heat_json(*heat);
  }
  // A name that is not UTF-8 must not lose a finished run its numbers: such bytes become U+FFFD.
  return out.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace catoptra
