#include "page.h"

#include <fmt/format.h>
#include <stdexcept>
#include <string_view>

#include "arguments.h"
#include "files/whole_file.h"
#include "streams.h"

// page/page.S
extern "C" {
extern const char catoptra_page_begin[], catoptra_page_end[];
}

namespace catoptra {
namespace {

namespace fs = std::filesystem;

constexpr std::string_view place_of_data = "/* data */";

/// What the build put into the program: the page, or the reason why there is none.
std::string_view carried() {
  return {catoptra_page_begin, static_cast<std::size_t>(catoptra_page_end - catoptra_page_begin)};
}

}  // namespace

void require_pages() {
  const auto page = carried();
  if (page.find(place_of_data) == page.npos)
    throw std::runtime_error(fmt::format(
        "this program was built without its pages: {}\n"
        "  to have them, install Node.js 18 or newer with npm, and with a network configure and build again",
        page));
}

fs::path page_path(const std::string& typed, const std::string& input) {
  fs::path path = typed.empty() ? fs::path(input).stem().concat(".html") : fs::path(typed);
  if (path.extension() != ".html" && path.extension() != ".htm")
    throw UsageError(fmt::format("--output is '{}'\n  allowed: the name of a page, which ends in .html", typed));
  return path;
}

void write_page(const fs::path& path, const std::string& data) {
  const auto page = carried();
  const auto place = page.find(place_of_data);
  std::string whole;
  whole.reserve(page.size() + data.size());
  whole.append(page.substr(0, place)).append(data).append(page.substr(place + place_of_data.size()));
  write_whole_file(path, whole);
  say("page: {} ({:.1f} MB)\n", path.string(), static_cast<double>(whole.size()) / 1e6);
}

}  // namespace catoptra
