#include "files/write_schedule.h"

#include <cmath>
#include <fmt/format.h>
#include <fmt/ranges.h>
#include <vector>

#include "files/names.h"
#include "files/put_common.h"
#include "files/put_design.h"
#include "files/put_numbers.h"
#include "files/put_realisations.h"
#include "study/heat_numbers.h"

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
    put_whole();
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
    std::vector<std::uint64_t> seeds;
    for (const auto& row : rows_) seeds.push_back(row.result.seed);
    file_.put("/sun/seed", seeds, over_time, ratio, LongName{"seed of the sun's own samples"});
  }

  void put_poses(std::size_t k) {
    const std::string group = "/poses/" + schedule_.components[k] + "/";
    const auto pose = [k](const ScheduleRow& row) -> const ScheduledPose& { return row.poses[k]; };
    put_vectors(
        group + "position_m", [&](const auto& row) { return pose(row).position_m; }, metre,
        LongName{"position of the component's vertex or centre"});
    if (!schedule_.follows_law(k))
      put_vectors(
          group + "offset_m", [&](const auto& row) { return pose(row).offset_m; }, metre,
          LongName{"offset from the home position"});
    put_vectors(
        group + "axis", [&](const auto& row) { return pose(row).axis; }, ratio,
        LongName{"direction of its own z axis, unit vector"});
    put_column(
        group + "roll_deg", [&](const auto& row) { return pose(row).roll_rad / units::degree_rad; }, degree,
        LongName{"roll about its z axis; at 0 its x axis is level"});
    put_vectors(
        group + "velocity_m_s", [&](const auto& row) { return pose(row).velocity_m_s; }, metre_per_s,
        LongName{"mean velocity of the vertex or centre since the row before"});
    put_column(
        group + "turn_rate_rad_s", [&](const auto& row) { return pose(row).turn_rate_rad_s; }, radian_per_s,
        LongName{"mean turn rate of the axis since the row before"});
  }

  void put_whole() {
    std::vector<TraceResult> results;
    for (const auto& row : rows_) results.push_back(row.result);
    put_numbers(file_, "/", result_numbers, results, over_time);
    std::vector<std::int8_t> branched;
    std::vector<Estimate> power;
    for (const auto& row : rows_) {
      branched.push_back(row.branched ? 1 : 0);
      power.insert(power.end(), row.result.budget.begin(), row.result.budget.end());
    }
    file_.put("/branched", branched, over_time, ratio,
              LongName{"1: the pose lies on another branch than the pose before it, counted from noon"});
    put_budget_terms(file_);
    put_with_errors(file_, "/budget/", "power", "_W", power, {"/time", "/budget/term"}, watt, "power");
  }

  void put_receiver(std::size_t r) {
    const std::string group = "/receivers/" + rows_.front().result.receivers[r].name + "/";
    std::vector<ReceiverResult> results;
    std::vector<HeatBalance> heat;
    for (const auto& row : rows_) {
      results.push_back(row.result.receivers[r]);
      if (const auto balance = heat_balance(scene_, results.back())) heat.push_back(*balance);
    }
    put_numbers(file_, group, receiver_numbers, results, over_time);
    if (!heat.empty()) put_numbers(file_, group + "heat/", heat_numbers, heat, over_time);
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
    const auto put = [&](std::string_view of, std::string_view suffix, const std::vector<Estimate>& estimates,
                         const Scales& scales, Units units, std::string_view long_name) {
      put_with_errors(file, group, of, suffix, estimates, scales, units, long_name);
    };
    file.put_scale(size, error, unit, LongName{"size of the error"});
    put("intercept_factor", "", intercept, along, ratio,
        "power that reaches the receivers / power that leaves the last mirror unblocked, all suns");
    put("absorbed_share", "", share, along, ratio, "absorbed power / that without the error, all suns");
    put("error_at_loss", "_" + name.suffix, at, over_loss, unit, "smallest error of either sign that loses this share");
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
