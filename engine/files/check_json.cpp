#include "files/check_json.h"

#include <nlohmann/json.hpp>

#include "files/names.h"
#include "files/provenance.h"
#include "scene/describe.h"
#include "scene/facts.h"
#include "scene/roles.h"

namespace catoptra {
namespace {

using Json = nlohmann::ordered_json;

Json json_of(const Vec& v) {
  return Json::array({v.x, v.y, v.z});
}

Json json_of(const Problem& problem) {
  const bool in_file = problem.place.line > 0, in_setting = !in_file && !problem.source_line.empty();
  Json out{{"severity", problem.severity == Severity::error ? "error" : "warning"},
           {"file", in_setting ? Json() : Json(problem.path)},
           {"line", in_file ? Json(problem.place.line) : Json()},
           {"column", in_file || in_setting ? Json(problem.place.column) : Json()},
           {"width", in_file || in_setting ? Json(problem.place.width) : Json()},
           {"message", problem.message},
           {"notes", problem.notes},
           {"text", problem.text()}};
  return out;
}

std::string finish_name(const Scene& scene, int index) {
  return index < 0 ? "dark" : scene.finishes[static_cast<std::size_t>(index)].name;
}

Json json_of(const Scene& scene, const Component& component, const ComponentFacts& facts) {
  const Frame& first = facts.copies.front().frame;
  Json out{{"role", role_word(component.role)},
           {"name", component.name},
           {"shape", component.shape_kind},
           {"finish", finish_name(scene, component.front_finish)},
           {"back", finish_name(scene, component.back_finish)},
           {"mount", std::visit([](const auto& mount) { return mount.kind; }, component.mount)},
           {"copies", facts.copies.size()},
           {"facets", component.facets.size()},
           {facts.is_mirror ? "aperture_area_m2" : "front_area_m2", facts.area_m2},
           {"position_m", json_of(first.origin)},
           {"axis", json_of(first.ez)}};
  if (component.role == Role::receiver) out["flux_bins"] = component.flux_bins;
  return out;
}

void add_meaning(Json& out, const Scene& scene) {
  const SceneFacts facts = facts_of(scene);
  out["title"] = scene.title;
  out["site"] = nullptr;
  if (scene.site)
    out["site"] = {{"name", scene.site->name},
                   {"latitude_deg", scene.site->latitude_rad / units::degree_rad},
                   {"longitude_deg", scene.site->longitude_rad / units::degree_rad},
                   {"altitude_m", scene.site->altitude_m}};
  out["sun"] = {{"at", scene.sun.at.empty() ? Json() : Json(scene.sun.at)},
                {"azimuth_deg", azimuth_deg(scene.sun.toward)},
                {"elevation_deg", elevation_deg(scene.sun.toward)},
                {"dni_W_m2", scene.sun.dni_W_m2},
                {"shape", std::visit([](const auto& shape) { return shape.kind; }, scene.sun.shape)}};
  out["components"] = Json::array();
  for (std::size_t i = 0; i < scene.components.size(); ++i)
    out["components"].push_back(json_of(scene, scene.components[i], facts.components[i]));
  out["aperture_area_m2"] = facts.aperture_m2;
  out["facing_area_m2"] = facts.facing_m2;
  out["incident_power_W"] = scene.sun.dni_W_m2 * facts.facing_m2;
  out["receiver_area_m2"] = facts.receiver_m2;
  out["geometric_concentration"] = facts.receiver_m2 > 0 ? Json(facts.aperture_m2 / facts.receiver_m2) : Json();
  out["files"] = Json::array();
  for (const SourceFile& file : scene.pulled_in) out["files"].push_back(file.path);
  out["description"] = describe(scene);
}

}  // namespace

std::string check_json(const std::string& path, const std::vector<std::string>& settings, const ReadOutcome& outcome,
                       const Foretold& foretold) {
  Json out{{"schema_version", result_schema_version},
           {"generator", "Catoptra " CATOPTRA_VERSION},
           {"scene", path},
           {"settings", settings},
           {"sound", outcome.scene.has_value()},
           {"problems", Json::array()},
           {"problems_left_out", outcome.left_out}};
  for (const Problem& problem : outcome.problems) out["problems"].push_back(json_of(problem));
  if (outcome.scene) {
    add_meaning(out, *outcome.scene);
    out["trace_memory_B"] = foretold.memory_B;
    out["trace_file_B"] = foretold.file_B;
  }
  return out.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace catoptra
