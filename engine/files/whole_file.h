#pragma once
// Files that exist whole or not at all, one by one or several at once.
#include <cstddef>
#include <filesystem>
#include <functional>
#include <span>
#include <stdexcept>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace catoptra {

/// A file that can't be written: "can't write 'PATH': WORDS".
struct CantWrite : std::runtime_error {
  CantWrite(const std::filesystem::path& where, std::string_view why);
  std::string words;
};

/// Throws CantWrite, with the system's words, where `write_whole_file(path, …)` could not work: no such folder, no
/// right to write in it, a link to nothing, or something other than a plain file, which a rename would replace: a
/// device, a pipe, this program's own output. A link to a plain file is fine: the file behind it is written. Leaves
/// nothing behind, and tidies the folder (see settle_folder).
void require_writable(const std::filesystem::path& path);

/// Writes `bytes`, and `rest` behind them, under a temporary name in the same folder, has the disk take them (fsync),
/// then renames: whoever opens `path` meets the old file or the whole new one. Throws CantWrite; then `path` is as it
/// was.
void write_whole_file(const std::filesystem::path& path, std::span<const std::byte> bytes,
                      std::span<const std::byte> rest = {});
void write_whole_file(const std::filesystem::path& path, std::string_view text);

/// Finishes what a killed program left in a folder: a set of files that was complete takes its places; temporary files
/// that nobody holds any more are removed once they are ten minutes old (locks don't reach every network's nodes).
void settle_folder(const std::filesystem::path& folder) noexcept;

/// Files that appear together. First all are complete on the disk, under temporary names. Then a note in the folder of
/// the last one lists the names: this is the commit point. Then come the renames. After a kill between two of them, the
/// next program that reads or writes in that folder finishes them.
class FileSet {
 public:
  FileSet() = default;
  FileSet(const FileSet&) = delete;
  FileSet& operator=(const FileSet&) = delete;
  /// Removes what was not kept.
  ~FileSet();

  /// Has `writer` write the file that shall become `path` to the path that it is given. Throws CantWrite with `path`.
  void write(const std::filesystem::path& path, const std::function<void(const std::filesystem::path&)>& writer);
  /// All take their places, in the order in which they were written. Throws CantWrite.
  void keep();

 private:
  std::vector<std::pair<std::filesystem::path, std::filesystem::path>> files_;  // temporary name, place
};

}  // namespace catoptra
