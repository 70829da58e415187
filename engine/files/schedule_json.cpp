#include <nlohmann/json.hpp>

#include "files/names.h"
#include "files/put_numbers.h"
#include "files/write_schedule.h"
#include "steer/limits.h"
#include "study/heat_numbers.h"

namespace catoptra {
namespace {

using Json = nlohmann::ordered_json;

Json json_of(const Vec& v) {
  return Json::array({v.x, v.y, v.z});
}

Json json_of(const ScheduledPose& pose, bool by_law) {
  Json out{{"position_m", json_of(pose.position_m)}};
  if (!by_law) out["offset_m"] = json_of(pose.offset_m);
  out["axis"] = json_of(pose.axis);
  out["roll_deg"] = pose.roll_rad / units::degree_rad;
  out["velocity_m_s"] = json_of(pose.velocity_m_s);
  out["turn_rate_rad_s"] = pose.turn_rate_rad_s;
  return out;
}

Json json_of(const Scene& scene, const Schedule& schedule, const ScheduleRow& row) {
  Json out{{"local_time", time_text(scene, row.sun, true)},
           {"azimuth_deg", azimuth_deg(row.sun.to_sun)},
           {"elevation_deg", elevation_deg(row.sun.to_sun)},
           {"seed", row.result.seed},
           {"poses", Json::object()},
           {"branched", row.branched}};
  for (std::size_t k = 0; k < row.poses.size(); ++k)
    out["poses"][schedule.components[k]] = json_of(row.poses[k], schedule.follows_law(k));
  add_numbers(out, result_numbers, row.result, false);
  out["budget"] = budget_json(row.result);
  out["receivers"] = Json::object();
  for (const auto& receiver : row.result.receivers) {
    Json& entry = out["receivers"][receiver.name];
    add_numbers(entry, receiver_numbers, receiver, false);
    if (const auto heat = heat_balance(scene, receiver)) add_numbers(entry["heat"], heat_numbers, *heat);
  }
  return out;
}

Json json_of(const ToleranceCurve& curve) {
  const CurveName name = name_of(curve);
  Json out{{"error_" + name.suffix, Json::array()},
           {"intercept_factor", Json::array()},
           {"absorbed_share", Json::array()},
           {"error_at_loss_" + name.suffix, Json::array()}};
  for (const auto& point : curve.points) {
    out["error_" + name.suffix].push_back(point.error / name.to_si);
    out["intercept_factor"].push_back(json_of(point.intercept_factor));
    out["absorbed_share"].push_back(json_of(point.absorbed_share));
  }
  for (std::size_t k = 0; k < lost_shares.size(); ++k) {
    Json entry{{"lost_share", lost_shares[k]}, {"value", nullptr}, {"standard_error", nullptr}};
    if (const auto& at = curve.error_at_loss[k]) {
      entry["value"] = at->value / name.to_si;
      entry["standard_error"] = at->standard_error / name.to_si;
    }
    out["error_at_loss_" + name.suffix].push_back(std::move(entry));
  }
  return out;
}

/// The names of the HDF5 file's /realisations, the builds as a list of objects.
Json json_of(const Realisations& realisations) {
  Json out{{"asked", realisations.asked},
           {"mean_absorbed_share", json_of(mean_share(realisations))},
           {"absorbed_share_at", Json::array()}};
  for (const double below : quoted_percentiles) {
    Json entry = json_of(share_percentile(realisations, below));
    entry["below"] = below;
    out["absorbed_share_at"].push_back(std::move(entry));
  }
  const auto names = drawn_names(realisations.rms);
  for (const DrawnName& error : names) out["rms_" + error.name + "_" + error.suffix] = error.rms;
  out["builds"] = Json::array();
  for (const Realisation& build : realisations.builds) {
    Json entry{{"intercept_factor", json_of(build.intercept_factor)},
               {"absorbed_share", json_of(build.absorbed_share)}};
    for (std::size_t k = 0; k < realisations.components.size(); ++k)
      for (const DrawnName& error : names) {
        const Vec v = (1 / error.to_si) * error.drawn(build.drawn[k]);
        Json& drawn = entry[realisations.components[k]][error.name + "_" + error.suffix];
        if (error.has_axes)
          drawn = json_of(v);
        else
          drawn = v.x;
      }
    out["builds"].push_back(std::move(entry));
  }
  return out;
}

/// The names of the HDF5 file's /design, its parameters and variants as lists of objects.
Json json_of(const Design& design) {
  const Variant& best = design.variants[design.best];
  Json out{{"parameters", Json::array()},
           {"searched_suns", design.searched_suns},
           {"original_mean", json_of(design.original)},
           {"best_mean", json_of(design.found)},
           {"gain", json_of(design.gain)},
           {"original_kept", design.original_kept},
           {"best_variant", design.best},
           {"variants", Json::array()}};
  for (std::size_t i = 0; i < design.parameters.size(); ++i) {
    const FreeParameter& p = design.parameters[i];
    out["parameters"].push_back(
        {{"parameter", p.path}, {"low", p.low}, {"high", p.high}, {"original", p.original}, {"best", best.values[i]}});
  }
  for (const Variant& variant : design.variants)
    out["variants"].push_back({{"value", variant.values}, {"objective", variant.objective}});
  return out;
}

}  // namespace

std::string to_json(const Scene& scene, const Schedule& schedule, const Provenance& from, const std::string& file,
                    const ScheduleExtras& extras) {
  Json out{{"schema_version", result_schema_version},
           {"generator", from.generator},
           {"created_utc", from.created_utc},
           {"scene", scene.path},
           {"settings", from.settings},
           {"file", file.empty() ? Json() : Json(file)},
           {"searched", schedule.searched},
           {"seed", schedule.seed},
           {"samples", schedule.samples},
           {"wall_time_s", from.reproducible ? 0 : schedule.wall_time_s},
           {"interrupted", schedule.interrupted()},
           {"warnings", remarks(schedule)},
           {"suns", Json::array()}};
  if (schedule.searched || extras.design != nullptr)
    out.update(Json{{"objective", objective_words[static_cast<std::size_t>(schedule.objective)]},
                    {"travel_cost_per_m", schedule.travel_cost_per_m},
                    {"search_seed", schedule.search_seed},
                    {"search_samples", schedule.search_samples}});
  for (const auto& row : schedule.rows) out["suns"].push_back(json_of(scene, schedule, row));
  for (const auto& curve : extras.tolerance) out["tolerance"][curve.component][name_of(curve).name] = json_of(curve);
  if (extras.realisations != nullptr) out["realisations"] = json_of(*extras.realisations);
  for (const LimitReached& at : limits_reached(scene, schedule))
    out["limits_reached"].push_back({{"component", at.component},
                                     {"limit", at.limit.key},
                                     {"value", at.limit.limit},
                                     {"suns", at.suns},
                                     {"of_suns", at.of}});
  if (extras.design != nullptr) out["design"] = json_of(*extras.design);
  return out.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace catoptra
