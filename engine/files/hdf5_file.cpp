#include "files/hdf5_file.h"

#include <algorithm>
#include <fmt/format.h>
#include <hdf5.h>
#include <hdf5_hl.h>
#include <stdexcept>

#include "files/file_check.h"
#include "files/hdf5_handle.h"
#include "files/whole_file.h"

namespace catoptra {
namespace {

template <class Number>
Number checked(Number status, const std::string& path) {
  if (status < 0)
    throw std::runtime_error(fmt::format("can't write '{}' of an HDF5 file: {}", path, hdf5::library_words()));
  return status;
}

struct Handle : hdf5::Handle {
  Handle(hid_t id, herr_t (*close)(hid_t), const std::string& path) : hdf5::Handle(checked(id, path), close) {}
};

Handle properties(hid_t cls) {
  return {H5Pcreate(cls), H5Pclose, "properties"};
}

Handle text_type(const std::string& path) {
  Handle type(H5Tcopy(H5T_C_S1), H5Tclose, path);
  checked(H5Tset_size(type, H5T_VARIABLE), path);
  checked(H5Tset_cset(type, H5T_CSET_UTF8), path);
  return type;
}

Handle space_of(std::span<const hsize_t> shape, const std::string& path) {
  if (shape.empty()) return {H5Screate(H5S_SCALAR), H5Sclose, path};
  return {H5Screate_simple(static_cast<int>(shape.size()), shape.data(), nullptr), H5Sclose, path};
}

/// Types on the disk are fixed, little-endian, whatever the machine.
struct Types {
  hid_t on_disk, in_memory;
};
template <class T>
Types types_of();
template <>
Types types_of<double>() {
  return {H5T_IEEE_F64LE, H5T_NATIVE_DOUBLE};
}
template <>
Types types_of<std::int64_t>() {
  return {H5T_STD_I64LE, H5T_NATIVE_INT64};
}
template <>
Types types_of<std::uint64_t>() {
  return {H5T_STD_U64LE, H5T_NATIVE_UINT64};
}
template <>
Types types_of<std::int8_t>() {
  return {H5T_STD_I8LE, H5T_NATIVE_INT8};
}

void write_attribute(hid_t object, const std::string& path, const std::string& name, Types types,
                     std::span<const hsize_t> shape, const void* data) {
  const std::string where = path + "@" + name;
  const Handle space = space_of(shape, where);
  const Handle attribute(H5Acreate2(object, name.c_str(), types.on_disk, space, H5P_DEFAULT, H5P_DEFAULT), H5Aclose,
                         where);
  checked(H5Awrite(attribute, types.in_memory, data), where);
}

void write_text_attribute(hid_t object, const std::string& path, const std::string& name, std::string_view text) {
  const Handle type = text_type(path);
  const std::string terminated(text);
  const char* pointer = terminated.c_str();
  write_attribute(object, path, name, {type, type}, {}, &pointer);
}

/// Chunks of at most 8 MiB, whole rows together; a checksum lies on each.
std::vector<hsize_t> chunk_of(std::vector<hsize_t> shape, std::size_t size_B) {
  constexpr hsize_t most_B = 8 << 20;
  hsize_t total_B = size_B;
  for (const auto n : shape) total_B *= n;
  for (auto& n : shape) {
    if (total_B <= most_B) break;
    const hsize_t rest_B = total_B / n;
    n = std::max<hsize_t>(1, most_B / rest_B);
    total_B = rest_B * n;
  }
  return shape;
}

}  // namespace

struct Hdf5File::Inside {
  Handle file;

  /// Makes the groups on the way to `path` where they are missing.
  void make_groups(const std::string& path) const {
    for (auto slash = path.find('/', 1); slash != std::string::npos; slash = path.find('/', slash + 1)) {
      const std::string group = path.substr(0, slash);
      if (checked(H5Lexists(file, group.c_str(), H5P_DEFAULT), group) > 0) continue;
      const Handle how = properties(H5P_GROUP_CREATE);
      checked(H5Pset_obj_track_times(how, false), group);
      checked(H5Pset_link_creation_order(how, H5P_CRT_ORDER_TRACKED | H5P_CRT_ORDER_INDEXED), group);
      const Handle made(H5Gcreate2(file, group.c_str(), H5P_DEFAULT, how, H5P_DEFAULT), H5Gclose, group);
    }
  }

  Handle open_dataset(const std::string& path) const {
    return {H5Dopen2(file, path.c_str(), H5P_DEFAULT), H5Dclose, path};
  }

  std::vector<hsize_t> shape_over(const Scales& scales) const {
    std::vector<hsize_t> shape;
    for (const auto& scale : scales) {
      const Handle set = open_dataset(scale);
      const Handle space(H5Dget_space(set), H5Sclose, scale);
      shape.push_back(static_cast<hsize_t>(checked(H5Sget_simple_extent_npoints(space), scale)));
    }
    return shape;
  }

  Handle write(const std::string& path, Types types, const std::vector<hsize_t>& shape, std::size_t count,
               const void* data, Units units, LongName long_name) {
    std::size_t room = 1;
    for (const auto n : shape) room *= n;
    if (room != count)
      throw std::runtime_error(fmt::format("'{}' of an HDF5 file: {} values for {} places", path, count, room));
    make_groups(path);
    const Handle how = properties(H5P_DATASET_CREATE);
    checked(H5Pset_obj_track_times(how, false), path);
    checked(H5Pset_attr_creation_order(how, H5P_CRT_ORDER_TRACKED | H5P_CRT_ORDER_INDEXED), path);
    const auto kind = H5Tget_class(types.on_disk);
    if (!shape.empty() && count > 0 && kind != H5T_STRING) {  // text lies in a heap, out of the filters' reach
      const auto chunk = chunk_of(shape, H5Tget_size(types.on_disk));
      checked(H5Pset_chunk(how, static_cast<int>(chunk.size()), chunk.data()), path);
      if (kind == H5T_INTEGER) {
        checked(H5Pset_shuffle(how), path);
        checked(H5Pset_deflate(how, 1), path);
      }
      checked(H5Pset_fletcher32(how), path);
    }
    const Handle space = space_of(shape, path);
    Handle set(H5Dcreate2(file, path.c_str(), types.on_disk, space, H5P_DEFAULT, how, H5P_DEFAULT), H5Dclose, path);
    checked(H5Dwrite(set, types.in_memory, H5S_ALL, H5S_ALL, H5P_DEFAULT, data), path);
    write_text_attribute(set, path, "units", units.text);
    write_text_attribute(set, path, "long_name", long_name.text);
    return set;
  }

  template <class T>
  Handle write_values(const std::string& path, std::span<const T> values, const std::vector<hsize_t>& shape,
                      Units units, LongName long_name) {
    return write(path, types_of<T>(), shape, values.size(), values.data(), units, long_name);
  }

  Handle write_values(const std::string& path, std::span<const std::string> texts, const std::vector<hsize_t>& shape,
                      Units units, LongName long_name) {
    std::vector<const char*> pointers;
    for (const auto& text : texts) pointers.push_back(text.c_str());
    const Handle type = text_type(path);
    return write(path, {type, type}, shape, pointers.size(), pointers.data(), units, long_name);
  }

  void put_over(const std::string& path, const auto& values, const Scales& scales, Units units, LongName long_name) {
    const Handle set = write_values(path, values, shape_over(scales), units, long_name);
    for (unsigned axis = 0; axis < scales.size(); ++axis)
      checked(H5DSattach_scale(set, open_dataset(scales[axis]), axis), path);
  }

  void put_scale(const std::string& path, const auto& values, Units units, LongName long_name) {
    const Handle set = write_values(path, values, {static_cast<hsize_t>(values.size())}, units, long_name);
    checked(H5DSset_scale(set, path.substr(path.rfind('/') + 1).c_str()), path);
  }

  template <class T>
  void attribute(const std::string& path, const std::string& name, std::span<const hsize_t> shape, const T* data) {
    const Handle object(H5Oopen(file, path.c_str(), H5P_DEFAULT), H5Oclose, path);
    write_attribute(object, path, name, types_of<T>(), shape, data);
  }
};

Hdf5File::Hdf5File() {
  H5Eset_auto2(H5E_DEFAULT, nullptr, nullptr);  // messages go into our exceptions, not to stderr
  const Handle access = properties(H5P_FILE_ACCESS);
  checked(H5Pset_fapl_core(access, 1 << 20, false), "/");  // memory only: a full disk can't leave half a file
  // Old readers open it still. And the oldest superblock has no checksum: H5Fget_file_image of HDF5 1.10 clears a flag
  // in a newer one without mending its checksum, and no reader takes that.
  checked(H5Pset_libver_bounds(access, H5F_LIBVER_EARLIEST, H5F_LIBVER_V18), "/");
  const Handle creation = properties(H5P_FILE_CREATE);
  checked(H5Pset_obj_track_times(creation, false), "/");
  checked(H5Pset_link_creation_order(creation, H5P_CRT_ORDER_TRACKED | H5P_CRT_ORDER_INDEXED), "/");
  inside_ =
      std::make_unique<Inside>(Inside{Handle(H5Fcreate("in memory", H5F_ACC_TRUNC, creation, access), H5Fclose, "/")});
}

Hdf5File::~Hdf5File() = default;

void Hdf5File::put(const std::string& path, double value, Units units, LongName long_name) {
  inside_->write_values<double>(path, std::span(&value, 1), {}, units, long_name);
}
void Hdf5File::put(const std::string& path, std::string_view text, Units units, LongName long_name) {
  const std::string terminated(text);
  inside_->write_values(path, std::span(&terminated, 1), {}, units, long_name);
}

void Hdf5File::put(const std::string& path, std::span<const double> values, const Scales& scales, Units units,
                   LongName long_name) {
  inside_->put_over(path, values, scales, units, long_name);
}
void Hdf5File::put(const std::string& path, std::span<const std::int64_t> values, const Scales& scales, Units units,
                   LongName long_name) {
  inside_->put_over(path, values, scales, units, long_name);
}
void Hdf5File::put(const std::string& path, std::span<const std::uint64_t> values, const Scales& scales, Units units,
                   LongName long_name) {
  inside_->put_over(path, values, scales, units, long_name);
}
void Hdf5File::put(const std::string& path, std::span<const std::int8_t> values, const Scales& scales, Units units,
                   LongName long_name) {
  inside_->put_over(path, values, scales, units, long_name);
}
void Hdf5File::put(const std::string& path, std::span<const std::string> values, const Scales& scales, Units units,
                   LongName long_name) {
  inside_->put_over(path, values, scales, units, long_name);
}

void Hdf5File::put_scale(const std::string& path, std::span<const double> values, Units units, LongName long_name) {
  inside_->put_scale(path, values, units, long_name);
}
void Hdf5File::put_scale(const std::string& path, std::span<const std::int64_t> values, Units units,
                         LongName long_name) {
  inside_->put_scale(path, values, units, long_name);
}
void Hdf5File::put_scale(const std::string& path, std::span<const std::string> values, Units units,
                         LongName long_name) {
  inside_->put_scale(path, values, units, long_name);
}

void Hdf5File::describe(const std::string& path, const std::string& name, double value) {
  inside_->attribute(path, name, {}, &value);
}
void Hdf5File::describe(const std::string& path, const std::string& name, std::int64_t value) {
  inside_->attribute(path, name, {}, &value);
}
void Hdf5File::describe(const std::string& path, const std::string& name, std::uint64_t value) {
  inside_->attribute(path, name, {}, &value);
}
void Hdf5File::describe(const std::string& path, const std::string& name, std::string_view text) {
  const Handle object(H5Oopen(inside_->file, path.c_str(), H5P_DEFAULT), H5Oclose, path);
  write_text_attribute(object, path, name, text);
}
void Hdf5File::describe(const std::string& path, const std::string& name, std::span<const double> values) {
  const hsize_t count = values.size();
  inside_->attribute(path, name, std::span(&count, 1), values.data());
}
void Hdf5File::describe(const std::string& path, const std::string& name, std::span<const std::int8_t> values) {
  const hsize_t count = values.size();
  inside_->attribute(path, name, std::span(&count, 1), values.data());
}

void Hdf5File::save(const std::filesystem::path& path) const {
  checked(H5Fflush(inside_->file, H5F_SCOPE_GLOBAL), "/");
  const auto size = checked(H5Fget_file_image(inside_->file, nullptr, 0), "/");
  // As it lies in memory: a copy of a result of many receivers would be the largest thing of the whole run.
  void* place = nullptr;
  checked(H5Fget_vfd_handle(inside_->file, H5P_DEFAULT, &place), "/");
  const std::span image(*static_cast<const std::byte* const*>(place), static_cast<std::size_t>(size));
  const std::string check = file_check(image);
  write_whole_file(path, image, std::as_bytes(std::span(check)));
}

}  // namespace catoptra
