#include "files/whole_file.h"

#include <catch2/catch.hpp>
#include <signal.h>
#include <string>
#include <sys/resource.h>
#include <sys/stat.h>

#include "scratch_folder.h"

using namespace catoptra;
using test::bytes_of;
using test::ScratchFolder;

namespace {

std::span<const std::byte> bytes(const std::string& text) {
  return std::as_bytes(std::span(text));
}

}  // namespace

TEST_CASE("a whole file takes the place of the old one and leaves nothing beside it", "[results]") {
  const ScratchFolder folder;
  const auto path = folder.path / "a.h5";
  write_whole_file(path, bytes("old"));
  const std::string big(3'000'000, 'x');
  write_whole_file(path, bytes(big));
  CHECK(bytes_of(path) == big);
  CHECK(folder.files() == 1);
}

TEST_CASE("a file that can't be written leaves the old one as it was", "[results]") {
  const ScratchFolder folder;
  const auto path = folder.path / "a.h5";
  write_whole_file(path, bytes("old"));

  // A limit on file sizes stands for a full disk: write() fails half way (POSIX setrlimit: EFBIG).
  rlimit before{};
  getrlimit(RLIMIT_FSIZE, &before);
  const auto old_action = signal(SIGXFSZ, SIG_IGN);
  const rlimit tight{1000, before.rlim_max};
  setrlimit(RLIMIT_FSIZE, &tight);
  CHECK_THROWS_WITH(write_whole_file(path, bytes(std::string(5000, 'x'))),
                    "can't write '" + path.string() + "': File too large");
  setrlimit(RLIMIT_FSIZE, &before);
  signal(SIGXFSZ, old_action);

  CHECK(bytes_of(path) == "old");
  CHECK(folder.files() == 1);
}

TEST_CASE("a path that can't be written is known beforehand", "[results]") {
  const ScratchFolder folder;
  const auto missing = folder.path / "missing" / "a.h5";
  CHECK_THROWS_WITH(require_writable(missing), "can't write '" + missing.string() + "': No such file or directory");
  CHECK_THROWS_WITH(require_writable(folder.path),
                    "can't write '" + folder.path.string() + "': it exists and is not a plain file");
  // A pipe must not be renamed away.
  const auto pipe = folder.path / "pipe";
  REQUIRE(mkfifo(pipe.c_str(), 0600) == 0);
  CHECK_THROWS_WITH(require_writable(pipe), "can't write '" + pipe.string() + "': it exists and is not a plain file");
  CHECK(std::filesystem::is_fifo(pipe));

  CHECK_NOTHROW(require_writable(folder.path / "a.h5"));
  CHECK(folder.files() == 1);  // the pipe alone: the probe is gone
}
