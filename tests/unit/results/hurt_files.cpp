// Result files that were hurt on the way: damage is found before HDF5 opens the file, and what no checksum shows ends
// in one clear error.
#include <atomic>
#include <catch2/catch.hpp>
#include <cstdlib>
#include <fstream>
#include <functional>
#include <hdf5.h>
#include <unistd.h>

#include "example_result.h"
#include "files/file_check.h"
#include "files/guarded.h"
#include "files/hdf5_file.h"
#include "files/read_file.h"
#include "files/stored_scene.h"
#include "files/write_result.h"
#include "scratch_folder.h"

using namespace catoptra;
using test::bytes_of;
using test::ScratchFolder;

namespace {

const Units none{"1"};
const LongName words{"words"};

struct Written {
  Written() { write_result(path, test::example_scene(), test::example_result(), test::example_provenance()); }
  ScratchFolder folder;
  std::string path = folder.path / "a.h5";

  void replace(const std::string& bytes) const { std::ofstream(path, std::ios::binary) << bytes; }
  /// Changes the file with the HDF5 library, as another program would.
  void change(const std::function<void(hid_t)>& how) const {
    const hid_t file = H5Fopen(path.c_str(), H5F_ACC_RDWR, H5P_DEFAULT);
    REQUIRE(file >= 0);
    how(file);
    H5Fclose(file);
  }
};

/// What is said of the file: the words of the error, or "read".
std::string said_of(const std::string& path, const std::function<void(const StoredFile&)>& use = {}) {
  try {
    const StoredFile file = read_result(path);
    if (use) use(file);
    return "read";
  } catch (const std::exception& fault) {
    return fault.what();
  }
}

/// A dataset in the place of one that is there.
void put_instead(hid_t file, const char* path, hid_t type, hsize_t count, const void* data) {
  if (H5Lexists(file, path, H5P_DEFAULT) > 0) H5Ldelete(file, path, H5P_DEFAULT);
  const hid_t space = H5Screate_simple(1, &count, nullptr);
  const hid_t set = H5Dcreate2(file, path, type, space, H5P_DEFAULT, H5P_DEFAULT, H5P_DEFAULT);
  REQUIRE(set >= 0);
  if (data != nullptr) H5Dwrite(set, type, H5S_ALL, H5S_ALL, H5P_DEFAULT, data);
  H5Dclose(set);
  H5Sclose(space);
}

}  // namespace

TEST_CASE("the line at a file's end holds the CRC-32 that everybody computes", "[results]") {
  // The check value of this CRC: of the digits 1 to 9 it is cbf43926 (the "check" of published CRC tables, from
  // memory; Python's zlib.crc32(b"123456789") gives the same).
  const std::string digits = "123456789";
  CHECK(file_check(std::as_bytes(std::span(digits))) ==
        "\ncatoptra: the              9 bytes before have CRC-32 cbf43926\n");
  CHECK(file_check({}).size() == file_check_size);
}

TEST_CASE("a byte that changed anywhere is damage, and so is a file cut short", "[results]") {
  const Written written;
  const std::string sound = bytes_of(written.path);
  REQUIRE(said_of(written.path) == "read");
  REQUIRE(read_result(written.path).has_checksum);
  const std::string damaged =
      "'" + written.path + "' is damaged: its bytes are not those that were written (wrong checksum)";
  const std::size_t content = sound.size() - file_check_size;
  for (std::size_t at = 0; at < content; at += 211) {
    std::string hurt = sound;
    hurt[at] = static_cast<char>(hurt[at] ^ (1 << (at % 8)));
    written.replace(hurt);
    CAPTURE(at);
    REQUIRE(said_of(written.path) == damaged);
  }
  for (const std::size_t left : {content - 4000, content / 2, std::size_t{700}}) {
    written.replace(sound.substr(0, left));
    CAPTURE(left);
    CHECK_THAT(said_of(written.path), Catch::StartsWith("'" + written.path + "' is damaged: "));
  }
  written.replace(sound.substr(0, content / 2) + sound.substr(content / 2 + 8));  // a piece lost within
  CHECK(said_of(written.path) == damaged);
}

TEST_CASE("a file without a checksum is read, and known to have none", "[results]") {
  const Written written;
  const std::string sound = bytes_of(written.path);
  written.replace(sound.substr(0, sound.size() - file_check_size));
  CHECK_FALSE(read_result(written.path).has_checksum);
  CHECK(read_result(written.path).number("/optical_efficiency") == 0.7602);
  // Another program's change takes the line away: the library cuts the file where its head says that it ends.
  written.replace(sound);
  written.change([](hid_t file) {
    const double more = 1;
    put_instead(file, "/of_another_program", H5T_NATIVE_DOUBLE, 1, &more);
  });
  CHECK_FALSE(read_result(written.path).has_checksum);
  CHECK(read_result(written.path).number("/of_another_program") == 1);
}

TEST_CASE("a group within itself is an error, not a walk without end", "[results]") {
  const Written written;
  written.change([](hid_t file) { H5Lcreate_hard(file, "/", file, "/sun/loop", H5P_DEFAULT, H5P_DEFAULT); });
  CHECK(said_of(written.path) == "'" + written.path + "' is damaged: '/sun/loop' leads back to a group above it");
}

TEST_CASE("lengths that the file can't hold take no memory", "[results]") {
  const Written written;
  const std::string too_long = "' is longer than the file can hold";
  written.change([](hid_t file) { put_instead(file, "/huge", H5T_NATIVE_DOUBLE, hsize_t{1} << 36, nullptr); });
  CHECK(said_of(written.path) == "'" + written.path + "' is damaged: '/huge" + too_long);
  const Written words_file;
  words_file.change([](hid_t file) {
    const hid_t type = H5Tcopy(H5T_C_S1);
    H5Tset_size(type, std::size_t{1} << 20);
    put_instead(file, "/wide", type, hsize_t{1} << 20, nullptr);
    H5Tclose(type);
  });
  CHECK(said_of(words_file.path) == "'" + words_file.path + "' is damaged: '/wide" + too_long);
}

TEST_CASE("paths that go beyond their vertices are an error", "[results]") {
  for (const std::int64_t count : {std::int64_t{1} << 62, std::int64_t{-1}, std::int64_t{6}}) {
    const Written written;
    written.change([&](hid_t file) {
      const std::int64_t counts[]{3, count};
      put_instead(file, "/paths/vertex_count", H5T_NATIVE_INT64, 2, counts);
    });
    CAPTURE(count);
    CHECK(said_of(written.path, [](const StoredFile& file) { paths_of(file); }) ==
          "'" + written.path + "' is damaged: '/paths/vertex_count' does not fit the vertices");
  }
}

TEST_CASE("what a file can't be without is never read as 0", "[results]") {
  const auto without = [](const char* set, const std::function<void(const StoredFile&)>& use) {
    const Written written;
    written.change([&](hid_t file) { REQUIRE(H5Ldelete(file, set, H5P_DEFAULT) >= 0); });
    return said_of(written.path, use).substr(written.path.size() + 2);
  };
  const auto paths = [](const StoredFile& file) { paths_of(file); };
  const auto flux = [](const StoredFile& file) { flux_of(file, "absorber"); };
  CHECK(without("/paths/power_W", paths) == " is damaged: '/paths/power_W' is missing, or of another type");
  CHECK(without("/paths/vertices_m", paths) == " is damaged: '/paths/vertices_m' is missing, or of another type");
  CHECK(without("/receivers/absorber/bin_area_m2", flux) ==
        " is damaged: '/receivers/absorber/bin_area_m2' is missing, or of another type");
  CHECK(without("/receivers/absorber/x_edges_m", flux) ==
        " is damaged: '/receivers/absorber/x_edges_m' is missing, or of another type");
}

TEST_CASE("a map that does not fit its axes is an error", "[results]") {
  const Written written;
  written.change([](hid_t file) {
    const double area[]{1, 2, 3};
    put_instead(file, "/receivers/absorber/bin_area_m2", H5T_NATIVE_DOUBLE, 3, area);
  });
  CHECK_THAT(said_of(written.path, [](const StoredFile& file) { flux_of(file, "absorber"); }),
             Catch::Contains("'/receivers/absorber/bin_area_m2' is too short"));
}

TEST_CASE("a schedule without suns, times or directions is an error", "[results]") {
  const ScratchFolder folder;
  const std::string path = folder.path / "s.h5";
  const auto said = [&](bool times, bool directions) {
    Hdf5File out;
    out.describe("/", "schema_version", std::int64_t{2});
    out.describe("/", "content", "schedule");
    out.put_scale("/time", times ? std::vector<double>{0} : std::vector<double>{}, none, words);
    out.put("/local_time", std::vector<std::string>(times ? 1 : 0, "2026-06-21T12:00:00Z"), {"/time"}, none, words);
    out.put_scale("/direction", std::vector<std::string>{"east", "north", "up"}, none, words);
    out.put_scale("/budget/term", std::vector<std::string>{"absorbed"}, none, words);
    if (directions) out.put("/sun/to_sun", std::vector<double>{0, 0, 1}, {"/time", "/direction"}, none, words);
    out.save(path);
    return said_of(path, [](const StoredFile& file) { schedule_of(file); });
  };
  CHECK(said(true, true) == "read");
  CHECK(said(false, false) == "'" + path + "' is damaged: '/time' is too short");
  CHECK(said(true, false) == "'" + path + "' is damaged: '/sun/to_sun' is missing, or of another type");
}

TEST_CASE("work that crashes, or never ends, is told and leaves this process alive", "[results]") {
  const std::size_t most_B = 1 << 28;
  const auto crash = [&](const std::function<void()>& work) { return tried_apart(work, 1, most_B).crash; };
  CHECK(crash([] {}).empty());
  CHECK(tried_apart([] {}, 1, most_B).thrown.empty());
  CHECK(tried_apart([] { throw std::runtime_error("words"); }, 1, most_B).thrown == "words");
  CHECK(crash([] { std::abort(); }) == "it ends in: Aborted");
  for (const int code : {1, 2}) CHECK(crash([code] { ::_exit(code); }) == "it ends in a fault");
  CHECK(crash([] {
          for (std::atomic<int> i = 0;;) ++i;
        }) == "it does not end within 1 s");
}

TEST_CASE("a file whose bytes crash HDF5 is an error, with a checksum that fits or without", "[results]") {
  // Bytes of the file's inner structure, changed one at a time. That HDF5 crashes on some of them is for certain in
  // none of its versions: what counts is that this process lives, and that some of them are refused.
  const Written written;
  const std::string sound = bytes_of(written.path);
  const std::string content = sound.substr(0, sound.size() - file_check_size);
  std::size_t refused = 0;
  for (std::size_t k = 0; k < 40; ++k) {
    std::string hurt = content;
    const std::size_t at = (k * 7919) % hurt.size();
    hurt[at] = static_cast<char>(hurt[at] ^ 0xFF);
    written.replace(hurt + (k % 2 == 0 ? file_check(std::as_bytes(std::span(hurt))) : std::string()));
    refused += said_of(written.path) == "read" ? 0 : 1;
  }
  CHECK(refused > 0);
}
