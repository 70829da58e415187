#include "files/write_result.h"

#include <catch2/catch.hpp>
#include <cstring>

#include "example_result.h"
#include "files/hdf5_file.h"
#include "hdf5_walk.h"
#include "scratch_folder.h"

using namespace catoptra;
using test::bytes_of;
using test::ScratchFolder;

namespace {

/// The doubles of a dataset, read with the HDF5 library alone.
std::vector<double> doubles(const std::filesystem::path& path, const char* dataset) {
  const hid_t file = H5Fopen(path.c_str(), H5F_ACC_RDONLY, H5P_DEFAULT), set = H5Dopen2(file, dataset, H5P_DEFAULT);
  const hid_t space = H5Dget_space(set);
  std::vector<double> values(static_cast<std::size_t>(H5Sget_simple_extent_npoints(space)));
  H5Dread(set, H5T_NATIVE_DOUBLE, H5S_ALL, H5S_ALL, H5P_DEFAULT, values.data());
  H5Sclose(space);
  H5Dclose(set);
  H5Fclose(file);
  return values;
}

std::string text(const std::filesystem::path& path, const char* dataset) {
  const hid_t file = H5Fopen(path.c_str(), H5F_ACC_RDONLY, H5P_DEFAULT), set = H5Dopen2(file, dataset, H5P_DEFAULT);
  const hid_t type = H5Dget_type(set);
  char* words = nullptr;
  H5Dread(set, type, H5S_ALL, H5S_ALL, H5P_DEFAULT, &words);
  std::string out = words;
  H5free_memory(words);
  H5Tclose(type);
  H5Dclose(set);
  H5Fclose(file);
  return out;
}

bool same_bits(const std::vector<double>& a, const std::vector<double>& b) {
  return a.size() == b.size() && std::memcmp(a.data(), b.data(), a.size() * sizeof(double)) == 0;
}

}  // namespace

TEST_CASE("a result comes back from its file to the last bit", "[results]") {
  const ScratchFolder folder;
  const auto path = folder.path / "a.h5";
  auto result = test::example_result();
  result.optical_efficiency.value = 0.1 + 0.2;
  const auto scene = test::example_scene();
  write_result(path, scene, result, test::example_provenance());

  CHECK(text(path, "/scene/source") == scene.text);
  CHECK(doubles(path, "/optical_efficiency") == std::vector{0.1 + 0.2});
  CHECK(doubles(path, "/sun/to_sun") == std::vector{0.6, 0.0, 0.8});
  CHECK(doubles(path, "/budget/power_by_replicate_W").at(term_count + 1) == 19.5);  // second replicate, shading
  CHECK(doubles(path, "/receivers/absorber/x_m") == std::vector{-0.1, 0.1});
  CHECK(same_bits(doubles(path, "/receivers/second absorber/flux_W_m2"), result.receivers[1].flux.flux_W_m2));
  CHECK(doubles(path, "/paths/offset") == std::vector{0.0, 3.0});
  CHECK(doubles(path, "/paths/vertices_m") == std::vector<double>{0, 0, 9, 0, 0, 0, 0, 1, 5, 1, 0, 9, 1, 0, 0});
  const auto found = test::walk(path).datasets;
  CHECK(found.at("/receivers/absorber/flux_W_m2").shape == std::vector<hsize_t>{2, 3});
}

TEST_CASE("the same result gives the same bytes; another one does not", "[results]") {
  const ScratchFolder folder;
  auto result = test::example_result();
  const auto write = [&](const char* name) {
    write_result(folder.path / name, test::example_scene(), result, test::example_provenance());
    return bytes_of(folder.path / name);
  };
  const auto first = write("a.h5"), second = write("b.h5");
  CHECK(first == second);
  result.seed = 7;
  CHECK(write("c.h5") != first);
}

TEST_CASE("a result without paths, enclosed power or pulled-in files has no such groups", "[results]") {
  const ScratchFolder folder;
  const auto path = folder.path / "a.h5";
  auto result = test::example_result();
  auto scene = test::example_scene();
  result.paths.clear();
  result.receivers[0].enclosed = {};
  scene.pulled_in.clear();
  write_result(path, scene, result, test::example_provenance());
  const auto found = test::walk(path).datasets;
  CHECK_FALSE(found.contains("/paths/path"));
  CHECK_FALSE(found.contains("/receivers/absorber/enclosed/fraction"));
  CHECK(found.contains("/receivers/second absorber/enclosed/fraction"));
  CHECK_FALSE(found.contains("/scene/pulled_in/path"));
}

TEST_CASE("values that don't fill their axes are refused with the dataset's path", "[results]") {
  const ScratchFolder folder;
  auto result = test::example_result();
  result.receivers[0].flux.flux_W_m2.pop_back();
  CHECK_THROWS_WITH(write_result(folder.path / "a.h5", test::example_scene(), result, test::example_provenance()),
                    "'/receivers/absorber/flux_W_m2' of an HDF5 file: 5 values for 6 places");
  CHECK(folder.files() == 0);
}

TEST_CASE("HDF5's own refusals name the object and give its words", "[results]") {
  Hdf5File file;
  file.put("/a/x", 1.0, Units{"1"}, LongName{"one"});
  CHECK_THROWS_WITH(file.put("/a/x", 2.0, Units{"1"}, LongName{"again"}),
                    Catch::StartsWith("can't write '/a/x' of an HDF5 file: ") && Catch::Contains("exists"));
  CHECK_THROWS_WITH(file.put("/a/y", std::vector{1.0}, {"/a/missing"}, Units{"1"}, LongName{"no scale"}),
                    Catch::StartsWith("can't write '/a/missing' of an HDF5 file: "));
}

TEST_CASE("a map of many chunks comes back whole", "[results]") {
  const ScratchFolder folder;
  const auto path = folder.path / "a.h5";
  constexpr std::size_t n = 1500, m = 1401;  // 16.8 MB: more than one chunk of 8 MiB, and a ragged last one
  std::vector<double> x(n), y(m), z(n * m);
  for (std::size_t i = 0; i < z.size(); ++i) z[i] = static_cast<double>(i) / 3;
  Hdf5File file;
  file.put_scale("/x", x, Units{"m"}, LongName{"x"});
  file.put_scale("/y", y, Units{"m"}, LongName{"y"});
  file.put("/z", z, {"/x", "/y"}, Units{"1"}, LongName{"z"});
  file.save(path);
  CHECK(same_bits(doubles(path, "/z"), z));
}
