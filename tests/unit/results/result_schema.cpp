// docs/result-schema.md against a written file, both ways.
#include <catch2/catch.hpp>

#include "example_result.h"
#include "files/write_result.h"
#include "hdf5_walk.h"
#include "schema_page.h"
#include "scratch_folder.h"

using namespace catoptra;
using test::check_same;
using test::documented;
using test::Rows;

namespace {

/// Takes the example's own names out: receivers and the axes of their maps.
std::string general(std::string path) {
  const auto replace = [&path](const std::string& from, const std::string& to) {
    if (path.ends_with(from)) path.replace(path.size() - from.size(), from.size(), to);
  };
  for (const std::string receiver : {"/absorber/", "/second absorber/"})
    if (const auto at = path.find(receiver); at != path.npos) path.replace(at, receiver.size(), "/<receiver>/");
  replace("/x_m", "/<first>");
  replace("/x_edges_m", "/<first edges>");
  replace("/y_m", "/<second>");
  replace("/y_edges_m", "/<second edges>");
  return path;
}

std::string dataset_row(const std::string& path, const test::FoundDataset& found) {
  std::string over, units = found.units, meaning = found.long_name;
  for (const auto& scale : found.over) {
    std::string name = "/" + scale;
    over += (over.empty() ? "" : ", ") + general(name).substr(1);
  }
  const std::string place = general(path);
  if (place.find("/<receiver>/<") != place.npos) {  // what the flux map itself says of its axes
    units = units == "m" ? "of the axis" : "wrong";
    const auto comma = meaning.rfind(", ");
    meaning = meaning.starts_with("position along the receiver's ") ? "of the axis" + meaning.substr(comma) : "wrong";
  }
  return place + " | " + found.type + " | " + (over.empty() ? "-" : over) + " | " + units + " | " + meaning;
}

struct Written {
  Written() { write_result(path, test::example_scene(), test::example_result(), test::example_provenance()); }
  test::ScratchFolder folder;
  std::filesystem::path path = folder.path / "a.h5";
};

}  // namespace

TEST_CASE("every dataset stands in docs/result-schema.md as it is, and the other way round", "[results]") {
  const Written written;
  Rows in_file;
  auto walked = test::walk(written.path);
  test::fold_errors(walked);
  for (const auto& [path, found] : walked.datasets) in_file.insert(dataset_row(path, found));
  const Rows in_docs = documented("Datasets");
  REQUIRE(in_docs.size() > 40);
  check_same(in_docs, in_file);
}

TEST_CASE("every attribute stands in docs/result-schema.md, and the other way round", "[results]") {
  const Written written;
  auto found = test::walk(written.path);
  test::fold_errors(found);
  const std::set<std::string> common{"units", "long_name", "CLASS", "NAME", "REFERENCE_LIST", "DIMENSION_LIST"};
  Rows in_file, in_docs;
  for (const auto& [name, type] : found.root) in_file.insert("/ | " + name + " | " + type);
  for (const auto& [path, dataset] : found.datasets)
    for (const auto& [name, type] : dataset.attributes)
      if (!common.contains(name)) in_file.insert(general(path) + " | " + name + " | " + type);
  for (const auto& row : documented("Attributes")) in_docs.insert(row.substr(0, row.rfind(" | ")));
  REQUIRE(in_docs.size() > 20);
  check_same(in_docs, in_file);
}

TEST_CASE("checksums on every number array, compressed integers, no times", "[results]") {
  const Written written;
  const auto found = test::walk(written.path);
  CHECK_FALSE(found.times_kept);
  for (const auto& [path, dataset] : found.datasets) {
    CAPTURE(path);
    const bool array = !dataset.shape.empty() && dataset.type != "text";
    CHECK(dataset.checksummed == array);
    CHECK(dataset.deflated == (array && dataset.type.starts_with('i')));
  }
}
