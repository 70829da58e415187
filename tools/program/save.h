#pragma once
// Files that hold hours of work: if they can't go where they were meant to, they go somewhere else.
#include <filesystem>
#include <functional>
#include <string>
#include <vector>

namespace catoptra {

struct FileToSave {
  std::filesystem::path path;
  std::function<void(const std::filesystem::path&)> write;  // whole or not at all, to the path that it is given
};

struct Saved {
  std::vector<std::string> places;  // of each file; "(not kept)" where it is nowhere
  std::string fault;                // why they are not where they were meant to be; empty: they are

  /// Says on stderr what went wrong and where the files are now.
  void tell_fault() const;
};

/// Writes them so that they appear together (FileSet), the last one last. Where that fails, a new folder among the
/// system's temporary files (TMPDIR) takes them.
Saved save_files(const std::vector<FileToSave>& files);

}  // namespace catoptra
