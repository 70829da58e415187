// docs/scene-reference.md against the lists that the reader walks. CATOPTRA_WRITE_REFERENCE=1 in the environment writes
// the tables anew instead of only comparing them.
#include "scene/reference.h"

#include <catch2/catch.hpp>
#include <cstdlib>
#include <fstream>

#include "scene/read_file.h"
#include "source_dir.h"

namespace catoptra {
namespace {

const std::string page_path = std::string(CATOPTRA_SOURCE_DIR) + "/docs/scene-reference.md";

std::string opening(const ReferenceTable& table) {
  return "<!-- keys: " + table.name + " -->\n";
}
const std::string closing = "<!-- end -->\n";

TEST_CASE("the scene reference lists every key as the reader knows it", "[scene][docs]") {
  std::string page = read_whole_file(page_path);
  for (const auto& table : reference_tables()) {
    INFO(table.name);
    const auto mark = page.find(opening(table));
    REQUIRE(mark != std::string::npos);
    const auto begin = mark + opening(table).size();
    const auto end = page.find(closing, begin);
    REQUIRE(end != std::string::npos);
    if (std::getenv("CATOPTRA_WRITE_REFERENCE") != nullptr) page.replace(begin, end - begin, table.markdown);
    CHECK(page.substr(begin, page.find(closing, begin) - begin) == table.markdown);
  }
  if (std::getenv("CATOPTRA_WRITE_REFERENCE") != nullptr) std::ofstream(page_path, std::ios::binary) << page;
}

TEST_CASE("the scene reference has no table that the reader lacks", "[scene][docs]") {
  const std::string page = read_whole_file(page_path);
  std::size_t marks = 0;
  for (auto at = page.find("<!-- keys: "); at != std::string::npos; at = page.find("<!-- keys: ", at + 1)) ++marks;
  CHECK(marks == reference_tables().size());
}

}  // namespace
}  // namespace catoptra
