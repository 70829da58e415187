#include "study/heat.h"

#include <catch2/catch.hpp>

using namespace catoptra;

namespace {

HeatLoss black_at(double temperature_K) {
  return {1, temperature_K, 300, 0};
}

/// (power - loss)(1 - T0/T) written out anew.
double work_W(const HeatLoss& heat, double area_m2, double power_W, double T) {
  const double T0 = heat.surroundings_K;
  const double lost = area_m2 * (heat.emittance * 5.670374419e-8 * (std::pow(T, 4) - std::pow(T0, 4)) +
                                 heat.convection_W_m2K * (T - T0));
  return (power_W - lost) * (1 - T0 / T);
}

}  // namespace

TEST_CASE("a black receiver's loss and stagnation", "[study][heat]") {
  // sigma (1000^4 - 300^4) on 2 m^2, by hand from the constant.
  CHECK(heat_loss_W(black_at(1000), 2, 1000) == Approx(2 * 5.670374419e-8 * (1e12 - 8.1e9)).epsilon(1e-14));
  CHECK(heat_loss_W({0.5, 400, 300, 10}, 1, 301) ==
        Approx(0.5 * 5.670374419e-8 * (std::pow(301.0, 4) - 8.1e9) + 10).epsilon(1e-12));
  CHECK(heat_loss_W(black_at(300), 1, 300) == 0);
  // (C I / sigma + T0^4)^(1/4).
  const double stagnation_K = std::pow(1e6 / 5.670374419e-8 + 8.1e9, 0.25);
  CHECK(stagnation_temperature_K(black_at(800), 1, 1e6) == Approx(stagnation_K).epsilon(1e-12));
  CHECK(stagnation_temperature_K({0, 400, 300, 20}, 2, 4000) == Approx(400).epsilon(1e-12));  // convection alone
  CHECK(std::isinf(stagnation_temperature_K({0, 400, 300, 0}, 2, 4000)));
}

TEST_CASE("best temperature against concentration", "[study][heat]") {
  // T^5 - 0.75 T0 T^4 - T0 (I C + sigma T0^4)/(4 sigma) = 0: A. Steinfeld and M. Schubnell, Solar Energy 50 (1993) 19
  // (from memory; they leave out what the surroundings send). The three temperatures, in K, were computed apart.
  for (const auto& [concentration, want_K] : {std::pair{1000.0, 1106.7}, {5000.0, 1507.1}, {10000.0, 1723.6}}) {
    const double got_K = best_temperature_K(black_at(1000), 1, 1000 * concentration);
    CHECK(got_K == Approx(want_K).margin(0.3));
    const double T = got_K, T0 = 300, sigma = 5.670374419e-8;
    const double constant = T0 * (1000 * concentration + sigma * std::pow(T0, 4)) / (4 * sigma);
    CHECK((std::pow(T, 5) - 0.75 * T0 * std::pow(T, 4)) / constant == Approx(1).epsilon(1e-11));
    CHECK((std::pow(T + 1, 5) - 0.75 * T0 * std::pow(T + 1, 4)) / constant != Approx(1).epsilon(1e-4));
  }
}

TEST_CASE("no other temperature gives more work", "[study][heat]") {
  for (const HeatLoss& heat :
       {black_at(900), HeatLoss{0.1, 600, 290, 0}, HeatLoss{0.3, 600, 310, 15}, HeatLoss{0, 600, 300, 8}}) {
    const double area_m2 = 0.7, power_W = 40000, best_K = best_temperature_K(heat, area_m2, power_W);
    const double most_W = work_W(heat, area_m2, power_W, best_K);
    CHECK(best_K > heat.surroundings_K);
    CHECK(best_K < stagnation_temperature_K(heat, area_m2, power_W));
    for (const double factor : {0.5, 0.9, 0.999, 1.001, 1.1}) {
      const double other_K = factor * best_K;
      if (other_K > heat.surroundings_K) CHECK(work_W(heat, area_m2, power_W, other_K) < most_W);
    }
  }
  CHECK(std::isnan(best_temperature_K(black_at(900), 1, 0)));
  CHECK(std::isinf(best_temperature_K({0, 900, 300, 0}, 1, 100)));
}

TEST_CASE("a receiver's balance", "[study][heat]") {
  Component receiver;
  ReceiverResult result;
  result.area_m2 = 0.05;
  result.absorbed_power_W = {8000, 30};
  result.direct_power_W = {40, 40};
  CHECK_FALSE(heat_balance(receiver, result));
  receiver.heat = HeatLoss{0.9, 900, 300, 12};
  auto got = heat_balance(receiver, result);
  REQUIRE(got);
  CHECK(got->heat_in_W.value == 8040);
  CHECK(got->heat_in_W.standard_error == Approx(50));
  const double lost_W = 0.05 * (0.9 * 5.670374419e-8 * (std::pow(900.0, 4) - 8.1e9) + 12 * 600);
  CHECK(got->heat_loss_W == Approx(lost_W).epsilon(1e-13));
  CHECK(got->useful_heat_W.value == Approx(8040 - lost_W).epsilon(1e-13));
  CHECK(got->receiver_efficiency.value == Approx(1 - lost_W / 8040).epsilon(1e-13));
  CHECK(got->receiver_efficiency.standard_error == Approx(50 * lost_W / 8040 / 8040).epsilon(1e-10));
  CHECK(got->work_W.value == Approx((8040 - lost_W) * 2 / 3).epsilon(1e-13));
  CHECK(got->work_W.standard_error == Approx(50 * 2 / 3.0).epsilon(1e-13));
  CHECK(got->best_work_W.value > got->work_W.value);
  CHECK(got->best_work_W.value ==
        Approx(work_W(*receiver.heat, 0.05, 8040, got->best_temperature_K.value)).epsilon(1e-12));
  // Twice the step, twice the change: the error is that of a straight line through the neighbours.
  const double slope =
      (best_temperature_K(*receiver.heat, 0.05, 8041) - best_temperature_K(*receiver.heat, 0.05, 8039)) / 2;
  CHECK(got->best_temperature_K.standard_error == Approx(50 * slope).epsilon(1e-3));

  // In the dark what is lost is lost, but it is no share of anything.
  ReceiverResult dark = result;
  dark.absorbed_power_W = dark.direct_power_W = {0, 0};
  got = heat_balance(receiver, dark);
  REQUIRE(got);
  CHECK(got->useful_heat_W.value == -got->heat_loss_W);
  CHECK(std::isnan(got->receiver_efficiency.value));
  CHECK(std::isnan(got->receiver_efficiency.standard_error));
  CHECK(std::isnan(got->best_temperature_K.value));

  Scene scene;
  receiver.name = "plate";
  scene.components = {receiver};
  result.name = "plate";
  CHECK(heat_balance(scene, result));
  result.name = "other";
  CHECK_FALSE(heat_balance(scene, result));
}
