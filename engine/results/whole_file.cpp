#include "results/whole_file.h"

#include <cerrno>
#include <fcntl.h>
#include <fmt/format.h>
#include <stdexcept>
#include <string>
#include <system_error>
#include <unistd.h>
#include <utility>

namespace catoptra {
namespace {

namespace fs = std::filesystem;

[[noreturn]] void fail(const fs::path& path, std::string_view words) {
  throw std::runtime_error(fmt::format("can't write '{}': {}", path.string(), words));
}

[[noreturn]] void fail_with_errno(const fs::path& path) {
  fail(path, std::generic_category().message(errno));
}

/// An open file that is removed again unless it was renamed.
class TemporaryFile {
 public:
  explicit TemporaryFile(const fs::path& target) : target_(target), name_(target) {
    std::error_code ignored;
    const auto there = fs::status(target, ignored);
    // A rename would put a plain file in the place of a device or a pipe.
    if (fs::exists(there) && !fs::is_regular_file(there)) fail(target, "it exists and is not a plain file");
    name_ += fmt::format(".{}.part", ::getpid());
    descriptor_ = ::open(name_.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0666);
    if (descriptor_ < 0) fail_with_errno(target);
  }
  TemporaryFile(const TemporaryFile&) = delete;
  TemporaryFile& operator=(const TemporaryFile&) = delete;
  ~TemporaryFile() {
    if (descriptor_ >= 0) ::close(descriptor_);
    if (!name_.empty()) ::unlink(name_.c_str());
  }

  void write(std::span<const std::byte> bytes) {
    while (!bytes.empty()) {
      const auto written = ::write(descriptor_, bytes.data(), bytes.size());
      if (written < 0 && errno == EINTR) continue;
      if (written < 0) fail_with_errno(target_);
      bytes = bytes.subspan(static_cast<std::size_t>(written));
    }
  }

  void keep() {
    if (::fsync(descriptor_) != 0) fail_with_errno(target_);
    if (::close(std::exchange(descriptor_, -1)) != 0) fail_with_errno(target_);
    if (::rename(name_.c_str(), target_.c_str()) != 0) fail_with_errno(target_);
    name_.clear();
    // The name must survive a power cut too. Some file systems can't sync a folder: the file itself is safe by now.
    const auto folder = target_.has_parent_path() ? target_.parent_path() : fs::path(".");
    if (const int d = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC); d >= 0) {
      ::fsync(d);
      ::close(d);
    }
  }

 private:
  fs::path target_, name_;
  int descriptor_ = -1;
};

}  // namespace

void require_writable(const fs::path& path) {
  const TemporaryFile probe(path);
}

void write_whole_file(const fs::path& path, std::span<const std::byte> bytes) {
  TemporaryFile file(path);
  file.write(bytes);
  file.keep();
}

void write_whole_file(const std::filesystem::path& path, std::string_view text) {
  write_whole_file(path, std::as_bytes(std::span(text)));
}

}  // namespace catoptra
