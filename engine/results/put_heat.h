#pragma once
// A receiver's heat balance in files: one list of names for traces and schedules, HDF5, JSON and CSV.
#include <array>
#include <nlohmann/json_fwd.hpp>
#include <string>
#include <string_view>
#include <vector>

#include "results/put_common.h"
#include "study/heat.h"

namespace catoptra {

/// A number of the balance that has a standard error.
struct HeatTerm {
  std::string_view name, suffix;  // "useful_heat", "_W"
  Estimate HeatBalance::*of;
  Units units;
  std::string_view meaning;

  std::string full_name() const { return std::string(name) + std::string(suffix); }
  std::string error_name() const { return std::string(name) + "_standard_error" + std::string(suffix); }
};

inline constexpr std::array<HeatTerm, 7> heat_terms{{
    {"heat_in", "_W", &HeatBalance::heat_in_W, hdf5_units::watt,
     "absorbed power, by way of the mirrors and straight from the sun"},
    {"useful_heat", "_W", &HeatBalance::useful_heat_W, hdf5_units::watt, "heat taken in less heat lost"},
    {"receiver_efficiency", "", &HeatBalance::receiver_efficiency, hdf5_units::ratio, "useful heat / heat taken in"},
    {"work", "_W", &HeatBalance::work_W, hdf5_units::watt, "useful heat times the Carnot factor"},
    {"stagnation_temperature", "_K", &HeatBalance::stagnation_temperature_K, hdf5_units::kelvin,
     "temperature at which all heat taken in is lost"},
    {"best_temperature", "_K", &HeatBalance::best_temperature_K, hdf5_units::kelvin,
     "temperature at which the work would be greatest"},
    {"best_work", "_W", &HeatBalance::best_work_W, hdf5_units::watt, "work at the best temperature"},
}};

/// Into `group`, which ends with a slash.
void put_heat(Hdf5File& file, const std::string& group, const HeatBalance& heat);
/// The same by row; what no row changes, temperature and loss, once.
void put_heat(Hdf5File& file, const std::string& group, const std::vector<HeatBalance>& rows, const Scales& over_rows);

nlohmann::ordered_json heat_json(const HeatBalance& heat);

}  // namespace catoptra
