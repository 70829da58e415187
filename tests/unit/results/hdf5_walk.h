#pragma once
// What is in an HDF5 file, found with the HDF5 library alone.
#include <filesystem>
#include <hdf5.h>
#include <hdf5_hl.h>
#include <map>
#include <string>
#include <vector>

namespace catoptra::test {

struct FoundDataset {
  std::string type, units, long_name, ancillary;  // ancillary: of its attribute ancillary_variables
  std::vector<std::string> over;  // names of the dimension scales; "itself" for a scale; empty for a scalar
  std::vector<hsize_t> shape;
  std::map<std::string, std::string> attributes;  // name, type
  bool checksummed = false, deflated = false;
};

struct FoundFile {
  std::map<std::string, FoundDataset> datasets;  // by absolute path
  std::map<std::string, std::string> root;       // attributes of the root: name, type
  bool times_kept = false;
};

inline std::string type_name(hid_t type) {
  if (H5Tget_class(type) == H5T_STRING)
    return H5Tis_variable_str(type) > 0 && H5Tget_cset(type) == H5T_CSET_UTF8 ? "text" : "other text";
  if (H5Tequal(type, H5T_IEEE_F64LE) > 0) return "f64";
  if (H5Tequal(type, H5T_STD_I64LE) > 0) return "i64";
  if (H5Tequal(type, H5T_STD_U64LE) > 0) return "u64";
  if (H5Tequal(type, H5T_STD_I8LE) > 0) return "i8";
  return "other";
}

inline std::string text_attribute(hid_t object, const char* name) {
  if (H5Aexists(object, name) <= 0) return "(none)";
  const hid_t attribute = H5Aopen(object, name, H5P_DEFAULT), type = H5Aget_type(attribute);
  char* text = nullptr;
  H5Aread(attribute, type, &text);
  std::string out = text;
  H5free_memory(text);
  H5Tclose(type);
  H5Aclose(attribute);
  return out;
}

inline std::map<std::string, std::string> attributes_of(hid_t object) {
  std::map<std::string, std::string> found;
  const auto add = [](hid_t at, const char* name, const H5A_info_t*, void* out) -> herr_t {
    const hid_t attribute = H5Aopen(at, name, H5P_DEFAULT), type = H5Aget_type(attribute);
    (*static_cast<std::map<std::string, std::string>*>(out))[name] = type_name(type);
    H5Tclose(type);
    H5Aclose(attribute);
    return 0;
  };
  H5Aiterate2(object, H5_INDEX_NAME, H5_ITER_INC, nullptr, add, &found);
  return found;
}

inline FoundDataset dataset_of(hid_t set, const std::string& own_name) {
  FoundDataset found;
  const hid_t type = H5Dget_type(set), space = H5Dget_space(set), how = H5Dget_create_plist(set);
  found.type = type_name(type);
  found.units = text_attribute(set, "units");
  found.long_name = text_attribute(set, "long_name");
  found.ancillary = text_attribute(set, "ancillary_variables");
  found.attributes = attributes_of(set);
  found.shape.resize(static_cast<std::size_t>(H5Sget_simple_extent_ndims(space)));
  H5Sget_simple_extent_dims(space, found.shape.data(), nullptr);
  for (int i = 0; i < H5Pget_nfilters(how); ++i) {
    unsigned flags = 0;
    std::size_t values = 0;
    const auto filter = H5Pget_filter2(how, static_cast<unsigned>(i), &flags, &values, nullptr, 0, nullptr, nullptr);
    found.checksummed |= filter == H5Z_FILTER_FLETCHER32;
    found.deflated |= filter == H5Z_FILTER_DEFLATE;
  }
  if (H5DSis_scale(set) > 0) {
    char name[100];
    H5DSget_scale_name(set, name, sizeof name);
    found.over = {name == own_name ? "itself" : name};
  } else {
    const auto add = [](hid_t, unsigned, hid_t scale, void* out) -> herr_t {
      char name[100];
      H5DSget_scale_name(scale, name, sizeof name);
      static_cast<std::vector<std::string>*>(out)->push_back(name);
      return 0;
    };
    for (unsigned axis = 0; axis < found.shape.size(); ++axis) H5DSiterate_scales(set, axis, nullptr, add, &found.over);
  }
  H5Pclose(how);
  H5Sclose(space);
  H5Tclose(type);
  return found;
}

/// Marks a number that has a standard error with " ±", as the tables of docs/result-schema.md do, and takes the error
/// and the attribute that names it out. Throws where the error is not there or not like its number.
inline void fold_errors(FoundFile& file) {
  for (auto& [path, number] : file.datasets) {
    if (number.attributes.erase("ancillary_variables") == 0) continue;
    const auto error = file.datasets.find(path.substr(0, path.rfind('/') + 1) + number.ancillary);
    if (error == file.datasets.end() || error->second.type != number.type || error->second.units != number.units ||
        error->second.over != number.over || error->second.long_name != "standard error: " + number.long_name)
      throw std::runtime_error("the standard error of " + path + " is not like its number");
    error->second.type = "folded";
    number.type += " ±";
  }
  std::erase_if(file.datasets, [](const auto& entry) { return entry.second.type == "folded"; });
}

inline FoundFile walk(const std::filesystem::path& path) {
  FoundFile found;
  const hid_t file = H5Fopen(path.c_str(), H5F_ACC_RDONLY, H5P_DEFAULT);
  if (file < 0) throw std::runtime_error("HDF5 can't open " + path.string());
  const auto visit = [](hid_t root, const char* name, const H5O_info_t* info, void* out) -> herr_t {
    auto& all = *static_cast<FoundFile*>(out);
    all.times_kept |= info->ctime != 0 || info->mtime != 0;
    if (info->type != H5O_TYPE_DATASET) return 0;
    const std::string absolute = "/" + std::string(name);
    const hid_t set = H5Dopen2(root, name, H5P_DEFAULT);
    all.datasets[absolute] = dataset_of(set, absolute.substr(absolute.rfind('/') + 1));
    H5Dclose(set);
    return 0;
  };
  H5Ovisit2(file, H5_INDEX_NAME, H5_ITER_INC, visit, &found, H5O_INFO_ALL);
  found.root = attributes_of(file);
  H5Fclose(file);
  return found;
}

}  // namespace catoptra::test
