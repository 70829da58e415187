#pragma once
// Result files as the JSON that a page carries.
#include <span>
#include <string>

#include "results/read_file.h"

namespace catoptra {

/// `{"path": …, "attributes": {name: value}, "sets": {path: {"units", "long_name", "over", "shape", "values", …}}}` on
/// one line, for a page's script. A dataset's other attributes stand beside its units. Doubles are the shortest text
/// that reads back to the same bits; more than 64 of them go as the base64 (RFC 4648) of their little-endian bytes,
/// {"f64": "…"}. What is no number is null. Integers that a JavaScript number can't hold go as text.
std::string file_json(const StoredFile& file);

/// The page's whole data: `kind` is "result", "comparison" or "scene"; `files` and `views` are JSON texts, a view
/// being the three-dimensional scene of the file beside it, "null" where there is none.
struct PageFile {
  std::string file = "null", view = "null";
};
std::string page_json(const std::string& kind, const std::string& title, std::span<const PageFile> files);

}  // namespace catoptra
