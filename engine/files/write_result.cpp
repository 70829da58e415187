#include "files/write_result.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <fmt/ranges.h>
#include <string>
#include <utility>
#include <vector>

#include "files/hdf5_file.h"
#include "files/names.h"
#include "files/put_common.h"
#include "files/put_numbers.h"
#include "study/heat_numbers.h"
#include "trace/darkness.h"
#include "trace/tally/flux_grid.h"

namespace catoptra {
namespace {

using namespace hdf5_units;

void put_root(Hdf5File& file, const Scene& scene, const TraceResult& result, const Provenance& from) {
  put_provenance(file, scene, result.search, from);
  file.describe("/", "seed", result.seed);
  file.describe("/", "samples", result.samples);
  file.describe("/", "replicates", std::int64_t{result.replicates});
  file.describe("/", "wall_time_s", from.reproducible ? 0 : result.wall_time_s);
  file.describe("/", "precision_reached", std::int64_t{result.precision_reached});
  file.describe("/", "interrupted", std::int64_t{result.interrupted});
  file.describe("/", "warnings", fmt::format("{}", fmt::join(remarks(result), "\n")));

  put_numbers(file, "/", result_numbers, result);
}

void put_sun(Hdf5File& file, const Scene& scene, const TraceResult& result) {
  const Vec& s = result.to_sun;
  file.put("/sun/dni_W_m2", result.dni_W_m2, watt_per_m2, LongName{"direct normal irradiance"});
  file.put("/sun/azimuth_deg", azimuth_deg(s), degree, LongName{"azimuth of the sun, from north, clockwise"});
  file.put("/sun/elevation_deg", elevation_deg(s), degree, LongName{"elevation of the sun above the horizon"});
  const auto kind = std::visit([](const auto& shape) { return std::string(shape.kind); }, scene.sun.shape);
  file.put("/sun/shape", kind, ratio, LongName{"kind of sunshape; its numbers are in the scene's text"});
  const std::vector<std::string> axes{"east", "north", "up"};
  file.put_scale("/sun/axis", std::span<const std::string>(axes), ratio, LongName{"axes of the scene: x, y, z"});
  file.put("/sun/to_sun", std::vector{s.x, s.y, s.z}, {"/sun/axis"}, ratio,
           LongName{"unit vector from the ground to the sun's centre"});
}

void put_budget(Hdf5File& file, const TraceResult& result) {
  std::vector<double> by_replicate;
  std::vector<std::int64_t> numbers;
  for (const auto& replicate : result.budget_by_replicate) {
    numbers.push_back(static_cast<std::int64_t>(numbers.size()));
    by_replicate.insert(by_replicate.end(), replicate.begin(), replicate.end());
  }
  put_budget_terms(file);
  put_with_errors(file, "/budget/", "power", "_W", result.budget, {"/budget/term"}, watt, "power");
  file.put_scale("/budget/replicate", numbers, ratio,
                 LongName{"number of the replicate: an independent scrambling of the sample sequence"});
  file.put("/budget/power_by_replicate_W", by_replicate, {"/budget/replicate", "/budget/term"}, watt,
           LongName{"power by each replicate alone; with these, runs can be merged"});
  std::vector<std::string> names;
  std::vector<Estimate> powers;
  for (const ComponentPowers& component : result.by_component) {
    names.push_back(component.name);
    powers.insert(powers.end(), component.terms.begin(), component.terms.end());
  }
  if (names.empty()) return;
  file.put_scale("/budget/component", std::span<const std::string>(names), ratio,
                 LongName{"components of the scene, in its order"});
  put_with_errors(file, "/budget/", "power_by_component", "_W", powers, {"/budget/component", "/budget/term"}, watt,
                  "power of each term by the component that had the light last");
}

std::vector<double> centres(const std::vector<double>& edges) {
  std::vector<double> middle;
  for (std::size_t i = 1; i < edges.size(); ++i) middle.push_back((edges[i - 1] + edges[i]) / 2);
  return middle;
}

/// "x_m" has its edges in "x_edges_m": the unit stays last.
std::string edges_name(const FluxAxis& axis) {
  const std::string suffix = "_" + axis.unit;
  if (!axis.name.ends_with(suffix)) return axis.name + "_edges";
  return axis.name.substr(0, axis.name.size() - suffix.size()) + "_edges" + suffix;
}

void put_axis(Hdf5File& file, const std::string& group, const FluxAxis& axis) {
  file.put_scale(group + axis.name, centres(axis.edges), Units{axis.unit},
                 LongName{axis.long_name + ", centres of the bins"});
  file.describe(group + axis.name, "edges", edges_name(axis));
  file.put_scale(group + edges_name(axis), axis.edges, Units{axis.unit},
                 LongName{axis.long_name + ", edges of the bins"});
}

/// In how many places the receiver stands.
std::size_t copies_of(const Scene& scene, const std::string& receiver) {
  const auto found = std::ranges::find(scene.components, receiver, &Component::name);
  return found == scene.components.end() ? 1 : found->copies();
}

void put_flux(Hdf5File& file, const std::string& group, const FluxMap& map, std::size_t copies) {
  put_axis(file, group, map.first);
  put_axis(file, group, map.second);
  const Scales scales{group + map.first.name, group + map.second.name};
  const std::string which = copies > 1 ? fmt::format(", mean of the {} copies", copies) : "";
  put_with_errors(file, group, "flux", "_W_m2", map.flux_W_m2, map.standard_error_W_m2, scales, watt_per_m2,
                  "irradiance that arrives on the front" + which);
  file.describe(group + "flux_W_m2", "copies", static_cast<std::int64_t>(copies));
  file.describe(group + "flux_W_m2", "cell_measures", "area: bin_area_m2");
  file.put(group + "bin_area_m2", map.area_m2, scales, square_metre, LongName{"area of the bin inside the outline"});
}

void put_enclosed(Hdf5File& file, const std::string& group, const EnclosedPower& enclosed) {
  if (enclosed.radius_m.empty()) return;
  const std::string radius = group + "radius_m";
  file.put_scale(radius, enclosed.radius_m, metre, LongName{"distance"});
  file.describe(radius, "about", enclosed.about);
  put_with_errors(file, group, "fraction", "", enclosed.fraction, enclosed.standard_error, {radius}, ratio,
                  "share of the arriving power within the distance");
}

void put_receiver(Hdf5File& file, const Scene& scene, const ReceiverResult& receiver) {
  const std::string group = "/receivers/" + receiver.name + "/";
  put_numbers(file, group, receiver_numbers, receiver);
  file.describe(group + "peak_concentration", "position", std::span<const double>(receiver.peak_at));
  put_flux(file, group, receiver.flux, copies_of(scene, receiver.name));
  put_enclosed(file, group + "enclosed/", receiver.enclosed);
  if (const auto heat = heat_balance(scene, receiver)) put_numbers(file, group + "heat/", heat_numbers, *heat);
}

/// Paths as a ragged array (CF conventions 1.8, section 9.3.3, contiguous): vertices of all paths in a row.
void put_paths(Hdf5File& file, const std::vector<RayPath>& paths) {
  if (paths.empty()) return;
  std::vector<std::int64_t> number, offset, count, vertex_number;
  std::vector<std::int8_t> fate, fate_values;
  std::vector<double> power, vertices;
  for (const auto& path : paths) {
    number.push_back(static_cast<std::int64_t>(number.size()));
    offset.push_back(static_cast<std::int64_t>(vertices.size() / 3));
    count.push_back(static_cast<std::int64_t>(path.vertices_m.size()));
    fate.push_back(static_cast<std::int8_t>(path.fate));
    power.push_back(path.power_W);
    for (const auto& v : path.vertices_m) vertices.insert(vertices.end(), {v.x, v.y, v.z});
  }
  for (std::size_t i = 0; i < vertices.size() / 3; ++i) vertex_number.push_back(static_cast<std::int64_t>(i));
  for (std::size_t i = 0; i < term_names.size(); ++i) fate_values.push_back(static_cast<std::int8_t>(i));

  const Scales along{"/paths/path"};
  file.put_scale("/paths/path", number, ratio, LongName{"number of the path"});
  file.put("/paths/offset", offset, along, ratio, LongName{"number of the path's first vertex"});
  file.put("/paths/vertex_count", count, along, ratio, LongName{"number of vertices of the path"});
  file.describe("/paths/vertex_count", "sample_dimension", "vertex");
  file.put("/paths/fate", fate, along, ratio, LongName{"the budget's term that took most of the ray's power"});
  file.describe("/paths/fate", "flag_values", std::span<const std::int8_t>(fate_values));
  file.describe("/paths/fate", "flag_meanings", fmt::format("{}", fmt::join(term_names, " ")));
  file.put("/paths/power_W", power, along, watt, LongName{"power of the ray at its end"});
  file.put_scale("/paths/vertex", vertex_number, ratio, LongName{"number of the vertex"});
  const std::vector<std::string> axes{"east", "north", "up"};
  file.put_scale("/paths/axis", std::span<const std::string>(axes), ratio, LongName{"axes of the scene: x, y, z"});
  file.put(
      "/paths/vertices_m", vertices, {"/paths/vertex", "/paths/axis"}, metre,
      LongName{"points at which the rays turn, from the side of the sun to the place where most of their power ends"});
}

}  // namespace

double result_size_B(const Scene& scene, const TraceOptions& options) {
  // Measured: what HDF5 writes about its objects.
  constexpr double head_B = 60e3, receiver_B = 36e3, path_B = 200;
  double out = head_B + static_cast<double>(scene.text.size()) + path_B * options.paths;
  for (const auto& pulled : scene.pulled_in) out += static_cast<double>(pulled.text.size());
  for (const Component& component : scene.components) {
    if (component.role != Role::receiver) continue;
    const double first = component.flux_bins[0], second = component.flux_bins[1];
    // Irradiance, error and area of each bin; centres and edges of both axes; the curve of enclosed power.
    out += receiver_B + sizeof(double) * (3 * first * second + 2 * (first + second) + 3 * (radius_bins + 1));
  }
  return out;
}

void write_result(const std::filesystem::path& path, const Scene& scene, const TraceResult& result,
                  const Provenance& from) {
  Hdf5File file;
  put_root(file, scene, result, from);
  put_scene(file, scene);
  put_sun(file, scene, result);
  put_budget(file, result);
  for (const auto& receiver : result.receivers) put_receiver(file, scene, receiver);
  put_paths(file, result.paths);
  file.save(path);
}

}  // namespace catoptra
