#include "words/day_energy.h"

#include <catch2/catch.hpp>
#include <cmath>

namespace catoptra {
namespace {

TEST_CASE("a day's energy: power times the time that each sun stands for", "[results]") {
  Schedule schedule;
  schedule.asked = 2;
  schedule.rows.resize(2);
  for (auto& row : schedule.rows) {
    row.result.dni_W_m2 = 1000;
    row.result.aperture_area_m2 = 1.25;
  }
  schedule.rows[0].sun.posix_s = 1'780'000'000;
  schedule.rows[1].sun.posix_s = 1'780'000'600;
  for (auto& row : schedule.rows) row.result.budget[static_cast<std::size_t>(Term::absorbed)] = {900, 3};
  // Two suns 600 s apart stand for 600 s each: 1200 s x 900 W, and of 1000 W/m2 on 1.25 m2. Of one seed: errors add.
  const auto energy = day_energy(schedule);
  REQUIRE(energy);
  CHECK(energy->absorbed_J.value == 1.08e6);
  CHECK(energy->absorbed_J.standard_error == 3600);
  Schedule apart = schedule;
  apart.rows[1].result.seed = 7;  // samples of their own: 600 s x 3 W x sqrt 2
  CHECK(day_energy(apart)->absorbed_J.standard_error == Approx(1800 * std::sqrt(2.0)));
  CHECK(energy->sunlight_J == 1.5e6);
  CHECK(day_energy_text(schedule) ==
        "\nday: 0.3000±0.0010 kWh absorbed, of 0.41667 kWh = DNI x aperture area x time\n"
        "with a DNI of 1000 W/m2 while the sun is up, the same all day\n");
  // A third sun, 1200 s later: 600, 900 and 1200 s.
  schedule.rows.push_back(schedule.rows.back());
  schedule.rows.back().sun.posix_s += 1200;
  schedule.asked = 3;
  REQUIRE(day_energy(schedule));
  CHECK(day_energy(schedule)->absorbed_J.value == 2700 * 900.0);
  // Not for a day of which suns are missing, one sun, or several days.
  schedule.asked = 4;
  CHECK_FALSE(day_energy(schedule));
  schedule.asked = 3;
  schedule.rows.back().sun.posix_s += 86400;
  CHECK_FALSE(day_energy(schedule));
  schedule.rows.resize(1);
  schedule.asked = 1;
  CHECK_FALSE(day_energy(schedule));
}

}  // namespace
}  // namespace catoptra
