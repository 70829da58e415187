#pragma once
// Pages: HTML files that show a result or a scene, for report, look and compare.
#include <filesystem>
#include <string>

namespace catoptra {

/// Throws std::runtime_error where this program was built without its pages, saying how to get them.
void require_pages();

/// Where a page goes: as typed, or `input`'s name with .html in this folder. Throws UsageError for another ending.
std::filesystem::path page_path(const std::string& typed, const std::string& input);

/// Writes the page that shows `data` (pictures/page_data.h), whole or not at all, and says so on stdout.
void write_page(const std::filesystem::path& path, const std::string& data);

}  // namespace catoptra
