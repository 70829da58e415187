#pragma once
// Result files as the JSON that a page carries.
#include <span>
#include <string>

#include "files/read_file.h"

namespace catoptra {

/// `{"path": …, "attributes": {name: value}, "sets": {path: {"units", "long_name", "over", "shape", "values", …}}}` on
/// one line, for a page's script. A dataset's other attributes stand beside its units, and where
/// it runs over a schedule's suns "mean" and "mean_error", means over them. Doubles are the shortest text
/// that reads back to the same bits; more than 64 of them go as the base64 (RFC 4648) of their little-endian bytes,
/// {"f64": "…"}. What is no number is null. Integers that a JavaScript number can't hold go as text. Bytes
/// that are no UTF-8 become U+FFFD.
std::string file_json(const StoredFile& file);

/// A file on a page, in JSON: its numbers, its view in space and a schedule's rows (pictures/page_view.h).
struct PageFile {
  std::string data = "null", view = "null", rows = "null";
};

/// The page's whole data; `kind` is "result", "comparison" or "scene". It may stand inside a script element of HTML:
/// no "</script>" or "<!--" can be in it.
std::string page_json(const std::string& kind, const std::string& title, std::span<const PageFile> files);

}  // namespace catoptra
