// The lists of output numbers: every standard error is called alike, and files of other versions are read by name.
#include <catch2/catch.hpp>
#include <cmath>
#include <set>

#include "example_result.h"
#include "files/hdf5_file.h"
#include "files/put_common.h"
#include "files/stored_scene.h"
#include "files/write_result.h"
#include "scratch_folder.h"
#include "study/heat_numbers.h"
#include "words/comparison.h"

using namespace catoptra;
using test::ScratchFolder;

namespace {

const Units watt{"W"}, none{"1"};
const LongName words{"words"};

/// A schedule of schema 1 as an older version wrote it, with a term less and the rest in another order.
void put_old_schedule(Hdf5File& file) {
  file.describe("/", "schema_version", std::int64_t{1});
  file.describe("/", "content", "schedule");
  file.put_scale("/time", std::vector<double>{0, 600}, Units{"s"}, words);
  file.put("/local_time", std::vector<std::string>{"2026-06-21T12:00:00Z", "2026-06-21T12:10:00Z"}, {"/time"}, none,
           words);
  file.put_scale("/direction", std::vector<std::string>{"east", "north", "up"}, none, words);
  file.put("/sun/to_sun", std::vector<double>{0, 0, 1, 0, 0.6, 0.8}, {"/time", "/direction"}, none, words);
  file.put_scale("/budget/term", std::vector<std::string>{"absorbed", "spillage", "cosine"}, none, words);
  const Scales by_term{"/time", "/budget/term"};
  file.put("/budget/power_W", std::vector<double>{900, 50, 10, 800, 60, 20}, by_term, watt, words);
  file.describe("/budget/power_W", "ancillary_variables", "standard_error_W");
  file.put("/budget/standard_error_W", std::vector<double>{1, 2, 3, 4, 5, 6}, by_term, watt, words);
  file.put("/optical_efficiency", std::vector<double>{0.9, 0.8}, {"/time"}, none, words);
  file.describe("/optical_efficiency", "ancillary_variables", "optical_efficiency_standard_error");
  file.put("/optical_efficiency_standard_error", std::vector<double>{0.01, 0.02}, {"/time"}, none, words);
  file.put("/receivers/tube/absorbed_power_W", std::vector<double>{900, 800}, {"/time"}, watt, words);
}

}  // namespace

TEST_CASE("an old schedule is read by name, and what it lacks is no number", "[results]") {
  const ScratchFolder folder;
  const std::string path = folder.path / "old.h5";
  Hdf5File out;
  put_old_schedule(out);
  out.save(path);
  const Schedule schedule = schedule_of(read_result(path));
  REQUIRE(schedule.rows.size() == 2);
  const auto term = [&](std::size_t row, Term t) {
    return schedule.rows[row].result.budget[static_cast<std::size_t>(t)];
  };
  CHECK(term(0, Term::absorbed).value == 900);
  CHECK(term(1, Term::absorbed).value == 800);
  CHECK(term(1, Term::absorbed).standard_error == 4);
  CHECK(term(1, Term::cosine).value == 20);
  CHECK(term(1, Term::spillage).standard_error == 5);
  CHECK(std::isnan(term(0, Term::cover_loss).value));
  CHECK(schedule.rows[1].result.optical_efficiency.value == 0.8);
  CHECK(schedule.rows[1].result.optical_efficiency.standard_error == 0.02);
  REQUIRE(schedule.rows[1].result.receivers.size() == 1);
  CHECK(schedule.rows[1].result.receivers[0].absorbed_power_W.value == 800);
  CHECK(std::isnan(schedule.rows[1].result.receivers[0].arriving_power_W.value));
  CHECK(std::isnan(schedule.rows[1].result.aperture_area_m2));
}

TEST_CASE("a loss that this version does not know is told, not left out", "[results]") {
  const ScratchFolder folder;
  const std::string path = folder.path / "newer.h5";
  Hdf5File out;
  out.describe("/", "schema_version", std::int64_t{result_schema_version});
  out.describe("/", "content", "schedule");
  out.put_scale("/budget/term", std::vector<std::string>{"absorbed", "frost"}, none, words);
  out.save(path);
  CHECK_THROWS_WITH(schedule_of(read_result(path)), Catch::Contains("'frost', which this program does not know"));
}

TEST_CASE("errors that an old trace kept as attributes are compared as the others are", "[results]") {
  const ScratchFolder folder;
  const auto write = [&](const std::string& name, const Estimate& efficiency, bool old) {
    Hdf5File file;
    file.describe("/", "schema_version", std::int64_t{old ? 1 : result_schema_version});
    if (old) {
      file.put("/optical_efficiency", efficiency.value, none, words);
      file.describe("/optical_efficiency", "standard_error", efficiency.standard_error);
    } else {
      put_estimate(file, "/", "optical_efficiency", "", efficiency, none, "words");
    }
    file.save(folder.path / name);
    return read_result(folder.path / name);
  };
  // 0.76 and 0.77 with errors of 0.003 and 0.004: 1 % apart, 2 of the difference's errors of 0.5 %.
  const std::vector<StoredFile> files{write("old.h5", {0.76, 0.003}, true), write("new.h5", {0.77, 0.004}, false)};
  const std::string text = comparison_text(files);
  CHECK_THAT(text, Catch::Contains("76.00 ± 0.30") && Catch::Contains("77.00 ± 0.40"));
  CHECK_THAT(text, Catch::Contains("1.00 ± 0.50                  +2\n"));
}

TEST_CASE("every standard error of a file is a dataset, called after its number", "[results]") {
  const ScratchFolder folder;
  const std::string path = folder.path / "a.h5";
  write_result(path, test::example_scene(), test::example_result(), test::example_provenance());
  const StoredFile file = read_result(path);
  std::set<std::string> errors, named;
  for (const StoredSet& set : file.sets()) {
    CAPTURE(set.path);
    CHECK_FALSE(set.attributes.contains("standard_error"));
    if (set.path.find("_standard_error") != set.path.npos) errors.insert(set.path);
    const std::string beside = text_of(set.attributes, "ancillary_variables");
    if (beside.empty()) continue;
    const std::string group = set.path.substr(0, set.path.rfind('/') + 1), name = set.path.substr(group.size());
    const std::string suffix = unit_suffix(text_of(set.attributes, "units"));
    REQUIRE(name.ends_with(suffix));
    CHECK(beside == name.substr(0, name.size() - suffix.size()) + "_standard_error" + suffix);
    named.insert(group + beside);
  }
  CHECK(errors.size() > 20);
  CHECK(errors == named);
}

TEST_CASE("numbers go into their places and come back, with an error or without", "[results]") {
  HeatBalance balance;
  for (const auto& number : heat_numbers) {
    number.set(balance, {7, 2});
    CHECK(number.at(balance).value == 7);
    CHECK(number.at(balance).standard_error == (number.has_error() ? 2 : 0));
    number.set(balance, {0, 0});
  }
  CHECK(unit_suffix("W m-2") == "_W_m2");
  CHECK(unit_suffix("1").empty());
  CHECK(error_key("flux", "_W_m2") == "flux_standard_error_W_m2");
}
