#include "files/whole_file.h"

#include <cerrno>
#include <chrono>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <fcntl.h>
#include <fmt/format.h>
#include <optional>
#include <sys/file.h>
#include <sys/random.h>
#include <sys/stat.h>
#include <system_error>
#include <unistd.h>

namespace catoptra {
namespace {

namespace fs = std::filesystem;

// Short, so that a name of 255 bytes has room for it; random, since two machines may share a folder and a process id.
constexpr std::string_view temporary_begin = ".catoptra-", temporary_end = ".part", note_end = ".set";
constexpr std::size_t random_digits = 16;
constexpr std::time_t stale_s = 600;

std::string system_words() {
  return std::generic_category().message(errno);
}

class Descriptor {
 public:
  explicit Descriptor(int descriptor) : descriptor_(descriptor) {}
  Descriptor(const Descriptor&) = delete;
  Descriptor& operator=(const Descriptor&) = delete;
  ~Descriptor() {
    if (descriptor_ >= 0) ::close(descriptor_);
  }
  int get() const { return descriptor_; }
  int release() { return std::exchange(descriptor_, -1); }

 private:
  int descriptor_;
};

fs::path folder_of(const fs::path& file) {
  return file.has_parent_path() ? file.parent_path() : fs::path(".");
}

/// Where a rename must go so that it replaces nothing but a plain file: behind links. Throws CantWrite.
fs::path place_of(const fs::path& path) {
  std::error_code fault;
  fs::path place = path;
  if (fs::is_symlink(fs::symlink_status(path, fault))) {
    place = fs::canonical(path, fault);
    if (fault) throw CantWrite(path, "it is a link that leads to no file");
  }
  struct stat there = {}, stream = {};
  if (::stat(place.c_str(), &there) != 0) return place;
  if (!S_ISREG(there.st_mode)) throw CantWrite(path, "it exists and is not a plain file");
  for (const int descriptor : {STDOUT_FILENO, STDERR_FILENO})
    if (::fstat(descriptor, &stream) == 0 && stream.st_dev == there.st_dev && stream.st_ino == there.st_ino)
      throw CantWrite(path, "it is where this program prints");
  return place;
}

std::string random_name(std::string_view end) {
  std::uint64_t random = 0;
  if (::getrandom(&random, sizeof random, 0) != sizeof random)
    throw std::system_error(errno, std::generic_category(), "no random numbers");
  return fmt::format("{}{:016x}{}", temporary_begin, random, end);
}

bool is_name_with(std::string_view name, std::string_view end) {
  return name.size() == temporary_begin.size() + random_digits + end.size() && name.starts_with(temporary_begin) &&
         name.ends_with(end) &&
         name.substr(temporary_begin.size(), random_digits).find_first_not_of("0123456789abcdef") == name.npos;
}

void sync_folder(const fs::path& folder) {
  // A name must survive a power cut too. Some file systems can't sync a folder: the file itself is safe by now.
  const Descriptor d(::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC));
  if (d.get() >= 0) ::fsync(d.get());
}

/// An open file, locked, that is removed again unless it was renamed.
class TemporaryFile {
 public:
  explicit TemporaryFile(const fs::path& target) : target_(target), place_(place_of(target)) {
    int descriptor = -1;
    do {
      name_ = folder_of(place_) / random_name(temporary_end);
      descriptor = ::open(name_.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0666);
    } while (descriptor < 0 && errno == EEXIST);
    if (descriptor < 0) {
      name_.clear();
      throw CantWrite(target, system_words());
    }
    descriptor_ = descriptor;
    ::flock(descriptor_, LOCK_EX | LOCK_NB);  // where there are no locks, age alone tells what is stale
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
      if (written < 0) throw CantWrite(target_, system_words());
      bytes = bytes.subspan(static_cast<std::size_t>(written));
    }
  }

  void keep() {
    if (::fsync(descriptor_) != 0) throw CantWrite(target_, system_words());
    if (::close(std::exchange(descriptor_, -1)) != 0) throw CantWrite(target_, system_words());
    if (::rename(name_.c_str(), place_.c_str()) != 0) throw CantWrite(target_, system_words());
    name_.clear();
    sync_folder(folder_of(place_));
  }

 private:
  fs::path target_, place_, name_;
  int descriptor_ = -1;
};

/// Opens a left-over of our own user that nobody holds; the lock goes with the descriptor.
std::optional<int> left_over(const fs::path& path, std::time_t least_age_s) {
  Descriptor file(::open(path.c_str(), O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC));
  struct stat found = {};
  if (file.get() < 0 || ::fstat(file.get(), &found) != 0 || !S_ISREG(found.st_mode) || found.st_uid != ::geteuid() ||
      std::time(nullptr) - found.st_mtime < least_age_s || ::flock(file.get(), LOCK_EX | LOCK_NB) != 0)
    return std::nullopt;
  return file.release();
}

bool is_plain_name(std::string_view name) {
  return !name.empty() && name.find('/') == name.npos && name != "." && name != "..";
}

/// Does the renames of a note: pairs of names, each ended by a NUL, the last pair by one more. A note that is
/// cut short was never complete: its files stay as they were, and the note goes.
void finish_set(const fs::path& note, const fs::path& folder) {
  const auto file = left_over(note, 0);
  if (!file) return;
  const Descriptor lock(*file);
  std::string text;
  char block[4096];
  for (ssize_t n = 0; (n = ::read(lock.get(), block, sizeof block)) > 0;)
    text.append(block, static_cast<std::size_t>(n));
  std::vector<std::string> names;
  for (std::size_t begin = 0, end = 0; (end = text.find('\0', begin)) != text.npos; begin = end + 1)
    names.push_back(text.substr(begin, end - begin));
  if (names.size() % 2 == 1 && names.back().empty()) {
    for (std::size_t i = 0; i + 1 < names.size(); i += 2)
      if (is_name_with(names[i], temporary_end) && is_plain_name(names[i + 1]))
        ::rename((folder / names[i]).c_str(), (folder / names[i + 1]).c_str());
    sync_folder(folder);
  }
  ::unlink(note.c_str());
}

}  // namespace

CantWrite::CantWrite(const fs::path& where, std::string_view why)
    : std::runtime_error(fmt::format("can't write '{}': {}", where.string(), why)), words(why) {}

void settle_folder(const fs::path& folder) noexcept {
  try {
    std::vector<fs::path> notes, temporaries;
    for (const auto& entry : fs::directory_iterator(folder)) {
      const std::string name = entry.path().filename().string();
      if (is_name_with(name, note_end)) notes.push_back(entry.path());
      if (is_name_with(name, temporary_end)) temporaries.push_back(entry.path());
    }
    for (const auto& note : notes) finish_set(note, folder);
    for (const auto& temporary : temporaries) {
      const auto file = left_over(temporary, stale_s);
      if (!file) continue;
      const Descriptor lock(*file);
      ::unlink(temporary.c_str());
    }
  } catch (const std::exception&) {
    // A folder that can't be tidied is no error. If nothing can be written there, the verb's own work says so.
  }
}

void require_writable(const fs::path& path) {
  settle_folder(folder_of(path));
  const TemporaryFile probe(path);
}

void write_whole_file(const fs::path& path, std::span<const std::byte> bytes, std::span<const std::byte> rest) {
  TemporaryFile file(path);
  file.write(bytes);
  file.write(rest);
  file.keep();
}

void write_whole_file(const fs::path& path, std::string_view text) {
  write_whole_file(path, std::as_bytes(std::span(text)));
}

FileSet::~FileSet() {
  for (const auto& [temporary, place] : files_) ::unlink(temporary.c_str());
}

void FileSet::write(const fs::path& path, const std::function<void(const fs::path&)>& writer) {
  const fs::path place = place_of(path), temporary = folder_of(place) / random_name(temporary_end);
  files_.emplace_back(temporary, place);
  try {
    writer(temporary);
  } catch (const CantWrite& fault) {
    throw CantWrite(path, fault.words);
  }
}

void FileSet::keep() {
  if (files_.empty()) return;
  const fs::path folder = folder_of(files_.back().second);
  std::string names;
  std::vector<std::pair<fs::path, fs::path>> elsewhere, here;
  for (const auto& file : files_) (folder_of(file.second) == folder ? here : elsewhere).push_back(file);
  for (const auto& [temporary, place] : here)
    names += temporary.filename().string() + '\0' + place.filename().string() + '\0';
  names += '\0';
  const fs::path note = folder / random_name(note_end);
  const Descriptor file(::open(note.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0600));
  if (file.get() < 0) throw CantWrite(files_.back().second, system_words());
  ::flock(file.get(), LOCK_EX | LOCK_NB);
  const auto fail = [&](const fs::path& place) {
    const std::string words = system_words();
    ::unlink(note.c_str());
    throw CantWrite(place, words);
  };
  if (::write(file.get(), names.data(), names.size()) != static_cast<ssize_t>(names.size()) || ::fsync(file.get()) != 0)
    fail(files_.back().second);
  sync_folder(folder);
  for (const auto* group : {&elsewhere, &here})
    for (const auto& [temporary, place] : *group)
      if (::rename(temporary.c_str(), place.c_str()) != 0) fail(place);
  files_.clear();
  sync_folder(folder);
  ::unlink(note.c_str());
}

}  // namespace catoptra
