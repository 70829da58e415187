#include "words/schedule_rows.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>

#include "files/names.h"
#include "steer/limits.h"
#include "study/heat_numbers.h"
#include "words/csv_line.h"
#include "words/day_energy.h"
#include "words/sun_means.h"
#include "words/table.h"

namespace catoptra {
namespace {

/// A cell for each number that differs from sun to sun, and one for its error.
void name_cells(CsvLine& line, const std::string& lead, const auto& numbers) {
  for (const auto& number : numbers) {
    if (!number.by_sun) continue;
    line << lead + number.key();
    if (number.has_error()) line << lead + number.error_key();
  }
}

template <class T>
void number_cells(CsvLine& line, const auto& numbers, const T& from) {
  for (const Number<T>& number : numbers) {
    if (!number.by_sun) continue;
    const Estimate estimate = number.at(from);
    number.has_error() ? line << estimate : line << estimate.value;
  }
}

std::string csv_names(const Scene& scene, const Schedule& schedule) {
  CsvLine line;
  line << std::string("time_utc") << std::string("local_time") << std::string("azimuth_deg")
       << std::string("elevation_deg") << std::string("seed");
  for (const auto& component : schedule.components) {
    for (const auto* name : {"x_m", "y_m", "z_m", "axis_x", "axis_y", "axis_z", "roll_deg", "velocity_x_m_s",
                             "velocity_y_m_s", "velocity_z_m_s", "turn_rate_rad_s"})
      line << component + "." + name;
  }
  name_cells(line, "", result_numbers);
  for (const auto& term : term_names) line << std::string(term) + "_W" << error_key(term, "_W");
  if (!schedule.rows.empty()) {
    for (const auto& receiver : schedule.rows.front().result.receivers) {
      name_cells(line, receiver.name + ".", receiver_numbers);
      if (heat_balance(scene, receiver)) name_cells(line, receiver.name + ".heat.", heat_numbers);
    }
  }
  line << std::string("branched");
  return line.text();
}

std::string clock_text(const Scene& scene, const Moment& sun) {
  return std::isnan(sun.posix_s) ? std::string("-") : time_text(scene, sun, true).substr(11, 5);
}

std::string positions(std::size_t number) {
  return fmt::format("{} sun position{}", number, number == 1 ? "" : "s");
}

/// Right-aligned in 15 columns.
std::string estimate_text(const Estimate& estimate) {
  return to_right(compact(estimate), 15);
}

/// One line of at most 80 columns; a star behind the time marks a branch.
std::string row_text(const Scene& scene, const ScheduleRow& row, const ScheduledPose& pose) {
  const auto tidy = [](double x) { return std::fabs(x) < 5e-3 ? 0.0 : x; };
  return fmt::format("{:<5}{}{:5.1f}{:6.1f}{:7.2f}{:7.2f}{:7.2f}{:6.1f}{:6.1f}{}{}\n", clock_text(scene, row.sun),
                     row.branched ? '*' : ' ', azimuth_deg(row.sun.to_sun), elevation_deg(row.sun.to_sun),
                     tidy(pose.position_m.x), tidy(pose.position_m.y), tidy(pose.position_m.z), azimuth_deg(pose.axis),
                     elevation_deg(pose.axis), estimate_text(row.result.optical_efficiency),
                     estimate_text(row.result.intercept_factor));
}

/// The same for a scene of which no single component has a pose to tell.
std::string row_text(const Scene& scene, const ScheduleRow& row) {
  return fmt::format("{:<6}{:5.1f}{:6.1f}{}{}{}\n", clock_text(scene, row.sun), azimuth_deg(row.sun.to_sun),
                     elevation_deg(row.sun.to_sun), estimate_text(row.result.optical_efficiency),
                     estimate_text(row.result.intercept_factor),
                     estimate_text(row.result.budget[static_cast<std::size_t>(Term::absorbed)]));
}

/// What a receiver's heat is worth on average of all suns. It counts while the receiver yields some.
std::string heat_text(const Scene& scene, const Schedule& schedule, std::size_t receiver) {
  std::vector<Estimate> useful_W, work_W;
  std::size_t yielding = 0;
  double temperature_K = 0;
  for (const auto& row : schedule.rows) {
    const auto heat = heat_balance(scene, row.result.receivers[receiver]);
    if (!heat) return "";
    temperature_K = heat->temperature_K;
    const bool yields = heat->useful_heat_W.value > 0;
    yielding += yields ? 1 : 0;
    useful_W.push_back(yields ? heat->useful_heat_W : Estimate{0, 0});
    work_W.push_back(yields ? heat->work_W : Estimate{0, 0});
  }
  const bool apart = samples_are_apart(schedule);
  return fmt::format(
      "\n'{}' at {:g} K gains heat at {} of {}\n"
      "mean over all, 0 where it gains none: useful heat {} W, maximum work {} W\n",
      schedule.rows.front().result.receivers[receiver].name, temperature_K, yielding, positions(schedule.rows.size()),
      compact(mean_over_suns(useful_W, apart)), compact(mean_over_suns(work_W, apart)));
}

}  // namespace

std::string schedule_text(const Scene& scene, const Schedule& schedule) {
  std::string text = scene.title.empty() ? "" : scene.title + "\n";
  const std::string_view objective = objective_words[static_cast<std::size_t>(schedule.objective)];
  text += fmt::format("{}, {}; {} samples each, {:.3g} s\n", positions(schedule.rows.size()),
                      schedule.searched ? fmt::format("poses searched for the best {}", words_of(objective))
                                        : "no mount is free, so no search",
                      schedule.samples, schedule.wall_time_s);
  text += "± one standard error, from the spread of the replicates\n";
  const auto date_of = [&](std::size_t i) { return time_text(scene, schedule.rows[i].sun, true).substr(0, 10); };
  const bool many_days = date_of(0) != date_of(schedule.rows.size() - 1);
  const auto put_date = [&](std::size_t i) {
    if (many_days && (i == 0 || date_of(i) != date_of(i - 1))) text += date_of(i) + "\n";
  };
  if (schedule.components.empty()) {
    text += "\ntime  azim. elev.     efficiency      intercept     absorbed, W\n";
    for (std::size_t i = 0; i < schedule.rows.size(); ++i) {
      put_date(i);
      text += row_text(scene, schedule.rows[i]);
    }
  }
  for (std::size_t k = 0; k < schedule.components.size(); ++k) {
    const std::string_view by_law = schedule.follows_law(k) ? " by its law" : "";
    text += fmt::format("\n'{}'{}: position east, north, up in m; where its axis points, degrees\n",
                        schedule.components[k], by_law);
    text += "time  azim. elev.   east  north     up azim. elev.     efficiency      intercept\n";
    double path_m = 0, fastest_m_s = 0, fastest_rad_s = 0;
    for (std::size_t i = 0; i < schedule.rows.size(); ++i) {
      const ScheduledPose& pose = schedule.rows[i].poses[k];
      put_date(i);
      text += row_text(scene, schedule.rows[i], pose);
      if (i == 0 || std::isnan(pose.turn_rate_rad_s)) continue;  // another day, or a night between
      path_m += length(pose.position_m - schedule.rows[i - 1].poses[k].position_m);
      fastest_m_s = std::fmax(fastest_m_s, length(pose.velocity_m_s));
      fastest_rad_s = std::fmax(fastest_rad_s, pose.turn_rate_rad_s);
    }
    if (schedule.rows.size() > 1)
      text += fmt::format("travel {:.4g} m over {}; fastest {:.3g} m/s and {:.3g} rad/s\n", path_m,
                          many_days ? "all these days" : "the day", fastest_m_s, fastest_rad_s);
  }
  text += day_energy_text(schedule);
  for (std::size_t r = 0; r < schedule.rows.front().result.receivers.size(); ++r) text += heat_text(scene, schedule, r);
  if (std::ranges::any_of(schedule.rows, &ScheduleRow::branched))
    text += "* a jump: the best pose does not continue that of the next sun toward noon\n";
  for (const LimitReached& at : limits_reached(scene, schedule))
    text += fmt::format("note: '{}' stands at its limit {} = {:g} {} at {} of {}; more room may bring more\n",
                        at.component, at.limit.key, at.limit.limit, at.limit.unit, at.suns, positions(at.of));
  const auto words = remarks(schedule);
  if (!words.empty()) text += "\n";
  for (const auto& remark : words) text += "warning: " + remark + "\n";
  return text;
}

std::string schedule_csv(const Scene& scene, const Schedule& schedule) {
  std::string text = csv_names(scene, schedule);
  for (const auto& row : schedule.rows) {
    CsvLine line;
    const bool timed = !std::isnan(row.sun.posix_s);
    line << (timed ? time_text(scene, row.sun, false) : std::string()) << time_text(scene, row.sun, true)
         << azimuth_deg(row.sun.to_sun) << elevation_deg(row.sun.to_sun) << std::to_string(row.result.seed);
    for (const auto& pose : row.poses)
      line << pose.position_m << pose.axis << pose.roll_rad / units::degree_rad << pose.velocity_m_s
           << pose.turn_rate_rad_s;
    number_cells(line, result_numbers, row.result);
    for (const auto& term : row.result.budget) line << term;
    for (const auto& receiver : row.result.receivers) {
      number_cells(line, receiver_numbers, receiver);
      if (const auto heat = heat_balance(scene, receiver)) number_cells(line, heat_numbers, *heat);
    }
    line << std::string(row.branched ? "1" : "0");
    text += line.text();
  }
  return text;
}

std::string pose_table_csv(const Schedule& schedule) {
  if (schedule.components.size() != 1)
    throw std::invalid_argument("a pose table holds one moving component; the scene has " +
                                std::to_string(schedule.components.size()));
  std::string text = fmt::format("{}\n", fmt::join(TableMount::columns, ","));
  for (const auto& row : schedule.rows) {
    CsvLine line;
    line << azimuth_deg(row.sun.to_sun) << elevation_deg(row.sun.to_sun) << row.poses[0].position_m << row.poses[0].axis
         << row.poses[0].roll_rad / units::degree_rad;
    text += line.text();
  }
  return text;
}

}  // namespace catoptra
