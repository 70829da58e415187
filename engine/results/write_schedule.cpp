#include "results/write_schedule.h"

#include <cmath>
#include <fmt/format.h>
#include <fmt/ranges.h>
#include <vector>

#include "results/put_common.h"
#include "results/put_design.h"
#include "results/put_heat.h"
#include "results/put_realisations.h"
#include "results/schedule_rows.h"
#include "results/tolerance_rows.h"
#include "results/write_result.h"

namespace catoptra {
namespace {

using namespace hdf5_units;

constexpr Units metre_per_s{"m s-1"}, radian_per_s{"rad s-1"};
const Scales over_time{"/time"};

class ScheduleWriter {
 public:
  ScheduleWriter(Hdf5File& file, const Scene& scene, const Schedule& schedule)
      : file_(file), scene_(scene), schedule_(schedule), rows_(schedule.rows) {}

  void operator()() {
    put_axes();
    put_sun();
    for (std::size_t k = 0; k < schedule_.components.size(); ++k) put_poses(k);
    put_numbers();
    for (std::size_t r = 0; r < rows_.front().result.receivers.size(); ++r) put_receiver(r);
  }

 private:
  /// One number a row, as `number` finds it.
  template <class F>
  void put_column(const std::string& path, const F& number, Units units, LongName long_name) {
    std::vector<double> column;
    for (const auto& row : rows_) column.push_back(number(row));
    file_.put(path, column, over_time, units, long_name);
  }
  /// Value and standard error, as `estimate` finds them.
  template <class F>
  void put_estimates(const std::string& path, const std::string& error_path, const F& estimate, Units units,
                     const std::string& long_name) {
    std::vector<Estimate> column;
    for (const auto& row : rows_) column.push_back(estimate(row));
    put_with_errors(file_, path, error_path, column, over_time, units, long_name);
  }
  template <class F>
  void put_vectors(const std::string& path, const F& vector, Units units, LongName long_name) {
    std::vector<double> table;
    for (const auto& row : rows_) {
      const Vec v = vector(row);
      table.insert(table.end(), {v.x, v.y, v.z});
    }
    file_.put(path, table, {"/time", "/direction"}, units, long_name);
  }

  void put_axes() {
    std::vector<double> times;
    std::vector<std::string> words;
    for (const auto& row : rows_) {
      times.push_back(row.sun.posix_s);
      words.push_back(time_text(scene_, row.sun, true));
    }
    file_.put_scale("/time", times, Units{"seconds since 1970-01-01 00:00:00"}, LongName{"time, UTC"});
    file_.describe("/time", "calendar", "standard");
    file_.put("/local_time", std::span<const std::string>(words), over_time, ratio,
              LongName{"time on the site's clock, ISO 8601"});
    const std::vector<std::string> axes{"east", "north", "up"};
    file_.put_scale("/direction", std::span<const std::string>(axes), ratio, LongName{"axes of the scene: x, y, z"});
  }

  void put_sun() {
    file_.put("/sun/dni_W_m2", scene_.sun.dni_W_m2, watt_per_m2, LongName{"direct normal irradiance"});
    put_column(
        "/sun/azimuth_deg", [](const auto& row) { return azimuth_deg(row.sun.to_sun); }, degree,
        LongName{"azimuth of the sun, from north, clockwise"});
    put_column(
        "/sun/elevation_deg", [](const auto& row) { return elevation_deg(row.sun.to_sun); }, degree,
        LongName{"elevation of the sun above the horizon"});
    put_vectors(
        "/sun/to_sun", [](const auto& row) { return row.sun.to_sun; }, ratio,
        LongName{"unit vector from the ground to the sun's centre"});
  }

  void put_poses(std::size_t k) {
    const std::string group = "/poses/" + schedule_.components[k] + "/";
    const auto pose = [k](const ScheduleRow& row) -> const ScheduledPose& { return row.poses[k]; };
    put_vectors(
        group + "position_m", [&](const auto& row) { return pose(row).position_m; }, metre,
        LongName{"where the vertex or centre stands"});
    if (!schedule_.follows_law(k))
      put_vectors(
          group + "offset_m", [&](const auto& row) { return pose(row).offset_m; }, metre,
          LongName{"how far it stands from home"});
    put_vectors(
        group + "axis", [&](const auto& row) { return pose(row).axis; }, ratio,
        LongName{"where its own z axis points, unit vector"});
    put_column(
        group + "roll_deg", [&](const auto& row) { return pose(row).roll_rad / units::degree_rad; }, degree,
        LongName{"turn about the axis; at 0 its x axis lies level"});
    put_vectors(
        group + "velocity_m_s", [&](const auto& row) { return pose(row).velocity_m_s; }, metre_per_s,
        LongName{"of the vertex or centre on the way from the row before"});
    put_column(
        group + "turn_rate_rad_s", [&](const auto& row) { return pose(row).turn_rate_rad_s; }, radian_per_s,
        LongName{"of the axis on the way from the row before"});
  }

  void put_numbers() {
    file_.put("/aperture_area_m2", rows_.front().result.aperture_area_m2, square_metre,
              LongName{"aperture area of all primaries"});
    put_column(
        "/incident_power_W", [](const auto& row) { return row.result.incident_power_W; }, watt,
        LongName{"DNI times aperture area times the cosine of incidence, all primaries"});
    put_estimates(
        "/optical_efficiency", "/optical_efficiency_standard_error",
        [](const auto& row) { return row.result.optical_efficiency; }, ratio,
        "absorbed power / (DNI times aperture area)");
    put_estimates(
        "/intercept_factor", "/intercept_factor_standard_error",
        [](const auto& row) { return row.result.intercept_factor; }, ratio,
        "power that reaches the receivers / power that leaves the last mirror unblocked");
    std::vector<std::int8_t> branched;
    std::vector<double> power, error;
    for (const auto& row : rows_) {
      branched.push_back(row.branched ? 1 : 0);
      for (const auto& term : row.result.budget) {
        power.push_back(term.value);
        error.push_back(term.standard_error);
      }
    }
    file_.put("/branched", branched, over_time, ratio,
              LongName{"1: the best pose left the branch of its neighbour nearer to noon"});
    put_budget_terms(file_);
    const Scales scales{"/time", "/budget/term"};
    file_.put("/budget/power_W", power, scales, watt, LongName{"power"});
    file_.describe("/budget/power_W", "ancillary_variables", "standard_error_W");
    file_.put("/budget/standard_error_W", error, scales, watt, LongName{"standard error of the power"});
  }

  void put_receiver(std::size_t r) {
    const std::string group = "/receivers/" + rows_.front().result.receivers[r].name + "/";
    const auto of = [r](const ScheduleRow& row) -> const ReceiverResult& { return row.result.receivers[r]; };
    file_.put(group + "area_m2", of(rows_.front()).area_m2, square_metre,
              LongName{"area of the front, all copies together"});
    put_estimates(
        group + "intercept_factor", group + "intercept_factor_standard_error",
        [&](const auto& row) { return of(row).intercept_factor; }, ratio,
        "power that reaches this receiver / power that leaves the last mirror unblocked");
    put_estimates(
        group + "absorbed_power_W", group + "absorbed_power_standard_error_W",
        [&](const auto& row) { return of(row).absorbed_power_W; }, watt, "absorbed power");
    put_estimates(
        group + "direct_power_W", group + "direct_power_standard_error_W",
        [&](const auto& row) { return of(row).direct_power_W; }, watt,
        "power absorbed straight from the sun; part of no other number");
    put_estimates(
        group + "peak_concentration", group + "peak_concentration_standard_error",
        [&](const auto& row) { return of(row).peak_concentration; }, ratio, "largest irradiance of a bin / DNI");
    put_estimates(
        group + "mean_concentration", group + "mean_concentration_standard_error",
        [&](const auto& row) { return of(row).mean_concentration; }, ratio, "irradiance averaged over the front / DNI");
    std::vector<HeatBalance> heat;
    for (const auto& row : rows_)
      if (const auto balance = heat_balance(scene_, of(row))) heat.push_back(*balance);
    if (!heat.empty()) put_heat(file_, group + "heat/", heat, over_time);
  }

  Hdf5File& file_;
  const Scene& scene_;
  const Schedule& schedule_;
  const std::vector<ScheduleRow>& rows_;
};

void put_tolerance(Hdf5File& file, const std::vector<ToleranceCurve>& curves) {
  if (curves.empty()) return;
  const std::vector<double> shares(lost_shares.begin(), lost_shares.end());
  file.put_scale("/tolerance/lost_share", shares, ratio, LongName{"share of the absorbed power that is lost"});
  for (const auto& curve : curves) {
    const CurveName name = name_of(curve);
    const std::string group = "/tolerance/" + curve.component + "/" + name.name + "/";
    const Units unit{name.unit};
    std::vector<double> error;
    std::vector<Estimate> intercept, share, at;
    for (const auto& point : curve.points) {
      error.push_back(point.error / name.to_si);
      intercept.push_back(point.intercept_factor);
      share.push_back(point.absorbed_share);
    }
    for (const auto& loss : curve.error_at_loss) {
      const Estimate missing{std::nan(""), std::nan("")}, found = loss.value_or(missing);
      at.push_back({found.value / name.to_si, found.standard_error / name.to_si});
    }
    const std::string size = group + "error_" + name.suffix;
    const Scales along{size}, over_loss{"/tolerance/lost_share"};
    const auto put = [&](const std::string& path, const std::string& error_path, const std::vector<Estimate>& estimates,
                         const Scales& scales, Units units, const std::string& long_name) {
      put_with_errors(file, group + path, group + error_path, estimates, scales, units, long_name);
    };
    file.put_scale(size, error, unit, LongName{"size of the error"});
    put("intercept_factor", "intercept_factor_standard_error", intercept, along, ratio,
        "power that reaches the receivers / power that leaves the last mirror unblocked, all suns");
    put("absorbed_share", "absorbed_share_standard_error", share, along, ratio,
        "absorbed power / that without the error, all suns");
    put("error_at_loss_" + name.suffix, "error_at_loss_standard_error_" + name.suffix, at, over_loss, unit,
        "smallest error of either sign that loses this share");
  }
}

}  // namespace

void write_schedule(const std::filesystem::path& path, const Scene& scene, const Schedule& schedule,
                    const Provenance& from, const ScheduleExtras& extras) {
  Hdf5File file;
  const TraceResult& first = schedule.rows.front().result;
  put_provenance(file, scene, first.search, from);
  file.describe("/", "content", "schedule");
  file.describe("/", "searched", std::int64_t{schedule.searched});
  if (schedule.searched || extras.design != nullptr) {
    file.describe("/", "objective", objective_words[static_cast<std::size_t>(schedule.objective)]);
    file.describe("/", "travel_cost_per_m", schedule.travel_cost_per_m);
    file.describe("/", "search_samples", schedule.search_samples);
    file.describe("/", "search_seed", schedule.search_seed);
  }
  file.describe("/", "seed", schedule.seed);
  file.describe("/", "samples", first.samples);
  file.describe("/", "replicates", std::int64_t{first.replicates});
  file.describe("/", "wall_time_s", from.reproducible ? 0 : schedule.wall_time_s);
  file.describe("/", "interrupted", std::int64_t{schedule.interrupted()});
  file.describe("/", "warnings", fmt::format("{}", fmt::join(remarks(schedule), "\n")));
  put_scene(file, scene);
  ScheduleWriter(file, scene, schedule)();
  put_tolerance(file, extras.tolerance);
  if (extras.realisations != nullptr) put_realisations(file, *extras.realisations);
  if (extras.design != nullptr) put_design(file, *extras.design);
  file.save(path);
}

}  // namespace catoptra
