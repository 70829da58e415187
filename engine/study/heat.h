#pragma once
// What a receiver's heat is worth: what it loses at its temperature, what is left, and the temperature at which the
// most work could be had. Theory: docs/theory/heat.md.
#include <optional>

#include "scene/model.h"
#include "trace/result.h"

namespace catoptra {

/// Stefan-Boltzmann constant, W/(m^2 K^4): CODATA 2018, exact in the SI of 2019.
inline constexpr double stefan_boltzmann = 5.670374419e-8;

/// Power lost by `area_m2` at `temperature_K`, W: to surroundings that enclose it wholly by radiation, to their air by
/// convection. Below 0 where they are hotter.
double heat_loss_W(const HeatLoss& heat, double area_m2, double temperature_K);

/// Largest share of heat at `temperature_K` that can be turned into work against the surroundings (Carnot); 0 at or
/// below them.
double carnot_factor(const HeatLoss& heat, double temperature_K);

/// The temperature at which `power_W` is all lost, K; infinite where nothing is lost at any. Within 1e-12 of itself.
double stagnation_temperature_K(const HeatLoss& heat, double area_m2, double power_W);

/// The temperature between the surroundings' and stagnation at which (power - loss) x Carnot factor is greatest, K;
/// infinite where nothing is lost, NaN where no power is taken in. Within 1e-12 of itself.
double best_temperature_K(const HeatLoss& heat, double area_m2, double power_W);

/// A receiver's balance. Standard errors come from those of the power taken in, to first order.
struct HeatBalance {
  double temperature_K = 0;  // the scene's
  Estimate heat_in_W;        // absorbed by way of the mirrors and straight from the sun
  double heat_loss_W = 0;
  Estimate useful_heat_W;        // below 0: the receiver has to be heated
  Estimate receiver_efficiency;  // useful heat / heat taken in
  Estimate work_W;               // useful heat x Carnot factor
  Estimate stagnation_temperature_K;
  Estimate best_temperature_K;
  Estimate best_work_W;  // at the best temperature
};

/// None where the scene asks for no balance of this receiver.
std::optional<HeatBalance> heat_balance(const Component& receiver, const ReceiverResult& result);
/// Of the receiver with the result's name.
std::optional<HeatBalance> heat_balance(const Scene& scene, const ReceiverResult& result);

}  // namespace catoptra
