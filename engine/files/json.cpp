#include "files/json.h"

#include <nlohmann/json.hpp>

#include "files/names.h"
#include "files/put_numbers.h"
#include "study/heat_numbers.h"

namespace catoptra {
namespace {

using Json = nlohmann::ordered_json;

Json json_of(const ReceiverResult& receiver) {
  Json out = Json::object();
  add_numbers(out, receiver_numbers, receiver);
  out["peak_concentration"]["position"] = {{receiver.flux.first.name, receiver.peak_at[0]},
                                           {receiver.flux.second.name, receiver.peak_at[1]}};
  return out;
}

}  // namespace

std::string to_json(const Scene& scene, const TraceResult& result, const Provenance& from, const std::string& file) {
  Json out{{"schema_version", result_schema_version},
           {"generator", from.generator},
           {"created_utc", from.created_utc},
           {"scene", scene.path},
           {"settings", from.settings},
           {"file", file.empty() ? Json() : Json(file)},
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
             {"elevation_deg", elevation_deg(result.to_sun)}}}};
  add_numbers(out, result_numbers, result);
  out["budget"] = budget_json(result);
  out["budget_by_component"] = Json::object();
  for (const ComponentPowers& component : result.by_component) {
    Json& terms = out["budget_by_component"][component.name] = Json::object();
    for (std::size_t t = 0; t < term_count; ++t) {
      const Estimate& power = component.terms[t];
      if (power.value != 0 || power.standard_error != 0) terms[term_names[t]] = {{"power_W", json_of(power)}};
    }
  }
  out["receivers"] = Json::object();
  for (const auto& receiver : result.receivers) {
    Json& entry = out["receivers"][receiver.name] = json_of(receiver);
    if (const auto heat = heat_balance(scene, receiver)) add_numbers(entry["heat"], heat_numbers, *heat);
  }
  // A name that is not UTF-8 must not lose a finished run its numbers: such bytes become U+FFFD.
  return out.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace catoptra
