#include "files/read_file.h"

#include <algorithm>
#include <array>
#include <cerrno>
#include <cmath>
#include <fmt/format.h>
#include <fstream>
#include <hdf5_hl.h>
#include <limits>
#include <new>
#include <set>
#include <system_error>

#include "files/file_check.h"
#include "files/guarded.h"
#include "files/hdf5_handle.h"
#include "files/provenance.h"

namespace catoptra {
namespace {

using hdf5::Handle;

/// HDF5's marks of a dimension scale; what they say is in StoredSet::over and ::scale.
constexpr std::string_view scale_marks[]{"CLASS", "NAME", "REFERENCE_LIST", "DIMENSION_LIST"};

/// What HDF5 says of an object that is stored once but may be reached by many names: its address.
using Address = haddr_t;

/// Reads a file that may be hurt in any way that leaves HDF5 alive: it takes no more memory than some times the file's
/// size, follows no loop, and names what does not fit.
class Reader {
 public:
  // Compressed integers grow when read, most of all counts from 0 up; all of a file of ours, less than threefold.
  static constexpr std::size_t most_growth = 64;

  explicit Reader(const std::string& path)
      : path_(path),
        size_B_(static_cast<std::size_t>(std::filesystem::file_size(path))),
        left_B_(most_growth * size_B_ + (1 << 20)),
        file_(open(path), H5Fclose) {}

  StoredFile read() {
    if (file_ < 0) throw std::runtime_error(fmt::format("'{}' is damaged: {}", path_, hdf5::library_words()));
    StoredFile out;
    out.path = path_;
    out.attributes = attributes_of(file_, "/");
    require_ours(out);
    walk(file_, "", 0);
    for (auto& [set, axes] : found_) {
      // A scale may come after what it labels, so its name is known only now.
      for (const Address axis : axes) {
        const auto name = set_names_.find(axis);
        set.over.push_back(name == set_names_.end() ? std::string() : name->second);
      }
      out.add(std::move(set));
    }
    return out;
  }

 private:
  static constexpr std::size_t deepest = 32;

  struct FoundSet {
    StoredSet set;
    std::vector<Address> axes;  // of the first scale along each; 0: none
  };

  static hid_t open(const std::string& path) {
    H5Eset_auto2(H5E_DEFAULT, nullptr, nullptr);  // messages go into our exceptions, not to stderr
    if (H5Fis_hdf5(path.c_str()) <= 0) {
      if (path.ends_with(".toml"))
        throw NotAResult(fmt::format("'{}' is a scene, not a result\n  did you mean 'catoptra look {}'?", path, path));
      throw NotAResult(fmt::format("'{}' is not an HDF5 file\n  allowed: what catoptra trace or steer wrote", path));
    }
    return H5Fopen(path.c_str(), H5F_ACC_RDONLY, H5P_DEFAULT);
  }

  [[noreturn]] void damaged(const std::string& where, std::string_view words) const {
    throw std::runtime_error(fmt::format("'{}' is damaged: '{}' {}", path_, where, words));
  }

  /// Takes `count` things of `each_B` bytes from what may still be read.
  void claim(std::size_t count, std::size_t each_B, const std::string& where) {
    if (each_B != 0 && count > left_B_ / each_B) damaged(where, "is longer than the file can hold");
    left_B_ -= count * each_B;
  }

  void require_ours(const StoredFile& file) const {
    const auto found = file.attributes.find("schema_version");
    const auto* version =
        found == file.attributes.end() ? nullptr : std::get_if<std::vector<std::int64_t>>(&found->second.values);
    if (!version || version->size() != 1)
      throw NotAResult(fmt::format(
          "'{}' was not written by Catoptra: it has no schema_version\n  allowed: what catoptra trace or steer wrote",
          path_));
    if (version->front() < oldest_schema_version || version->front() > result_schema_version)
      throw NotAResult(fmt::format(
          "'{}' has the result schema {}, from {}\n  allowed: {} to {}, which this program, Catoptra " CATOPTRA_VERSION
          ", reads",
          path_, version->front(), file.text("generator"), oldest_schema_version, result_schema_version));
  }

  template <class Number>
  Number checked(Number status, const std::string& where) const {
    if (status < 0)
      throw std::runtime_error(fmt::format("can't read '{}' of '{}': {}", where, path_, hdf5::library_words()));
    return status;
  }

  Handle kept(hid_t id, herr_t (*close)(hid_t), const std::string& where) const { return {checked(id, where), close}; }

  Address address_of(hid_t object, const std::string& where) const {
    H5O_info_t info;
    checked(H5Oget_info2(object, &info, H5O_INFO_BASIC), where);
    return info.addr;
  }

  void walk(hid_t group, const std::string& path, std::size_t depth) {
    if (depth > deepest) damaged(path, "lies too deep in groups");
    if (!groups_.insert(address_of(group, path + "/")).second) damaged(path, "leads back to a group above it");
    H5G_info_t info;
    checked(H5Gget_info(group, &info), path + "/");
    // In the order of writing where the file keeps it.
    const bool ordered =
        H5Lget_name_by_idx(group, ".", H5_INDEX_CRT_ORDER, H5_ITER_INC, 0, nullptr, 0, H5P_DEFAULT) >= 0;
    const auto order = ordered ? H5_INDEX_CRT_ORDER : H5_INDEX_NAME;
    for (hsize_t i = 0; i < info.nlinks; ++i) {
      const auto length =
          checked(H5Lget_name_by_idx(group, ".", order, H5_ITER_INC, i, nullptr, 0, H5P_DEFAULT), path + "/");
      const auto room = static_cast<std::size_t>(length) + 1;
      claim(room + sizeof(FoundSet), 1, path + "/");
      std::string name(room, '\0');
      checked(H5Lget_name_by_idx(group, ".", order, H5_ITER_INC, i, name.data(), name.size(), H5P_DEFAULT), path + "/");
      name.pop_back();
      const std::string where = path + "/" + name;
      H5L_info_t link;
      checked(H5Lget_info(group, name.c_str(), &link, H5P_DEFAULT), where);
      if (link.type != H5L_TYPE_HARD) continue;  // no result of ours points elsewhere, in this file or another
      const Handle object = kept(H5Oopen(group, name.c_str(), H5P_DEFAULT), H5Oclose, where);
      const auto type = H5Iget_type(object);
      if (type == H5I_GROUP) walk(object, where, depth + 1);
      if (type == H5I_DATASET) add(object, where);
    }
  }

  std::vector<std::size_t> shape_of(hid_t space, const std::string& where) const {
    std::vector<hsize_t> shape(static_cast<std::size_t>(checked(H5Sget_simple_extent_ndims(space), where)));
    checked(H5Sget_simple_extent_dims(space, shape.data(), nullptr), where);
    return {shape.begin(), shape.end()};
  }

  void add(hid_t set, const std::string& where) {
    FoundSet found;
    StoredSet& out = found.set;
    out.path = where;
    const Handle space = kept(H5Dget_space(set), H5Sclose, where);
    const Handle type = kept(H5Dget_type(set), H5Tclose, where);
    out.shape = shape_of(space, where);
    require_small_chunks(set, type, where);
    // Of a single text the library can't tell the size (1.10 crashes); it is one piece of the file, so no larger.
    if (H5Tis_variable_str(type) > 0 && !out.shape.empty()) {
      hsize_t all_B = 0;
      checked(H5Dvlen_get_buf_size(set, type, space, &all_B), where);
      claim(all_B, 1, where);
    }
    out.values = values_of(type, space, where, [&](hid_t in_memory, void* to) {
      return H5Dread(set, in_memory, H5S_ALL, H5S_ALL, H5P_DEFAULT, to);
    });
    out.attributes = attributes_of(set, where);
    out.scale = H5DSis_scale(set) > 0;
    for (unsigned axis = 0; axis < out.shape.size(); ++axis) found.axes.push_back(scale_of(set, axis));
    set_names_.emplace(address_of(set, where), where);
    found_.push_back(std::move(found));
  }

  /// The library takes the memory of a whole chunk before it looks at one.
  void require_small_chunks(hid_t set, hid_t type, const std::string& where) const {
    const Handle how = kept(H5Dget_create_plist(set), H5Pclose, where);
    if (H5Pget_layout(how) != H5D_CHUNKED) return;
    std::array<hsize_t, H5S_MAX_RANK> chunk{};
    const int axes = checked(H5Pget_chunk(how, H5S_MAX_RANK, chunk.data()), where);
    std::size_t room = left_B_ / std::max<std::size_t>(1, H5Tget_size(type));
    for (int axis = 0; axis < axes; ++axis) {
      if (chunk[static_cast<std::size_t>(axis)] > room) damaged(where, "has pieces larger than the file can hold");
      room /= std::max<hsize_t>(1, chunk[static_cast<std::size_t>(axis)]);
    }
  }

  /// The address of the first scale along an axis; 0 where there is none.
  static Address scale_of(hid_t set, unsigned axis) {
    Address address = 0;
    if (H5DSget_num_scales(set, axis) < 1) return address;
    const auto keep = [](hid_t, unsigned, hid_t scale, void* out) -> herr_t {
      H5O_info_t info;
      if (H5Oget_info2(scale, &info, H5O_INFO_BASIC) >= 0) *static_cast<Address*>(out) = info.addr;
      return 1;  // the first is enough
    };
    H5DSiterate_scales(set, axis, nullptr, keep, &address);
    return address;
  }

  StoredAttributes attributes_of(hid_t object, const std::string& where) {
    StoredAttributes out;
    H5O_info_t info;
    checked(H5Oget_info2(object, &info, H5O_INFO_NUM_ATTRS), where);
    for (hsize_t i = 0; i < info.num_attrs; ++i) {
      const Handle attribute =
          kept(H5Aopen_by_idx(object, ".", H5_INDEX_NAME, H5_ITER_INC, i, H5P_DEFAULT, H5P_DEFAULT), H5Aclose, where);
      const auto room = static_cast<std::size_t>(checked(H5Aget_name(attribute, 0, nullptr), where)) + 1;
      claim(room, 1, where);
      std::string name(room, '\0');
      checked(H5Aget_name(attribute, name.size(), name.data()), where);
      name.pop_back();
      if (std::ranges::find(scale_marks, name) != std::end(scale_marks)) continue;
      const Handle space = kept(H5Aget_space(attribute), H5Sclose, where);
      const Handle type = kept(H5Aget_type(attribute), H5Tclose, where);
      out[name] = {H5Sget_simple_extent_type(space) == H5S_SCALAR,
                   values_of(type, space, where + "@" + name,
                             [&](hid_t in_memory, void* to) { return H5Aread(attribute, in_memory, to); })};
    }
    return out;
  }

  template <class T>
  std::vector<T> numbers(hid_t in_memory, std::size_t count, const std::string& where, const auto& read) {
    claim(count, sizeof(T), where);
    std::vector<T> out(count);
    if (count > 0) checked(read(in_memory, out.data()), where);
    return out;
  }

  StoredValues values_of(hid_t type, hid_t space, const std::string& where, const auto& read) {
    const auto count = static_cast<std::size_t>(checked(H5Sget_simple_extent_npoints(space), where));
    switch (H5Tget_class(type)) {
      case H5T_FLOAT:
        return numbers<double>(H5T_NATIVE_DOUBLE, count, where, read);
      case H5T_INTEGER:
        if (H5Tget_sign(type) == H5T_SGN_NONE) return numbers<std::uint64_t>(H5T_NATIVE_UINT64, count, where, read);
        return numbers<std::int64_t>(H5T_NATIVE_INT64, count, where, read);
      case H5T_STRING:
        return words_of(type, space, count, where, read);
      default:
        return std::vector<std::string>{};  // references and the like, which no result of ours needs
    }
  }

  std::vector<std::string> words_of(hid_t type, hid_t space, std::size_t count, const std::string& where,
                                    const auto& read) {
    std::vector<std::string> out;
    if (count == 0) return out;
    if (H5Tis_variable_str(type) > 0) {
      claim(count, sizeof(std::string) + sizeof(char*), where);
      std::vector<char*> pointers(count);
      checked(read(type, static_cast<void*>(pointers.data())), where);
      for (const char* text : pointers) out.emplace_back(text ? text : "");
      H5Dvlen_reclaim(type, space, H5P_DEFAULT, pointers.data());
      return out;
    }
    const std::size_t width = H5Tget_size(type);
    claim(count, width + sizeof(std::string), where);
    std::string all(width * count, '\0');
    checked(read(type, static_cast<void*>(all.data())), where);
    for (std::size_t i = 0; i < count; ++i) {
      std::string text = all.substr(i * width, width);
      out.push_back(text.substr(0, text.find('\0')));
    }
    return out;
  }

  std::string path_;
  std::size_t size_B_, left_B_;
  Handle file_;
  std::set<Address> groups_;
  std::vector<FoundSet> found_;
  std::unordered_map<Address, std::string> set_names_;
};

/// A plain file that can be opened.
void require_plain(const std::string& path) {
  std::error_code unknown;
  const auto there = std::filesystem::status(path, unknown);
  if (std::filesystem::is_directory(there)) throw NotAResult(fmt::format("can't read '{}': it is a folder", path));
  if (std::filesystem::exists(there) && !std::filesystem::is_regular_file(there))
    throw NotAResult(fmt::format("can't read '{}': it is not a plain file", path));
  if (!std::ifstream(path)) {
    const auto why = std::generic_category().message(errno);
    throw NotAResult(fmt::format("can't read '{}': {}", path, why));
  }
}

}  // namespace

void StoredFile::add(StoredSet set) {
  places_.emplace(set.path, sets_.size());
  sets_.push_back(std::move(set));
}

const StoredSet* StoredFile::find(const std::string& set) const {
  const auto found = places_.find(set);
  return found == places_.end() ? nullptr : &sets_[found->second];
}

double StoredFile::number(const std::string& set, std::size_t place) const {
  const auto* found = values<double>(set);
  return found && place < found->size() ? (*found)[place] : std::numeric_limits<double>::quiet_NaN();
}

const std::vector<double>* StoredFile::errors(const std::string& set) const {
  const StoredSet* numbers = find(set);
  if (numbers == nullptr) return nullptr;
  if (const std::string beside = text_of(numbers->attributes, "ancillary_variables"); !beside.empty())
    return values<double>(set.substr(0, set.rfind('/') + 1) + beside);
  const auto found = numbers->attributes.find("standard_error");
  return found == numbers->attributes.end() ? nullptr : std::get_if<std::vector<double>>(&found->second.values);
}

Estimate StoredFile::estimate(const std::string& set, std::size_t place) const {
  const auto* found = errors(set);
  const double nan = std::numeric_limits<double>::quiet_NaN();
  return {number(set, place), found == nullptr ? 0 : place < found->size() ? (*found)[place] : nan};
}

std::string text_of(const StoredAttributes& attributes, std::string_view name) {
  const auto found = attributes.find(name);
  const auto* words =
      found == attributes.end() ? nullptr : std::get_if<std::vector<std::string>>(&found->second.values);
  return words && !words->empty() ? words->front() : "";
}

StoredFile read_result_here(const std::string& path) {
  return Reader(path).read();
}

StoredFile read_result(const std::string& path) {
  require_plain(path);
  const FileState state = state_of_file(path);
  if (state == FileState::damaged)
    throw std::runtime_error(
        fmt::format("'{}' is damaged: its bytes are not those that were written (wrong checksum)", path));
  try {
    // On some files whose bytes were changed, HDF5 itself crashes or takes all memory. So the file is first read in
    // another process.
    const auto size_B = static_cast<std::size_t>(std::filesystem::file_size(path));
    const Trial trial = tried_apart(
        [&] {
          try {
            read_result_here(path);
          } catch (const NotAResult&) {
            // The reading below throws it again, here in this process.
          }
        },
        static_cast<unsigned>(10 + (size_B >> 20)), 3 * (Reader::most_growth * size_B + (std::size_t{256} << 20)));
    if (!trial.crash.empty())
      throw std::runtime_error(fmt::format("'{}' is damaged: when HDF5 reads it, {}", path, trial.crash));
    if (!trial.thrown.empty()) throw std::runtime_error(trial.thrown);
    StoredFile file = read_result_here(path);
    file.has_checksum = state == FileState::sound;
    return file;
  } catch (const std::bad_alloc&) {
    throw std::runtime_error(fmt::format("'{}' is damaged, or needs more memory than there is", path));
  }
}

}  // namespace catoptra
