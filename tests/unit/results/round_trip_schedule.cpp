// The same for a schedule with all that may come with it: tolerance curves, builds, a shape search.
#include "example_result.h"
#include "expected_numbers.h"
#include "files/stored_scene.h"
#include "files/write_schedule.h"
#include "made_up.h"
#include "scratch_folder.h"
#include "words/realisation_rows.h"
#include "words/schedule_rows.h"
#include "words/tolerance_rows.h"

using namespace catoptra;
using namespace catoptra::test;

namespace {

struct MadeUpRun {
  MadeUp made;
  Scene scene = made_up_scene();
  Schedule schedule = made_up_schedule(made);
  std::vector<ToleranceCurve> tolerance = made_up_tolerance(made);
  Realisations realisations = made_up_realisations(made);
  Design design = made_up_design(made);
  ScheduleExtras extras() const { return {tolerance, &realisations, &design}; }
};

std::string place(const std::string& name, std::size_t i) {
  return at(name, i);
}

/// A value and its error in datasets of their own, at one place of them.
void add_row(NamedNumbers& to, const std::string& path, std::size_t i, const Estimate& e) {
  to[place(path, i)] = e.value;
  to[place(error_name(path), i)] = e.standard_error;
}
void add_row(NamedNumbers& to, const std::string& path, std::size_t i, const Vec& v) {
  to[place(path, 3 * i)] = v.x;
  to[place(path, 3 * i + 1)] = v.y;
  to[place(path, 3 * i + 2)] = v.z;
}

/// "pointing_x" in mrad and so on: the name's unit and how many of it are one in SI.
struct InUnit {
  std::string name, suffix;
  double per_si;
};
InUnit in_unit(const ToleranceCurve& curve) {
  switch (curve.kind) {
    case ErrorKind::pointing:
      return {"pointing_" + curve.axis, "mrad", 1e3};
    case ErrorKind::position:
      return {"position_" + curve.axis, "mm", 1e3};
    case ErrorKind::slope:
      return {"slope", "mrad", 1e3};
    case ErrorKind::focus:
      return {"focus", "percent", 1e2};
    case ErrorKind::curvature:
      return {"curvature", "per_km", 1e3};
  }
  return {};
}
/// What a build drew for a component, by the same names; three numbers where there are axes.
std::vector<std::pair<std::string, std::vector<double>>> drawn_of(const DrawnErrors& d) {
  return {{"pointing_mrad", list(1e3 * d.pointing_rad)},
          {"position_mm", list(1e3 * d.position_m)},
          {"focus_percent", {1e2 * d.focus}},
          {"curvature_per_km", {1e3 * d.curvature_per_m}}};
}
std::vector<std::pair<std::string, double>> rms_of(const BuildErrors& rms) {
  return {{"rms_pointing_mrad", 1e3 * rms.pointing_rad},
          {"rms_position_mm", 1e3 * rms.position_m},
          {"rms_focus_percent", 1e2 * rms.focus},
          {"rms_curvature_per_km", 1e3 * rms.curvature_per_m}};
}

NamedNumbers expected_hdf5(const MadeUpRun& run) {
  NamedNumbers out;
  const Schedule& s = run.schedule;
  const TraceResult& first = s.rows.front().result;
  add_head(out, s.seed, first.samples, s.wall_time_s);
  add(out, "/@searched", 1);
  add(out, "/@travel_cost_per_m", s.travel_cost_per_m);
  add(out, "/@search_samples", 6001);
  add(out, "/@search_seed", 6002);
  add(out, "/aperture_area_m2", first.aperture_area_m2);
  add(out, "/sun/dni_W_m2", 777);
  for (std::size_t i = 0; i < s.rows.size(); ++i) {
    const ScheduleRow& row = s.rows[i];
    out[place("/time", i)] = row.sun.posix_s;
    out[place("/branched", i)] = i == 1 ? 1 : 0;
    out[place("/sun/azimuth_deg", i)] = azimuth(row.sun.to_sun);
    out[place("/sun/elevation_deg", i)] = elevation(row.sun.to_sun);
    add_row(out, "/sun/to_sun", i, row.sun.to_sun);
    out[place("/sun/seed", i)] = static_cast<double>(row.result.seed);
    out[place("/incident_power_W", i)] = row.result.incident_power_W;
    add_row(out, "/closure_W", i, row.result.closure);
    add_row(out, "/optical_efficiency", i, row.result.optical_efficiency);
    add_row(out, "/intercept_factor", i, row.result.intercept_factor);
    for (std::size_t t = 0; t < term_count; ++t) {
      out[place("/budget/power_W", i * term_count + t)] = row.result.budget[t].value;
      out[place("/budget/power_standard_error_W", i * term_count + t)] = row.result.budget[t].standard_error;
    }
    for (const auto& [k, name] : {std::pair<std::size_t, std::string>{0, "pilot"}, {1, "follower"}}) {
      const std::string group = "/poses/" + name + "/";
      const ScheduledPose& pose = row.poses[k];
      add_row(out, group + "position_m", i, pose.position_m);
      if (k == 0) add_row(out, group + "offset_m", i, pose.offset_m);  // a law knows no home
      add_row(out, group + "axis", i, pose.axis);
      out[place(group + "roll_deg", i)] = pose.roll_rad / degree;
      add_row(out, group + "velocity_m_s", i, pose.velocity_m_s);
      out[place(group + "turn_rate_rad_s", i)] = pose.turn_rate_rad_s;
    }
    for (const ReceiverResult& r : row.result.receivers) {
      const std::string group = "/receivers/" + r.name + "/";
      for (const auto& [name, estimate] : estimates_of(r)) add_row(out, group + name, i, estimate);
      const HeatBalance heat = *heat_balance(run.scene, r);
      for (const auto& [name, estimate] : estimates_of(heat)) add_row(out, group + name, i, estimate);
      if (i > 0) continue;
      add(out, group + "area_m2", r.area_m2);
      add(out, group + "heat/temperature_K", heat.temperature_K);
      add(out, group + "heat/heat_loss_W", heat.heat_loss_W);
    }
  }

  add(out, "/tolerance/lost_share", {0.01, 0.05, 0.1});
  for (const ToleranceCurve& curve : run.tolerance) {
    const InUnit unit = in_unit(curve);
    const std::string group = "/tolerance/" + curve.component + "/" + unit.name + "/";
    for (std::size_t i = 0; i < curve.points.size(); ++i) {
      out[place(group + "error_" + unit.suffix, i)] = unit.per_si * curve.points[i].error;
      add_row(out, group + "intercept_factor", i, curve.points[i].intercept_factor);
      add_row(out, group + "absorbed_share", i, curve.points[i].absorbed_share);
    }
    for (std::size_t k = 0; k < 3; ++k) {
      const Estimate at_loss = times(*curve.error_at_loss[k], unit.per_si);
      out[place(group + "error_at_loss_" + unit.suffix, k)] = at_loss.value;
      out[place(group + "error_at_loss_standard_error_" + unit.suffix, k)] = at_loss.standard_error;
    }
  }

  const std::string builds = "/realisations/";
  add(out, builds + "build", {1, 2, 3});
  add(out, builds + "build@asked", 17);
  add(out, builds + "below", {0.05, 0.25, 0.5, 0.75, 0.95});
  for (std::size_t b = 0; b < 3; ++b) {
    const Realisation& build = run.realisations.builds[b];
    add_row(out, builds + "intercept_factor", b, build.intercept_factor);
    add_row(out, builds + "absorbed_share", b, build.absorbed_share);
    for (std::size_t k = 0; k < 2; ++k)
      for (const auto& [name, values] : drawn_of(build.drawn[k]))
        for (std::size_t axis = 0; axis < values.size(); ++axis)
          out[place(builds + run.realisations.components[k] + "/" + name, b * values.size() + axis)] = values[axis];
  }
  for (const auto& [name, rms] : rms_of(run.realisations.rms)) add(out, builds + name, rms);
  add_estimate(out, builds + "mean_absorbed_share", mean_share(run.realisations));
  std::size_t at_share = 0;
  for (const double below : {0.05, 0.25, 0.5, 0.75, 0.95})
    add_row(out, builds + "absorbed_share_at", at_share++, share_percentile(run.realisations, below));

  add(out, "/design/variant", {0, 1, 2});
  add(out, "/design/variant@best", 1);
  add(out, "/design/variant@searched_suns", 12);
  add(out, "/design/variant@original_kept", 1);
  for (std::size_t i = 0; i < 2; ++i) {
    const FreeParameter& p = run.design.parameters[i];
    out[place("/design/low", i)] = p.low;
    out[place("/design/high", i)] = p.high;
    out[place("/design/original", i)] = p.original;
    out[place("/design/best", i)] = run.design.variants[1].values[i];
    for (std::size_t v = 0; v < 3; ++v) out[place("/design/value", 2 * v + i)] = run.design.variants[v].values[i];
  }
  for (std::size_t v = 0; v < 3; ++v) out[place("/design/objective", v)] = run.design.variants[v].objective;
  add_estimate(out, "/design/original_mean", run.design.original);
  add_estimate(out, "/design/best_mean", run.design.found);
  add_estimate(out, "/design/gain", run.design.gain);
  return out;
}

void add_json(NamedNumbers& to, const std::string& pointer, const std::vector<double>& values) {
  for (std::size_t i = 0; i < values.size(); ++i) to[pointer + "/" + std::to_string(i)] = values[i];
}

NamedNumbers expected_json(const MadeUpRun& run) {
  const Schedule& s = run.schedule;
  NamedNumbers out{{"/schema_version", 2},
                   {"/seed", 6004},
                   {"/samples", 6003},
                   {"/wall_time_s", s.wall_time_s},
                   {"/search_samples", 6001},
                   {"/search_seed", 6002},
                   {"/travel_cost_per_m", s.travel_cost_per_m}};
  for (std::size_t i = 0; i < s.rows.size(); ++i) {
    const ScheduleRow& row = s.rows[i];
    const std::string sun = "/suns/" + std::to_string(i);
    out[sun + "/azimuth_deg"] = azimuth(row.sun.to_sun);
    out[sun + "/elevation_deg"] = elevation(row.sun.to_sun);
    out[sun + "/seed"] = static_cast<double>(row.result.seed);
    add_json_of(out, run.scene, sun, row.result);
    for (const auto& [k, name] : {std::pair<std::size_t, std::string>{0, "pilot"}, {1, "follower"}}) {
      const ScheduledPose& pose = row.poses[k];
      const std::string at_pose = sun + "/poses/" + name;
      add_json(out, at_pose + "/position_m", list(pose.position_m));
      if (k == 0) add_json(out, at_pose + "/offset_m", list(pose.offset_m));
      add_json(out, at_pose + "/axis", list(pose.axis));
      out[at_pose + "/roll_deg"] = pose.roll_rad / degree;
      add_json(out, at_pose + "/velocity_m_s", list(pose.velocity_m_s));
      out[at_pose + "/turn_rate_rad_s"] = pose.turn_rate_rad_s;
    }
  }
  for (const ToleranceCurve& curve : run.tolerance) {
    const InUnit unit = in_unit(curve);
    const std::string group = "/tolerance/" + curve.component + "/" + unit.name;
    for (std::size_t i = 0; i < curve.points.size(); ++i) {
      const std::string number = "/" + std::to_string(i);
      out[group + "/error_" + unit.suffix + number] = unit.per_si * curve.points[i].error;
      test::add_json(out, group + "/intercept_factor" + number, curve.points[i].intercept_factor);
      test::add_json(out, group + "/absorbed_share" + number, curve.points[i].absorbed_share);
    }
    constexpr double shares[] = {0.01, 0.05, 0.1};
    for (std::size_t k = 0; k < 3; ++k) {
      const std::string at_loss = group + "/error_at_loss_" + unit.suffix + "/" + std::to_string(k);
      out[at_loss + "/lost_share"] = shares[k];
      test::add_json(out, at_loss, times(*curve.error_at_loss[k], unit.per_si));
    }
  }
  const std::string builds = "/realisations";
  out[builds + "/asked"] = 17;
  test::add_json(out, builds + "/mean_absorbed_share", mean_share(run.realisations));
  constexpr double quoted[] = {0.05, 0.25, 0.5, 0.75, 0.95};
  for (std::size_t i = 0; i < 5; ++i) {
    const std::string entry = builds + "/absorbed_share_at/" + std::to_string(i);
    out[entry + "/below"] = quoted[i];
    test::add_json(out, entry, share_percentile(run.realisations, quoted[i]));
  }
  for (const auto& [name, rms] : rms_of(run.realisations.rms)) out[builds + "/" + name] = rms;
  for (std::size_t b = 0; b < 3; ++b) {
    const Realisation& build = run.realisations.builds[b];
    const std::string entry = builds + "/builds/" + std::to_string(b);
    test::add_json(out, entry + "/intercept_factor", build.intercept_factor);
    test::add_json(out, entry + "/absorbed_share", build.absorbed_share);
    for (std::size_t k = 0; k < 2; ++k)
      for (const auto& [name, values] : drawn_of(build.drawn[k])) {
        const std::string drawn = entry + "/" + run.realisations.components[k] + "/" + name;
        if (values.size() == 1)
          out[drawn] = values[0];
        else
          add_json(out, drawn, values);
      }
  }
  out["/design/searched_suns"] = 12;
  out["/design/best_variant"] = 1;
  test::add_json(out, "/design/original_mean", run.design.original);
  test::add_json(out, "/design/best_mean", run.design.found);
  test::add_json(out, "/design/gain", run.design.gain);
  for (std::size_t i = 0; i < 2; ++i) {
    const FreeParameter& p = run.design.parameters[i];
    const std::string entry = "/design/parameters/" + std::to_string(i);
    out[entry + "/low"] = p.low;
    out[entry + "/high"] = p.high;
    out[entry + "/original"] = p.original;
    out[entry + "/best"] = run.design.variants[1].values[i];
  }
  for (std::size_t v = 0; v < 3; ++v) {
    const std::string entry = "/design/variants/" + std::to_string(v);
    add_json(out, entry + "/value", run.design.variants[v].values);
    out[entry + "/objective"] = run.design.variants[v].objective;
  }
  return out;
}

NamedNumbers expected_csv(const MadeUpRun& run) {
  NamedNumbers out;
  for (std::size_t i = 0; i < run.schedule.rows.size(); ++i) {
    const ScheduleRow& row = run.schedule.rows[i];
    const auto put = [&](const std::string& name, double value) { out[place(name, i)] = value; };
    const auto put_vec = [&](const std::string& before, const std::string& after, const Vec& v) {
      put(before + "x" + after, v.x), put(before + "y" + after, v.y), put(before + "z" + after, v.z);
    };
    put("azimuth_deg", azimuth(row.sun.to_sun));
    put("elevation_deg", elevation(row.sun.to_sun));
    put("seed", static_cast<double>(row.result.seed));
    put("branched", i == 1 ? 1 : 0);
    for (const auto& [k, name] : {std::pair<std::size_t, std::string>{0, "pilot"}, {1, "follower"}}) {
      const ScheduledPose& pose = row.poses[k];
      put_vec(name + ".", "_m", pose.position_m);
      put_vec(name + ".axis_", "", pose.axis);
      put(name + ".roll_deg", pose.roll_rad / degree);
      put_vec(name + ".velocity_", "_m_s", pose.velocity_m_s);
      put(name + ".turn_rate_rad_s", pose.turn_rate_rad_s);
    }
    const auto put_estimate = [&](const std::string& name, const Estimate& e) {
      put(name, e.value);
      put(error_name(name), e.standard_error);
    };
    put("incident_power_W", row.result.incident_power_W);
    put_estimate("closure_W", row.result.closure);
    put_estimate("optical_efficiency", row.result.optical_efficiency);
    put_estimate("intercept_factor", row.result.intercept_factor);
    for (std::size_t t = 0; t < term_count; ++t) {
      put(term_name(t) + "_W", row.result.budget[t].value);
      put(term_name(t) + "_standard_error_W", row.result.budget[t].standard_error);
    }
    for (const ReceiverResult& r : row.result.receivers) {
      for (const auto& [name, estimate] : estimates_of(r)) put_estimate(r.name + "." + name, estimate);
      for (const auto& [name, estimate] : estimates_of(*heat_balance(run.scene, r)))
        put_estimate(r.name + ".heat." + name.substr(name.find('/') + 1), estimate);
    }
  }
  return out;
}

}  // namespace

TEST_CASE("a schedule's numbers come back at their own places", "[results][round-trip]") {
  const ScratchFolder folder;
  const MadeUpRun run;
  write_schedule(folder.path / "a.h5", run.scene, run.schedule, example_provenance(), run.extras());
  check_same_numbers(expected_hdf5(run), numbers_in_hdf5(folder.path / "a.h5"));
  check_same_numbers(expected_json(run),
                     numbers_in_json(to_json(run.scene, run.schedule, example_provenance(), "a.h5", run.extras())));
  check_same_numbers(expected_csv(run), numbers_in_csv(schedule_csv(run.scene, run.schedule)));
  // Read back, it is the same schedule.
  const Schedule again = schedule_of(read_result((folder.path / "a.h5").string()));
  CHECK(again.by_law == 1);
  check_same_numbers(expected_csv(run), numbers_in_csv(schedule_csv(run.scene, again)));
}

TEST_CASE("tables of tolerance and of builds have each number in its own column", "[results][round-trip]") {
  const MadeUpRun run;
  NamedNumbers expected;
  std::size_t line = 0;
  for (const ToleranceCurve& curve : run.tolerance)
    for (const TolerancePoint& point : curve.points) {
      expected[place("size", line)] = in_unit(curve).per_si * point.error;
      add_row(expected, "intercept_factor", line, point.intercept_factor);
      add_row(expected, "absorbed_share", line, point.absorbed_share);
      ++line;
    }
  check_same_numbers(expected, numbers_in_csv(tolerance_csv(run.tolerance)));

  expected.clear();
  for (std::size_t b = 0; b < 3; ++b) {
    const Realisation& build = run.realisations.builds[b];
    expected[place("build", b)] = static_cast<double>(b + 1);
    add_row(expected, "intercept_factor", b, build.intercept_factor);
    add_row(expected, "absorbed_share", b, build.absorbed_share);
    for (std::size_t k = 0; k < 2; ++k)
      for (const auto& [name, values] : drawn_of(build.drawn[k])) {
        const std::string component = run.realisations.components[k] + ".";
        const auto cut = name.find('_');
        constexpr const char* axes[] = {"_x", "_y", "_z"};
        for (std::size_t axis = 0; axis < values.size(); ++axis)
          expected[place(component + name.substr(0, cut) + (values.size() == 1 ? "" : axes[axis]) + name.substr(cut),
                         b)] = values[axis];
      }
  }
  check_same_numbers(expected, numbers_in_csv(realisations_csv(run.realisations)));
}
