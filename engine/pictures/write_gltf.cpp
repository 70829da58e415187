#include "pictures/write_gltf.h"

#include <algorithm>
#include <cmath>
#include <cstring>
#include <nlohmann/json.hpp>

#include "files/whole_file.h"
#include "pictures/colours.h"
#include "scene/roles.h"

namespace catoptra {
namespace {

using Json = nlohmann::ordered_json;

// The specification's numbers.
enum ComponentType { unsigned_short = 5123, unsigned_int = 5125, single_float = 5126 };
enum Target { array_buffer = 34962, element_array_buffer = 34963 };
enum Mode { lines = 1, triangles = 4 };

class Builder {
 public:
  explicit Builder(const std::string& generator) {
    json_["asset"] = {{"version", "2.0"}, {"generator", generator}};
    json_["scene"] = 0;
    // z up to y up: a quarter turn about x.
    const double half = std::sqrt(0.5);
    json_["nodes"] = {{{"name", "east-north-up"}, {"rotation", {-half, 0, 0, half}}, {"children", Json::array()}}};
    json_["scenes"] = {{{"nodes", {0}}}};
    for (const char* list : {"meshes", "materials", "accessors", "bufferViews"}) json_[list] = Json::array();
  }

  int material(const std::string& name, const Colour& colour, bool lit, bool mirror, bool clear = false) {
    const Colour c = linear(colour);
    Json material{{"name", name},
                  {"pbrMetallicRoughness",
                   {{"baseColorFactor", {c[0], c[1], c[2], clear ? 0.3 : 1.0}},
                    {"metallicFactor", mirror ? 0.6 : 0.0},
                    {"roughnessFactor", mirror ? 0.25 : 0.9}}},
                  {"doubleSided", true}};
    if (clear) material["alphaMode"] = "BLEND";
    if (!lit) {  // what is painted shows the colours of the scale, whatever light a viewer throws on it
      material["extensions"]["KHR_materials_unlit"] = Json::object();
      json_["extensionsUsed"] = {"KHR_materials_unlit"};
    }
    return append("materials", std::move(material));
  }

  /// Vectors as an accessor; bounds are asked of positions alone.
  int vectors(const std::vector<Vec>& list, bool bounds) {
    std::vector<float> numbers;
    std::array<float, 3> low{}, high{};
    for (const Vec& v : list) {
      const std::array<float, 3> at{static_cast<float>(v.x), static_cast<float>(v.y), static_cast<float>(v.z)};
      for (std::size_t k = 0; k < 3; ++k) {
        low[k] = numbers.size() < 3 ? at[k] : std::min(low[k], at[k]);
        high[k] = numbers.size() < 3 ? at[k] : std::max(high[k], at[k]);
      }
      numbers.insert(numbers.end(), at.begin(), at.end());
    }
    Json accessor{{"bufferView", view(numbers, array_buffer)},
                  {"componentType", single_float},
                  {"count", list.size()},
                  {"type", "VEC3"}};
    if (bounds) accessor["min"] = low, accessor["max"] = high;
    return append("accessors", std::move(accessor));
  }
  int colours(const std::vector<Colour>& list) {
    std::vector<std::uint16_t> numbers;
    for (const Colour& colour : list) {
      for (const double x : linear(colour)) numbers.push_back(static_cast<std::uint16_t>(std::lround(65535 * x)));
      numbers.push_back(65535);  // opaque; and four of them keep the alignment
    }
    return append("accessors", {{"bufferView", view(numbers, array_buffer)},
                                {"componentType", unsigned_short},
                                {"normalized", true},
                                {"count", list.size()},
                                {"type", "VEC4"}});
  }
  int indices(const std::vector<std::uint32_t>& list) {
    return append("accessors", {{"bufferView", view(list, element_array_buffer)},
                                {"componentType", unsigned_int},
                                {"count", list.size()},
                                {"type", "SCALAR"}});
  }

  int mesh(const std::string& name, Json primitive, Json extras = Json::object()) {
    Json mesh{{"name", name}, {"primitives", {std::move(primitive)}}};
    if (!extras.empty()) mesh["extras"] = std::move(extras);
    return append("meshes", std::move(mesh));
  }
  void node(const std::string& name, int mesh, const Frame* frame = nullptr) {
    Json node{{"name", name}, {"mesh", mesh}};
    // One that stands at the origin, upright, needs none.
    if (frame != nullptr && !(frame->is_upright() && frame->origin == Vec{0, 0, 0})) {
      Json matrix = Json::array();  // column by column
      for (const Vec& v : {frame->ex, frame->ey, frame->ez}) matrix.insert(matrix.end(), {v.x, v.y, v.z, 0});
      matrix.insert(matrix.end(), {frame->origin.x, frame->origin.y, frame->origin.z, 1});
      node["matrix"] = std::move(matrix);
    }
    json_["nodes"][0]["children"].push_back(append("nodes", std::move(node)));
  }

  void save(const std::filesystem::path& path) {
    json_["buffers"] = {{{"byteLength", binary_.size()}}};
    std::string text = json_.dump(-1, ' ', false, Json::error_handler_t::replace);
    text.resize((text.size() + 3) / 4 * 4, ' ');
    binary_.resize((binary_.size() + 3) / 4 * 4);
    std::vector<std::byte> out;
    const auto number = [&](std::size_t n) {
      const auto word = static_cast<std::uint32_t>(n);
      const auto* bytes = reinterpret_cast<const std::byte*>(&word);  // x86-64 is little-endian, as glTF is
      out.insert(out.end(), bytes, bytes + 4);
    };
    number(0x46546C67), number(2), number(12 + 8 + text.size() + 8 + binary_.size());  // "glTF", version, length
    number(text.size()), number(0x4E4F534A);                                           // "JSON"
    const auto* letters = reinterpret_cast<const std::byte*>(text.data());
    out.insert(out.end(), letters, letters + text.size());
    number(binary_.size()), number(0x004E4942);  // "BIN"
    out.insert(out.end(), binary_.begin(), binary_.end());
    write_whole_file(path, out);
  }

 private:
  int append(const char* list, Json entry) {
    json_[list].push_back(std::move(entry));
    return static_cast<int>(json_[list].size()) - 1;
  }
  template <class T>
  int view(const std::vector<T>& numbers, Target target) {
    static_assert(sizeof(T) <= 4);
    const std::size_t begin = binary_.size(), bytes = numbers.size() * sizeof(T);
    binary_.resize((begin + bytes + 3) / 4 * 4);
    std::memcpy(binary_.data() + begin, numbers.data(), bytes);
    return append("bufferViews", {{"buffer", 0}, {"byteOffset", begin}, {"byteLength", bytes}, {"target", target}});
  }

  Json json_;
  std::vector<std::byte> binary_;
};

Json plain_surface(Builder& to, const Mesh& mesh, int material) {
  std::vector<std::uint32_t> corners;
  for (const auto& triangle : mesh.triangles) corners.insert(corners.end(), triangle.begin(), triangle.end());
  return {{"attributes", {{"POSITION", to.vectors(mesh.points_m, true)}, {"NORMAL", to.vectors(mesh.normals, false)}}},
          {"indices", to.indices(corners)},
          {"material", material},
          {"mode", triangles}};
}

/// Corners of their own for every triangle, so that colours end where bins do.
Json painted_surface(Builder& to, const ComponentView& receiver, const FluxMap& map, double largest, int material) {
  const auto bins = bins_of_triangles(receiver, map);
  std::vector<Vec> points;
  std::vector<Vec> normals;
  std::vector<Colour> colours;
  for (std::size_t t = 0; t < bins.size(); ++t) {
    const double flux = map.flux_W_m2.at(bins[t]);
    for (const auto corner : receiver.mesh.triangles[t]) {
      points.push_back(receiver.mesh.points_m[corner]);
      normals.push_back(receiver.mesh.normals[corner]);
      colours.push_back(flux_colour(std::isfinite(flux) && largest > 0 ? flux / largest : 0));
    }
  }
  return {{"attributes",
           {{"POSITION", to.vectors(points, true)},
            {"NORMAL", to.vectors(normals, false)},
            {"COLOR_0", to.colours(colours)}}},
          {"material", material},
          {"mode", triangles}};
}

void add_lines(Builder& to, const std::string& name, const std::vector<Vec>& points, const Colour& colour) {
  const int material = to.material(name, colour, false, false);
  to.node(name,
          to.mesh(name,
                  {{"attributes", {{"POSITION", to.vectors(points, true)}}}, {"material", material}, {"mode", lines}}));
}

double largest_flux_W_m2(std::span<const NamedMap> maps) {
  double largest = 0;
  for (const NamedMap& map : maps)
    for (const double flux : map.map.flux_W_m2) largest = std::isfinite(flux) ? std::fmax(largest, flux) : largest;
  return largest;
}

void add_components(Builder& to, const SceneView& view, std::span<const NamedMap> maps) {
  const double largest = largest_flux_W_m2(maps);
  std::array<int, all_roles.size()> materials{};
  materials.fill(-1);
  int painted = -1;
  for (const ComponentView& component : view.components) {
    const auto map = std::ranges::find(maps, component.name, &NamedMap::receiver);
    int mesh = 0;
    if (map != maps.end()) {
      if (painted < 0) painted = to.material("irradiance", {1, 1, 1}, false, false);
      mesh = to.mesh(component.name, painted_surface(to, component, map->map, largest, painted),
                     {{"largest_flux_W_m2", largest}});
    } else {
      const auto role = static_cast<std::size_t>(std::ranges::find(all_roles, component.role) - all_roles.begin());
      const bool mirror = component.role == Role::primary || component.role == Role::secondary;
      if (materials[role] < 0)
        materials[role] = to.material(std::string(role_word(component.role)), role_colour(component.role), true, mirror,
                                      component.role == Role::cover);
      mesh = to.mesh(component.name, plain_surface(to, component.mesh, materials[role]));
    }
    for (const Frame& frame : component.copies) to.node(component.name, mesh, &frame);
  }
}

void add_paths(Builder& to, std::span<const RayPath> paths) {
  for (std::size_t fate = 0; fate < term_names.size(); ++fate) {
    std::vector<Vec> points;
    for (const RayPath& path : paths) {
      if (static_cast<std::size_t>(path.fate) != fate) continue;
      for (std::size_t i = 1; i < path.vertices_m.size(); ++i)
        points.insert(points.end(), {path.vertices_m[i - 1], path.vertices_m[i]});
    }
    if (!points.empty())
      add_lines(to, "rays: " + std::string(term_names[fate]), points, fate_colour(static_cast<Fate>(fate)));
  }
}

}  // namespace

void write_gltf(const std::filesystem::path& path, const SceneView& view, std::span<const NamedMap> maps,
                std::span<const RayPath> paths, const std::string& generator) {
  Builder builder(generator);
  add_components(builder, view, maps);
  add_paths(builder, paths);
  const Vec middle = 0.5 * (view.bounds_m.low + view.bounds_m.high);
  const double reach_m = length(view.bounds_m.high - view.bounds_m.low);
  add_lines(builder, "toward the sun", {middle, middle + reach_m * view.to_sun}, {0.94, 0.89, 0.26});
  builder.save(path);
}

}  // namespace catoptra
