#include "save.h"

#include <cstdlib>
#include <exception>

#include "files/whole_file.h"
#include "memory.h"
#include "streams.h"

namespace catoptra {
namespace {

namespace fs = std::filesystem;

/// Empty where there is none to be had.
fs::path new_temporary_folder() {
  std::error_code none;
  std::string name = (fs::temp_directory_path(none) / "catoptra-XXXXXX").string();
  return none || ::mkdtemp(name.data()) == nullptr ? fs::path() : fs::path(name);
}

/// Why they could not be written; empty: they were.
std::string fault_of(const std::vector<FileToSave>& files) {
  try {
    FileSet set;
    for (const FileToSave& file : files) set.write(file.path, file.write);
    set.keep();
    return {};
  } catch (const std::exception& fault) {
    return words_of_fault(fault);
  }
}

}  // namespace

Saved save_files(const std::vector<FileToSave>& files) {
  Saved out;
  out.fault = fault_of(files);
  for (const FileToSave& file : files) out.places.push_back(out.fault.empty() ? file.path.string() : "(not kept)");
  if (out.fault.empty()) return out;
  const fs::path folder = new_temporary_folder();
  if (folder.empty()) return out;
  std::vector<FileToSave> moved = files;
  for (FileToSave& file : moved) file.path = folder / file.path.filename();
  if (fault_of(moved).empty()) {
    for (std::size_t i = 0; i < moved.size(); ++i) out.places[i] = moved[i].path.string();
  } else {
    std::error_code ignored;
    fs::remove_all(folder, ignored);
  }
  return out;
}

void Saved::tell_fault() const {
  std::string text = "catoptra: error: " + fault + "\n";
  for (const std::string& place : places)
    if (place != "(not kept)") text += "  kept instead: " + place + "\n";
  print_err(text);
}

}  // namespace catoptra
