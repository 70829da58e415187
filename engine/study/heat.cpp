#include "study/heat.h"

#include <algorithm>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>

namespace catoptra {

namespace {

/// Loss a kelvin, W/K.
double loss_slope_W_K(const HeatLoss& heat, double area_m2, double temperature_K) {
  return area_m2 * (4 * heat.emittance * stefan_boltzmann * std::pow(temperature_K, 3) + heat.convection_W_m2K);
}

/// Root of a function that changes its sign between two temperatures.
template <class F>
double root_K(const F& f, double low_K, double high_K) {
  std::uintmax_t steps = 200;
  const auto close = [](double a, double b) { return std::fabs(b - a) <= 1e-13 * std::fabs(a); };
  const auto [a, b] = boost::math::tools::toms748_solve(f, low_K, high_K, close, steps);
  return (a + b) / 2;
}

/// Half the derivative of the work (power - L)(1 - T0/T), times T^2: above 0 below the best temperature.
/// With L' the loss a kelvin it is (power - L) T0 - L' T (T - T0).
double rise(const HeatLoss& heat, double area_m2, double power_W, double temperature_K) {
  const double T0 = heat.surroundings_K, T = temperature_K;
  return (power_W - heat_loss_W(heat, area_m2, T)) * T0 - loss_slope_W_K(heat, area_m2, T) * T * (T - T0);
}

bool loses_nothing(const HeatLoss& heat) {
  return heat.emittance == 0 && heat.convection_W_m2K == 0;
}

/// value(power), its error by the slope between one standard error less and one more.
template <class F>
Estimate through(const F& value, const Estimate& power) {
  const double error = power.standard_error;
  if (!(error > 0)) return {value(power.value), 0};
  const double low = value(std::fmax(power.value - error, power.value / 2)), high = value(power.value + error);
  const double span = power.value + error - std::fmax(power.value - error, power.value / 2);
  return {value(power.value), std::fabs(high - low) / span * error};
}

}  // namespace

double heat_loss_W(const HeatLoss& heat, double area_m2, double temperature_K) {
  const double T = temperature_K, T0 = heat.surroundings_K;
  // T^4 - T0^4 as a product, so that nothing cancels where the two are close.
  const double radiated = stefan_boltzmann * (T - T0) * (T + T0) * (T * T + T0 * T0);
  return area_m2 * (heat.emittance * radiated + heat.convection_W_m2K * (T - T0));
}

double carnot_factor(const HeatLoss& heat, double temperature_K) {
  return std::fmax(0, 1 - heat.surroundings_K / temperature_K);
}

double stagnation_temperature_K(const HeatLoss& heat, double area_m2, double power_W) {
  if (!(power_W > 0)) return heat.surroundings_K;
  if (loses_nothing(heat)) return infinity;
  double high_K = 2 * heat.surroundings_K;
  while (heat_loss_W(heat, area_m2, high_K) < power_W) high_K *= 2;
  return root_K([&](double T) { return power_W - heat_loss_W(heat, area_m2, T); }, heat.surroundings_K, high_K);
}

double best_temperature_K(const HeatLoss& heat, double area_m2, double power_W) {
  if (!(power_W > 0)) return std::nan("");
  if (loses_nothing(heat)) return infinity;
  const double high_K = stagnation_temperature_K(heat, area_m2, power_W);
  return root_K([&](double T) { return rise(heat, area_m2, power_W, T); }, heat.surroundings_K, high_K * (1 + 1e-12));
}

std::optional<HeatBalance> heat_balance(const Component& receiver, const ReceiverResult& result) {
  if (!receiver.heat) return std::nullopt;
  const HeatLoss& heat = *receiver.heat;
  HeatBalance out;
  out.temperature_K = heat.temperature_K;
  // The two come from samplers of their own.
  out.heat_in_W = {result.absorbed_power_W.value + result.direct_power_W.value,
                   std::hypot(result.absorbed_power_W.standard_error, result.direct_power_W.standard_error)};
  out.heat_loss_W = heat_loss_W(heat, result.area_m2, heat.temperature_K);
  out.useful_heat_W = {out.heat_in_W.value - out.heat_loss_W, out.heat_in_W.standard_error};
  const double in_W = out.heat_in_W.value;
  const double nan = std::nan("");
  if (in_W == 0)
    out.receiver_efficiency = {nan, nan};
  else
    out.receiver_efficiency = {out.useful_heat_W.value / in_W,
                               out.heat_in_W.standard_error * std::fabs(out.heat_loss_W) / (in_W * in_W)};
  out.work_W = times(out.useful_heat_W, carnot_factor(heat, heat.temperature_K));
  out.stagnation_temperature_K =
      through([&](double power_W) { return stagnation_temperature_K(heat, result.area_m2, power_W); }, out.heat_in_W);
  out.best_temperature_K =
      through([&](double power_W) { return best_temperature_K(heat, result.area_m2, power_W); }, out.heat_in_W);
  // At the top the work changes with the power alone, not with the temperature.
  const double best_K = out.best_temperature_K.value;
  const double factor = std::isinf(best_K) ? 1 : carnot_factor(heat, best_K);
  const double lost_W = std::isinf(best_K) ? 0 : heat_loss_W(heat, result.area_m2, best_K);
  out.best_work_W = times({in_W - lost_W, out.heat_in_W.standard_error}, factor);
  return out;
}

std::optional<HeatBalance> heat_balance(const Scene& scene, const ReceiverResult& result) {
  const auto at = std::ranges::find(scene.components, result.name, &Component::name);
  return at == scene.components.end() ? std::nullopt : heat_balance(*at, result);
}

}  // namespace catoptra
