#include "pictures/write_vtkhdf.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <fmt/ranges.h>
#include <stdexcept>

#include "files/hdf5_handle.h"
#include "files/whole_file.h"
#include "scene/roles.h"

namespace catoptra {
namespace {

using hdf5::Handle;

template <class Number>
Number checked(Number status) {
  if (status < 0) throw std::runtime_error(fmt::format("can't write a VTKHDF file: {}", hdf5::library_words()));
  return status;
}
Handle kept(hid_t id, herr_t (*close)(hid_t)) {
  return {checked(id), close};
}

enum CellType : std::uint8_t { poly_line = 4, triangle = 5 };  // VTK's numbers for them

/// The grid's arrays, cell by cell.
struct Grid {
  std::vector<double> points_m;
  std::vector<std::int64_t> connectivity, offsets{0};
  std::vector<std::uint8_t> types;
  std::vector<std::int32_t> component, role, fate;
  std::vector<double> flux_W_m2, flux_standard_error_W_m2, power_W;

  std::int64_t point(const Vec& p) {
    points_m.insert(points_m.end(), {p.x, p.y, p.z});
    return static_cast<std::int64_t>(points_m.size() / 3) - 1;
  }
  void close_cell(CellType type) {
    offsets.push_back(static_cast<std::int64_t>(connectivity.size()));
    types.push_back(type);
  }
};

void add(Grid& grid, const ComponentView& component, int number, const FluxMap* map) {
  const auto role = static_cast<std::int32_t>(std::ranges::find(all_roles, component.role) - all_roles.begin());
  const auto bins = map != nullptr ? bins_of_triangles(component, *map) : std::vector<std::size_t>();
  for (const Frame& frame : component.copies) {
    const auto first = static_cast<std::int64_t>(grid.points_m.size() / 3);
    for (const Vec& p : component.mesh.points_m) grid.point(frame.point_to_world(p));
    for (std::size_t t = 0; t < component.mesh.triangles.size(); ++t) {
      for (const auto corner : component.mesh.triangles[t]) grid.connectivity.push_back(first + corner);
      grid.close_cell(triangle);
      grid.component.push_back(number);
      grid.role.push_back(role);
      grid.fate.push_back(-1);
      grid.power_W.push_back(std::nan(""));
      grid.flux_W_m2.push_back(map != nullptr ? map->flux_W_m2.at(bins[t]) : std::nan(""));
      grid.flux_standard_error_W_m2.push_back(map != nullptr ? map->standard_error_W_m2.at(bins[t]) : std::nan(""));
    }
  }
}

void add(Grid& grid, const RayPath& path) {
  for (const Vec& v : path.vertices_m) grid.connectivity.push_back(grid.point(v));
  grid.close_cell(poly_line);
  grid.component.push_back(-1);
  grid.role.push_back(-1);
  grid.fate.push_back(static_cast<std::int32_t>(path.fate));
  grid.power_W.push_back(path.power_W);
  grid.flux_W_m2.push_back(std::nan(""));
  grid.flux_standard_error_W_m2.push_back(std::nan(""));
}

class File {
 public:
  File()
      : file_(create()),
        group_(kept(H5Gcreate2(file_, "VTKHDF", H5P_DEFAULT, untimed(H5P_GROUP_CREATE), H5P_DEFAULT), H5Gclose)) {
    const std::int64_t version[] = {1, 0};
    const hsize_t two = 2;
    const Handle space = kept(H5Screate_simple(1, &two, nullptr), H5Sclose);
    const Handle attribute =
        kept(H5Acreate2(group_, "Version", H5T_STD_I64LE, space, H5P_DEFAULT, H5P_DEFAULT), H5Aclose);
    checked(H5Awrite(attribute, H5T_NATIVE_INT64, version));
    describe(group_, "Type", "UnstructuredGrid");
  }

  void put(const Grid& grid, const std::string& components, const std::string& roles, const std::string& fates) {
    const auto count = [&](const char* name, std::size_t number) {
      put(name, std::vector{static_cast<std::int64_t>(number)});
    };
    count("NumberOfPoints", grid.points_m.size() / 3);
    count("NumberOfCells", grid.types.size());
    count("NumberOfConnectivityIds", grid.connectivity.size());
    put("Points", grid.points_m, 3);
    put("Connectivity", grid.connectivity);
    put("Offsets", grid.offsets);
    put("Types", grid.types);
    const Handle cells =
        kept(H5Gcreate2(group_, "CellData", H5P_DEFAULT, untimed(H5P_GROUP_CREATE), H5P_DEFAULT), H5Gclose);
    describe(put("CellData/component", grid.component), "names", components);
    describe(put("CellData/role", grid.role), "flag_meanings", roles);
    describe(put("CellData/fate", grid.fate), "flag_meanings", fates);
    describe(put("CellData/flux_W_m2", grid.flux_W_m2), "units", "W m-2");
    describe(put("CellData/flux_standard_error_W_m2", grid.flux_standard_error_W_m2), "units", "W m-2");
    describe(put("CellData/power_W", grid.power_W), "units", "W");
  }

  void save(const std::filesystem::path& path) const {
    checked(H5Fflush(file_, H5F_SCOPE_GLOBAL));
    std::vector<std::byte> image(static_cast<std::size_t>(checked(H5Fget_file_image(file_, nullptr, 0))));
    checked(H5Fget_file_image(file_, image.data(), image.size()));
    write_whole_file(path, image);
  }

 private:
  static Handle create() {  // in memory: `save` alone touches the disk
    const Handle access = kept(H5Pcreate(H5P_FILE_ACCESS), H5Pclose);
    checked(H5Pset_fapl_core(access, 1 << 20, false));
    return kept(H5Fcreate("in memory", H5F_ACC_TRUNC, H5P_DEFAULT, access), H5Fclose);
  }
  /// Equal calls give equal bytes.
  static Handle untimed(hid_t kind) {
    Handle how = kept(H5Pcreate(kind), H5Pclose);
    checked(H5Pset_obj_track_times(how, false));
    return how;
  }

  static hid_t type_of(double) { return H5T_IEEE_F64LE; }
  static hid_t type_of(std::int64_t) { return H5T_STD_I64LE; }
  static hid_t type_of(std::int32_t) { return H5T_STD_I32LE; }
  static hid_t type_of(std::uint8_t) { return H5T_STD_U8LE; }

  /// Rows of `columns` numbers; a plain list for 1. x86-64 is little-endian, in memory as on the disk.
  template <class T>
  Handle put(const char* name, const std::vector<T>& values, hsize_t columns = 1) {
    const hsize_t shape[] = {values.size() / columns, columns};
    const Handle space = kept(H5Screate_simple(columns == 1 ? 1 : 2, shape, nullptr), H5Sclose);
    const hid_t type = type_of(T{});
    Handle set =
        kept(H5Dcreate2(group_, name, type, space, H5P_DEFAULT, untimed(H5P_DATASET_CREATE), H5P_DEFAULT), H5Dclose);
    checked(H5Dwrite(set, type, H5S_ALL, H5S_ALL, H5P_DEFAULT, values.data()));
    return set;
  }

  /// Text of fixed length, which is all that VTK's reader knows; ASCII, or UTF-8 where a name needs it.
  static void describe(hid_t object, const char* name, const std::string& text) {
    const Handle type = kept(H5Tcopy(H5T_C_S1), H5Tclose);
    checked(H5Tset_size(type, std::max<std::size_t>(1, text.size())));
    checked(H5Tset_strpad(type, H5T_STR_NULLPAD));
    const bool ascii = std::ranges::all_of(text, [](char c) { return static_cast<unsigned char>(c) < 0x80; });
    checked(H5Tset_cset(type, ascii ? H5T_CSET_ASCII : H5T_CSET_UTF8));
    const Handle space = kept(H5Screate(H5S_SCALAR), H5Sclose);
    const Handle attribute = kept(H5Acreate2(object, name, type, space, H5P_DEFAULT, H5P_DEFAULT), H5Aclose);
    checked(H5Awrite(attribute, type, text.data()));
  }

  Handle file_, group_;
};

}  // namespace

void write_vtkhdf(const std::filesystem::path& path, const SceneView& view, std::span<const NamedMap> maps,
                  std::span<const RayPath> paths) {
  Grid grid;
  std::vector<std::string> names;
  for (const ComponentView& component : view.components) {
    const auto map = std::ranges::find(maps, component.name, &NamedMap::receiver);
    add(grid, component, static_cast<int>(names.size()), map != maps.end() ? &map->map : nullptr);
    names.push_back(component.name);
  }
  for (const RayPath& ray : paths) add(grid, ray);
  std::vector<std::string_view> roles;
  for (const Role role : all_roles) roles.push_back(role_word(role));
  File file;
  file.put(grid, fmt::format("{}", fmt::join(names, "\n")), fmt::format("{}", fmt::join(roles, " ")),
           fmt::format("{}", fmt::join(term_names, " ")));
  file.save(path);
}

}  // namespace catoptra
