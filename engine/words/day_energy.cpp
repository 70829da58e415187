#include "words/day_energy.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <vector>

#include "words/sun_means.h"
#include "words/table.h"

namespace catoptra {

std::optional<DayEnergy> day_energy(const Schedule& schedule) {
  const auto& rows = schedule.rows;
  if (rows.size() < 2 || schedule.interrupted()) return std::nullopt;
  const double whole_s = rows.back().sun.posix_s - rows.front().sun.posix_s;
  if (!(whole_s > 0 && whole_s < 86400)) return std::nullopt;
  DayEnergy out{{0, 0}, 0};
  std::vector<Estimate> absorbed_J;
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const double before_s =
        rows[std::max<std::size_t>(i, 1)].sun.posix_s - rows[std::max<std::size_t>(i, 1) - 1].sun.posix_s;
    const std::size_t next = std::min(i + 1, rows.size() - 1);
    const double after_s = rows[next].sun.posix_s - rows[next - 1].sun.posix_s;
    const double lasts_s = 0.5 * (before_s + after_s);
    const TraceResult& result = rows[i].result;
    const Estimate& absorbed_W = result.budget[static_cast<std::size_t>(Term::absorbed)];
    absorbed_J.push_back(times(absorbed_W, lasts_s));
    out.sunlight_J += lasts_s * result.dni_W_m2 * result.aperture_area_m2;
  }
  out.absorbed_J = times(mean_over_suns(absorbed_J, samples_are_apart(schedule)), static_cast<double>(rows.size()));
  return out;
}

std::string day_energy_text(const Schedule& schedule) {
  const auto energy = day_energy(schedule);
  if (!energy) return "";
  constexpr double joules_per_kWh = 3.6e6;
  return fmt::format(
      "\nday: {} kWh absorbed, of {:.5g} kWh = DNI x aperture area x time\n"
      "with a DNI of {:g} W/m2 while the sun is up, the same all day\n",
      compact(times(energy->absorbed_J, 1 / joules_per_kWh)), energy->sunlight_J / joules_per_kWh,
      schedule.rows.front().result.dni_W_m2);
}

}  // namespace catoptra
