// Files written by Hdf5File come back whole, with their axes and attributes.
#include "files/read_file.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <limits>

#include "files/hdf5_file.h"
#include "files/provenance.h"
#include "scratch_folder.h"

using namespace catoptra;
using test::ScratchFolder;

namespace {

const Units metre{"m"}, none{"1"};

void put_example(Hdf5File& file) {
  file.describe("/", "schema_version", std::int64_t{result_schema_version});
  file.describe("/", "seed", std::numeric_limits<std::uint64_t>::max());
  file.describe("/", "title", "Plateau test field \xe2\x98\x80");
  file.put_scale("/z/height_m", std::vector<double>{1, 2, 3}, metre, LongName{"height"});
  file.put_scale("/z/axis", std::vector<std::string>{"east", ""}, none, LongName{"axis"});
  file.put("/z/table", std::vector<double>{1, 2, 3, 4, NAN, 6}, {"/z/height_m", "/z/axis"}, metre, LongName{"table"});
  file.put("/a/count", std::vector<std::int64_t>{-1, 0, std::int64_t{1} << 60}, {"/z/height_m"}, none, LongName{"n"});
  file.put("/a/flag", std::vector<std::int8_t>{-1, 0, 1}, {"/z/height_m"}, none, LongName{"flag"});
  file.put("/a/number", 0.1, none, LongName{"a tenth"});
  file.describe("/a/number", "standard_error", 0.25);
}

}  // namespace

TEST_CASE("a file reads back as it was written") {
  const ScratchFolder folder;
  const auto path = folder.path / "example.h5";
  Hdf5File out;
  put_example(out);
  out.save(path);
  const StoredFile file = read_result(path.string());

  CHECK(file.text("title") == "Plateau test field \xe2\x98\x80");
  CHECK(std::get<std::vector<std::uint64_t>>(file.attributes.at("seed").values).front() ==
        std::numeric_limits<std::uint64_t>::max());
  std::vector<std::string> order;
  for (const auto& set : file.sets()) order.push_back(set.path);
  CHECK(order == std::vector<std::string>{"/z/height_m", "/z/axis", "/z/table", "/a/count", "/a/flag", "/a/number"});

  const StoredSet* table = file.find("/z/table");
  REQUIRE(table);
  CHECK(table->shape == std::vector<std::size_t>{3, 2});
  CHECK(table->over == std::vector<std::string>{"/z/height_m", "/z/axis"});
  CHECK_FALSE(table->scale);
  CHECK(file.find("/z/axis")->scale);
  CHECK(file.number("/z/table", 3) == 4);
  CHECK(std::isnan(file.number("/z/table", 4)));
  CHECK(std::isnan(file.number("/z/table", 6)));
  CHECK(std::isnan(file.number("/z/no_such_set")));
  CHECK(table->attributes.size() == 2);  // units and long name: HDF5's own marks are left out
  CHECK(std::get<std::vector<std::string>>(file.find("/z/axis")->values) == std::vector<std::string>{"east", ""});
  CHECK(std::get<std::vector<std::int64_t>>(file.find("/a/count")->values) ==
        std::vector<std::int64_t>{-1, 0, std::int64_t{1} << 60});
  CHECK(std::get<std::vector<std::int64_t>>(file.find("/a/flag")->values) == std::vector<std::int64_t>{-1, 0, 1});
  CHECK(file.find("/a/number")->shape.empty());
  CHECK(std::get<std::vector<double>>(file.find("/a/number")->attributes.at("standard_error").values).front() == 0.25);
}

TEST_CASE("a file of ours without a schema version is refused") {
  const ScratchFolder folder;
  const auto path = folder.path / "example.h5";
  Hdf5File out;
  out.put("/number", 1.0, none, LongName{"one"});
  out.save(path);
  CHECK_THROWS_AS(read_result(path.string()), NotAResult);
  CHECK_THROWS_AS(read_result((folder.path / "missing.h5").string()), NotAResult);
}
