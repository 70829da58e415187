// Hurts result files, always in the same way, and reads them: no crash, no hang, no error without words; a byte that
// changed is found by the checksum, and a file is never read as another. `result_fuzz SCENE ROUNDS [FIRST]`
//
// Kinds of damage: bytes changed, lost or added in a file with its checksum; the same with the checksum made to fit or
// taken away; and sound HDF5 whose content was changed, by the HDF5 library, as another program might.
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <functional>
#include <hdf5.h>
#include <random>
#include <stdexcept>
#include <string>
#include <unistd.h>
#include <vector>

#include "files/file_check.h"
#include "files/stored_scene.h"
#include "files/write_result.h"
#include "files/write_schedule.h"
#include "pictures/page_data.h"
#include "pictures/page_view.h"
#include "scene/read.h"
#include "scene/read_file.h"
#include "trace/trace.h"
#include "words/comparison.h"
#include "words/export_csv.h"
#include "words/schedule_rows.h"

namespace {

using namespace catoptra;
using Random = std::mt19937_64;

std::size_t below(Random& random, std::size_t n) {
  return n == 0 ? 0 : random() % n;
}

std::string bytes_of(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}
void replace(const std::string& path, const std::string& bytes) {
  std::ofstream(path, std::ios::binary) << bytes;
}

/// All that reads a result: errors must have words, and not those of a container.
std::string used(const StoredFile& file) {
  std::string out;
  const auto attempt = [&](const std::function<void()>& work) {
    try {
      work();
    } catch (const std::out_of_range& fault) {
      throw std::logic_error(fault.what());
    } catch (const std::runtime_error& fault) {
      out += fault.what();
    }
  };
  attempt([&] { out += file_json(file); });
  attempt([&] { out += page_view(file).view; });
  attempt([&] { out += comparison_text(std::vector<StoredFile>{file, file}); });
  attempt([&] { paths_of(file); });
  for (const auto& receiver : receivers_of(file)) attempt([&] { flux_of(file, receiver); });
  if (is_schedule(file)) attempt([&] { out += schedule_csv(scene_of(file), schedule_of(file)); });
  return out;
}

std::string mutated(std::string bytes, Random& random) {
  const std::size_t changes = 1 + below(random, 3);
  for (std::size_t change = 0; change < changes && bytes.size() > 8; ++change) {
    const std::size_t at = below(random, bytes.size());
    switch (below(random, 6)) {
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

/// Changes the content and leaves HDF5 sound.
void change(const std::string& path, Random& random) {
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

struct Counts {
  long read = 0, refused = 0;
};

/// Reads a hurt file; `sound` is what the whole one holds: a file that keeps its checksum must not be read as another.
void look(const std::string& path, const std::string* sound, Counts& counts) {
  std::string found;
  try {
    const StoredFile file = read_result(path);
    found = used(file);
    if (sound != nullptr && found != *sound) throw std::logic_error("a damaged file is read as another");
    ++counts.read;
  } catch (const std::logic_error&) {
    throw;
  } catch (const std::runtime_error& fault) {
    if (std::string_view(fault.what()).find(path) == std::string_view::npos)
      throw std::logic_error(std::string("an error without the path: ") + fault.what());
    ++counts.refused;
  }
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 3) {
    std::fputs("usage: result_fuzz SCENE ROUNDS [FIRST]\n", stderr);
    return 2;
  }
  const long rounds = std::atol(argv[2]), first = argc > 3 ? std::atol(argv[3]) : 0;
  std::string name = (std::filesystem::temp_directory_path() / "catoptra-fuzz-XXXXXX").string();
  const std::filesystem::path folder = mkdtemp(name.data());
  const std::string path = folder / "hurt.h5";
  const Scene scene = *read_scene_text(read_whole_file(argv[1]), "fuzz.toml").scene;
  Workers alone(1);
  const TraceResult result = trace(scene, {.samples = 1 << 12, .replicates = 2, .workers = &alone, .paths = 4});
  const Provenance from{"Catoptra", "GCC", "AVX2", "2026-06-21T11:30:00Z", "catoptra trace", true};
  Schedule schedule;
  schedule.rows.push_back({own_moment(scene), poses_of(scene), result, false});
  std::vector<std::string> files, contents;
  write_result(path, scene, result, from);
  files.push_back(bytes_of(path));
  write_schedule(path, scene, schedule, from);
  files.push_back(bytes_of(path));
  for (const auto& bytes : files) {
    replace(path, bytes);
    contents.push_back(used(read_result(path)));
  }
  Counts with_check, without, changed;
  int code = 0;
  for (long round = first; round < first + rounds && code == 0; ++round) {
    Random random(static_cast<std::uint64_t>(round) * 7919 + 1);
    const std::size_t which = below(random, files.size());
    const std::string& sound = files[which];
    const std::string content = sound.substr(0, sound.size() - file_check_size);
    try {
      switch (round % 16) {
        case 0: {
          const std::string hurt = mutated(content, random);
          replace(path, hurt + (below(random, 2) == 0 ? file_check(std::as_bytes(std::span(hurt))) : std::string()));
          look(path, nullptr, without);
          break;
        }
        case 1:
          replace(path, sound);
          change(path, random);
          look(path, nullptr, changed);
          break;
        default:
          replace(path, mutated(sound, random));
          // Where it is cut or grows at its end, the line is no longer there to tell.
          look(path, state_of_file(path) == FileState::unknown ? nullptr : &contents[which], with_check);
      }
    } catch (const std::exception& fault) {
      std::fprintf(stderr, "round %ld: %s\n", round, fault.what());
      code = 1;
    }
  }
  std::filesystem::remove_all(folder);
  std::printf("with a checksum %ld read, %ld refused; without or made to fit %ld, %ld; content changed %ld, %ld\n",
              with_check.read, with_check.refused, without.read, without.refused, changed.read, changed.refused);
  if (code == 0 && rounds >= 1000 && (without.read == 0 || changed.read == 0 || changed.refused == 0)) {
    std::fputs("damage too weak or too strong to show anything\n", stderr);
    code = 1;
  }
  return code;
}
