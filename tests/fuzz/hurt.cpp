#include "hurt.h"

#include <algorithm>
#include <cstdint>
#include <hdf5.h>
#include <iterator>
#include <vector>

namespace catoptra::fuzz {
namespace {

std::vector<std::string> sets_of(hid_t file) {
  std::vector<std::string> out;
  const auto add = [](hid_t, const char* name, const H5O_info_t* info, void* to) -> herr_t {
    if (info->type == H5O_TYPE_DATASET) static_cast<std::vector<std::string>*>(to)->push_back("/" + std::string(name));
    return 0;
  };
  H5Ovisit2(file, H5_INDEX_NAME, H5_ITER_INC, add, &out, H5O_INFO_BASIC);
  return out;
}

void create(hid_t file, const std::string& path, hid_t type, const std::vector<hsize_t>& shape, bool chunked) {
  const hid_t space = shape.empty() ? H5Screate(H5S_SCALAR)
                                    : H5Screate_simple(static_cast<int>(shape.size()), shape.data(), nullptr),
              how = H5Pcreate(H5P_DATASET_CREATE);
  if (chunked && !shape.empty()) {
    const std::vector<hsize_t> chunk(shape.size(), 16);
    H5Pset_chunk(how, static_cast<int>(chunk.size()), chunk.data());
    H5Pset_deflate(how, 9);
  }
  const hid_t set = H5Dcreate2(file, path.c_str(), type, space, H5P_DEFAULT, how, H5P_DEFAULT);
  if (set >= 0) H5Dclose(set);
  H5Pclose(how);
  H5Sclose(space);
}

}  // namespace

std::string mutated(std::string bytes, Damage damage, Random& random) {
  const std::size_t changes = 1 + below(random, 3);
  for (std::size_t change = 0; change < changes && bytes.size() > 8; ++change) {
    const std::size_t at = below(random, bytes.size());
    switch (below(random, damage == Damage::in_place ? 3 : 6)) {
      case 0:
        bytes[at] = static_cast<char>(bytes[at] ^ (1 << below(random, 8)));
        break;
      case 1:
        bytes[at] = static_cast<char>(random() & 0xFFU);
        break;
      case 2:  // a number of the structure becomes a huge one, or none
        for (std::size_t k = at; k < std::min(bytes.size(), at + 8); ++k)
          bytes[k] = static_cast<char>(below(random, 2) == 0 ? 0xFF : 0);
        break;
      case 3:
        bytes.resize(at);
        break;
      case 4:
        bytes.erase(at, 1 + below(random, 64));
        break;
      default:
        bytes.insert(at, std::string(1 + below(random, 64), '\0'));
    }
  }
  return bytes;
}

void change_content(const std::string& path, Random& random) {
  const hid_t file = H5Fopen(path.c_str(), H5F_ACC_RDWR, H5P_DEFAULT);
  if (file < 0) return;
  const auto sets = sets_of(file);
  const std::size_t changes = 1 + below(random, 3);
  for (std::size_t k = 0; k < changes; ++k) {
    const std::string& set = sets[below(random, sets.size())];
    const std::string group = set.rfind('/') == 0 ? "/" : set.substr(0, set.rfind('/'));
    const hid_t types[]{H5T_IEEE_F64LE, H5T_STD_I64LE, H5T_STD_U8LE, H5T_IEEE_F32BE, H5T_C_S1, H5T_STD_REF_OBJ};
    const hsize_t lengths[]{0, 1, 2, 3, 7, 100, hsize_t{1} << 20, hsize_t{1} << 40, hsize_t{1} << 60};
    switch (below(random, 8)) {
      case 0:
        H5Ldelete(file, set.c_str(), H5P_DEFAULT);
        break;
      case 1: {  // another type and length, filled with 0 where it holds anything
        H5Ldelete(file, set.c_str(), H5P_DEFAULT);
        std::vector<hsize_t> shape(below(random, 4));
        for (auto& n : shape) n = lengths[below(random, std::size(lengths))];
        create(file, set, types[below(random, std::size(types))], shape, below(random, 2) == 0);
        break;
      }
      case 2:
        H5Lcreate_hard(file, group.c_str(), file, (group == "/" ? "/loop" : group + "/loop").c_str(), H5P_DEFAULT,
                       H5P_DEFAULT);
        break;
      case 3:
        H5Lcreate_hard(file, "/", file, (set + "-all").c_str(), H5P_DEFAULT, H5P_DEFAULT);
        break;
      case 4:
        H5Lcreate_soft(sets[below(random, sets.size())].c_str(), file, (set + "-soft").c_str(), H5P_DEFAULT,
                       H5P_DEFAULT);
        break;
      case 5: {  // another's place
        const std::string& other = sets[below(random, sets.size())];
        if (H5Lexists(file, other.c_str(), H5P_DEFAULT) <= 0 || other == set) break;
        H5Ldelete(file, set.c_str(), H5P_DEFAULT);
        H5Lcreate_hard(file, other.c_str(), file, set.c_str(), H5P_DEFAULT, H5P_DEFAULT);
        break;
      }
      case 6: {  // numbers
        const hid_t object = H5Dopen2(file, set.c_str(), H5P_DEFAULT);
        if (object < 0) break;
        const hid_t space = H5Dget_space(object), type = H5Dget_type(object);
        const auto count = H5Sget_simple_extent_npoints(space);
        const bool whole = H5Tget_class(type) == H5T_INTEGER;
        if (count > 0 && count < 100000 && (whole || H5Tget_class(type) == H5T_FLOAT)) {
          std::vector<std::int64_t> values(static_cast<std::size_t>(count));
          const std::int64_t odd[]{-1, 0, 1, 255, std::int64_t{1} << 62, INT64_MIN, INT64_MAX, 0x7ff0000000000000};
          for (auto& value : values) value = odd[below(random, std::size(odd))];
          H5Dwrite(object, whole ? H5T_NATIVE_INT64 : H5T_NATIVE_DOUBLE, H5S_ALL, H5S_ALL, H5P_DEFAULT, values.data());
        }
        H5Tclose(type);
        H5Sclose(space);
        H5Dclose(object);
        break;
      }
      default: {  // deep groups
        std::string path_down = group == "/" ? "" : group;
        for (std::size_t depth = below(random, 100); depth > 0; --depth) {
          path_down += "/d";
          const hid_t made = H5Gcreate2(file, path_down.c_str(), H5P_DEFAULT, H5P_DEFAULT, H5P_DEFAULT);
          if (made >= 0) H5Gclose(made);
        }
      }
    }
  }
  H5Fclose(file);
}

}  // namespace catoptra::fuzz
