// Made-up numbers, all different, through HDF5, JSON and CSV: each comes back under its own name, at its own place and
// in its own unit, and nothing else does. Names and units are those of docs/result-schema.md.
#include "example_result.h"
#include "expected_numbers.h"
#include "files/json.h"
#include "files/write_result.h"
#include "made_up.h"
#include "scratch_folder.h"
#include "words/export_csv.h"

using namespace catoptra;
using namespace catoptra::test;

namespace {

NamedNumbers expected_hdf5(const Scene& scene, const TraceResult& result) {
  NamedNumbers out;
  add_head(out, result.seed, result.samples, result.wall_time_s);
  add(out, "/@precision_reached", 1);
  add(out, "/aperture_area_m2", result.aperture_area_m2);
  add(out, "/incident_power_W", result.incident_power_W);
  add_estimate(out, "/closure_W", result.closure);
  add_estimate(out, "/optical_efficiency", result.optical_efficiency);
  add_estimate(out, "/intercept_factor", result.intercept_factor);
  add(out, "/sun/dni_W_m2", result.dni_W_m2);
  add(out, "/sun/azimuth_deg", azimuth(result.to_sun));
  add(out, "/sun/elevation_deg", elevation(result.to_sun));
  add(out, "/sun/to_sun", list(result.to_sun));
  for (std::size_t t = 0; t < term_count; ++t) {
    out[at("/budget/power_W", t)] = result.budget[t].value;
    out[at("/budget/power_standard_error_W", t)] = result.budget[t].standard_error;
    for (std::size_t r = 0; r < 2; ++r)
      out[at("/budget/power_by_replicate_W", r * term_count + t)] = result.budget_by_replicate[r][t];
  }
  add(out, "/budget/replicate", {0, 1});
  for (std::size_t c = 0; c < 3; ++c)
    for (std::size_t t = 0; t < term_count; ++t) {
      const Estimate& power = result.by_component[c].terms[t];
      out[at("/budget/power_by_component_W", c * term_count + t)] = power.value;
      out[at("/budget/power_by_component_standard_error_W", c * term_count + t)] = power.standard_error;
    }
  for (const ReceiverResult& r : result.receivers) {
    const std::string group = "/receivers/" + r.name + "/";
    add(out, group + "area_m2", r.area_m2);
    for (const auto& [name, estimate] : estimates_of(r)) add_estimate(out, group + name, estimate);
    add(out, group + "peak_concentration@position", {r.peak_at[0], r.peak_at[1]});
    const bool tube = r.name == "tube";
    add(out, group + (tube ? "azimuth_rad" : "x_m"), middles(r.flux.first.edges));
    add(out, group + (tube ? "azimuth_edges_rad" : "x_edges_m"), r.flux.first.edges);
    add(out, group + (tube ? "height_m" : "y_m"), middles(r.flux.second.edges));
    add(out, group + (tube ? "height_edges_m" : "y_edges_m"), r.flux.second.edges);
    add(out, group + "flux_W_m2", r.flux.flux_W_m2);
    add(out, group + "flux_standard_error_W_m2", r.flux.standard_error_W_m2);
    add(out, group + "bin_area_m2", r.flux.area_m2);
    add(out, group + "flux_W_m2@copies", 1);
    add(out, group + "enclosed/radius_m", r.enclosed.radius_m);
    add(out, group + "enclosed/fraction", r.enclosed.fraction);
    add(out, group + "enclosed/fraction_standard_error", r.enclosed.standard_error);
    const HeatBalance heat = *heat_balance(scene, r);
    add(out, group + "heat/temperature_K", heat.temperature_K);
    add(out, group + "heat/heat_loss_W", heat.heat_loss_W);
    for (const auto& [name, estimate] : estimates_of(heat)) add_estimate(out, group + name, estimate);
  }
  add(out, "/paths/path", {0, 1});
  add(out, "/paths/offset", {0, 3});
  add(out, "/paths/vertex_count", {3, 2});
  add(out, "/paths/fate", {6, 5});  // by the order of flag_meanings
  add(out, "/paths/fate@flag_values", {0, 1, 2, 3, 4, 5, 6, 7, 8});
  add(out, "/paths/power_W", {result.paths[0].power_W, result.paths[1].power_W});
  add(out, "/paths/vertex", {0, 1, 2, 3, 4});
  std::vector<double> vertices;
  for (const RayPath& path : result.paths)
    for (const Vec& v : path.vertices_m) vertices.insert(vertices.end(), {v.x, v.y, v.z});
  add(out, "/paths/vertices_m", vertices);
  return out;
}

NamedNumbers expected_json(const Scene& scene, const TraceResult& result) {
  NamedNumbers out{{"/schema_version", 2},
                   {"/seed", static_cast<double>(result.seed)},
                   {"/samples", static_cast<double>(result.samples)},
                   {"/replicates", 2},
                   {"/wall_time_s", result.wall_time_s},
                   {"/sun/dni_W_m2", result.dni_W_m2},
                   {"/sun/azimuth_deg", azimuth(result.to_sun)},
                   {"/sun/elevation_deg", elevation(result.to_sun)},
                   {"/aperture_area_m2", result.aperture_area_m2}};
  add_json_of(out, scene, "", result);
  for (const ComponentPowers& component : result.by_component)
    for (std::size_t t = 0; t < term_count; ++t) {
      const std::string place = "/budget_by_component/" + component.name + "/" + std::string(term_names[t]);
      add_json(out, place + "/power_W", component.terms[t]);
    }
  for (const ReceiverResult& r : result.receivers) {
    const std::string at = "/receivers/" + r.name + "/";
    out[at + "area_m2"] = r.area_m2;
    const bool tube = r.name == "tube";
    out[at + "peak_concentration/position/" + (tube ? "azimuth_rad" : "x_m")] = r.peak_at[0];
    out[at + "peak_concentration/position/" + (tube ? "height_m" : "y_m")] = r.peak_at[1];
  }
  return out;
}

}  // namespace

TEST_CASE("a trace's numbers come back at their own places", "[results][round-trip]") {
  const ScratchFolder folder;
  const Scene scene = made_up_scene();
  MadeUp made;
  const TraceResult result = made.trace();
  write_result(folder.path / "a.h5", scene, result, example_provenance());
  check_same_numbers(expected_hdf5(scene, result), numbers_in_hdf5(folder.path / "a.h5"));
  check_same_numbers(expected_json(scene, result),
                     numbers_in_json(to_json(scene, result, example_provenance(), "a.h5")));
}

TEST_CASE("a flux map's table has each bin beside its own place", "[results][round-trip]") {
  MadeUp made;
  Component plate, tube;
  tube.surface = Cylinder{0.25, 2, 1};
  for (const bool is_tube : {false, true}) {
    const ReceiverResult r = made.receiver("r", is_tube);
    const FluxMap& map = r.flux;
    NamedNumbers expected;
    const auto first = middles(map.first.edges), second = middles(map.second.edges);
    for (std::size_t i = 0; i < 2; ++i)
      for (std::size_t j = 0; j < 3; ++j) {
        const std::size_t bin = 3 * i + j;
        expected[at(is_tube ? "azimuth_rad" : "x_m", bin)] = first[i];
        if (is_tube) expected[at("around_m", bin)] = 0.25 * first[i];
        expected[at(is_tube ? "height_m" : "y_m", bin)] = second[j];
        expected[at("flux_W_m2", bin)] = map.flux_W_m2[bin];
        expected[at("flux_standard_error_W_m2", bin)] = map.standard_error_W_m2[bin];
        expected[at("bin_area_m2", bin)] = map.area_m2[bin];
      }
    check_same_numbers(expected, numbers_in_csv(flux_csv(is_tube ? tube : plate, map)));
  }
}
