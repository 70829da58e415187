#include "results/put_heat.h"

#include <nlohmann/json.hpp>

#include "results/estimate_json.h"

namespace catoptra {
namespace {

using namespace hdf5_units;

void put_scene_side(Hdf5File& file, const std::string& group, const HeatBalance& heat) {
  file.put(group + "temperature_K", heat.temperature_K, kelvin, LongName{"temperature of the front, from the scene"});
  file.put(group + "heat_loss_W", heat.heat_loss_W, watt, LongName{"heat lost by radiation and convection"});
}

}  // namespace

void put_heat(Hdf5File& file, const std::string& group, const HeatBalance& heat) {
  put_scene_side(file, group, heat);
  for (const HeatTerm& term : heat_terms)
    put_estimate(file, group + term.full_name(), heat.*term.of, term.units, LongName{term.meaning});
}

void put_heat(Hdf5File& file, const std::string& group, const std::vector<HeatBalance>& rows, const Scales& over_rows) {
  put_scene_side(file, group, rows.front());
  for (const HeatTerm& term : heat_terms) {
    std::vector<Estimate> column;
    for (const HeatBalance& row : rows) column.push_back(row.*term.of);
    put_with_errors(file, group + term.full_name(), group + term.error_name(), column, over_rows, term.units,
                    std::string(term.meaning));
  }
}

nlohmann::ordered_json heat_json(const HeatBalance& heat) {
  nlohmann::ordered_json out{{"temperature_K", heat.temperature_K}};
  for (const HeatTerm& term : heat_terms) {
    out[term.full_name()] = json_of(heat.*term.of);
    if (term.of == &HeatBalance::heat_in_W) out["heat_loss_W"] = heat.heat_loss_W;
  }
  return out;
}

}  // namespace catoptra
