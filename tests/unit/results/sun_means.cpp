// Means over a schedule's suns, and what a comparison says of them.
#include "words/sun_means.h"

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "files/hdf5_file.h"
#include "files/put_common.h"
#include "pictures/page_data.h"
#include "scratch_folder.h"
#include "words/comparison.h"

using namespace catoptra;
using test::ScratchFolder;

namespace {

const Units none{"1"};
const LongName words{"words"};
// Errors of 3 and 4: sqrt(9 + 16) / 2 = 2.5 where they are independent, 7 / 2 where they may err together.
const std::vector<Estimate> efficiency{{0.5, 0.03}, {0.7, 0.04}};

struct Suns {
  std::vector<std::uint64_t> seeds{1, 2};
  std::vector<double> to_sun{0, 0, 1, 0, 0.6, 0.8};
  std::string day = "2026-06-21";
};

StoredFile schedule(const ScratchFolder& folder, const std::string& name, const Suns& suns, double more = 0) {
  Hdf5File file;
  file.describe("/", "schema_version", std::int64_t{2});
  file.describe("/", "content", "schedule");
  file.put_scale("/time", std::vector<double>{0, 600}, none, words);
  file.put("/local_time", std::vector<std::string>{suns.day + "T12:00:00Z", suns.day + "T12:10:00Z"}, {"/time"}, none,
           words);
  file.put_scale("/direction", std::vector<std::string>{"east", "north", "up"}, none, words);
  file.put("/sun/to_sun", suns.to_sun, {"/time", "/direction"}, none, words);
  if (!suns.seeds.empty()) file.put("/sun/seed", suns.seeds, {"/time"}, none, words);
  file.put("/sun/dni_W_m2", 1000.0, none, words);
  file.put("/aperture_area_m2", 1.0, none, words);
  auto estimates = efficiency;
  for (Estimate& e : estimates) e.value += more;
  put_with_errors(file, "/", "optical_efficiency", "", estimates, {"/time"}, none, "words");
  file.put_scale("/budget/term", std::vector<std::string>{"spillage", "absorbed"}, none, words);
  const std::vector<Estimate> power{{100, 6}, {500, 3}, {300, 8}, {700, 4}};
  put_with_errors(file, "/budget/", "power", "_W", power, {"/time", "/budget/term"}, none, "words");
  file.save(folder.path / name);
  return read_result(folder.path / name);
}

}  // namespace

TEST_CASE("errors of suns with samples of their own add in quadrature, others linearly", "[results]") {
  CHECK(mean_over_suns(efficiency, true).value == Approx(0.6));
  CHECK(mean_over_suns(efficiency, true).standard_error == Approx(0.025));
  CHECK(mean_over_suns(efficiency, false).standard_error == Approx(0.035));

  const ScratchFolder folder;
  const StoredFile apart = schedule(folder, "a.h5", {}), shared = schedule(folder, "s.h5", {.seeds = {7, 7}}),
                   old = schedule(folder, "o.h5", {.seeds = {}});
  CHECK(samples_are_apart(apart));
  CHECK_FALSE(samples_are_apart(shared));
  CHECK_FALSE(samples_are_apart(old));
  CHECK(means_over_suns(apart, *apart.find("/optical_efficiency")).at(0).standard_error == Approx(0.025));
  CHECK(means_over_suns(old, *old.find("/optical_efficiency")).at(0).standard_error == Approx(0.035));
  const auto terms = means_over_suns(apart, *apart.find("/budget/power_W"));
  REQUIRE(terms.size() == 2);
  CHECK(terms[0].value == 200);
  CHECK(terms[0].standard_error == Approx(5));  // sqrt(36 + 64) / 2
  CHECK(terms[1].standard_error == Approx(2.5));
  CHECK(means_over_suns(apart, *apart.find("/sun/dni_W_m2")).empty());
}

TEST_CASE("pages and figures get the same means", "[results]") {
  const ScratchFolder folder;
  const auto sets = nlohmann::json::parse(file_json(schedule(folder, "a.h5", {})))["sets"];
  CHECK(sets["/optical_efficiency"]["mean"][0].get<double>() == Approx(0.6));
  CHECK(sets["/optical_efficiency"]["mean_error"][0].get<double>() == Approx(0.025));
  CHECK(sets["/budget/power_W"]["mean_error"][1].get<double>() == Approx(2.5));
  CHECK_FALSE(sets["/aperture_area_m2"].contains("mean"));
}

TEST_CASE("a comparison of schedules means over suns as everything else does", "[results]") {
  const ScratchFolder folder;
  const std::vector<StoredFile> files{schedule(folder, "a.h5", {}), schedule(folder, "b.h5", {.seeds = {3, 4}}, 0.1)};
  const std::string text = comparison_text(files);
  CHECK_THAT(text, Catch::Contains("\n   2 suns of 2026-06-21\n"));
  CHECK_THAT(text, Catch::Contains("60.0 ± 2.5") && Catch::Contains("70.0 ± 2.5"));
  CHECK_THAT(text, Catch::Contains("10.0 ± 3.5               +2.83\n"));  // 0.1 / (0.025 sqrt 2)
  CHECK_THAT(text, !Catch::Contains("Not all have the suns of A"));
}

TEST_CASE("between unlike suns a difference has no standard error", "[results]") {
  const ScratchFolder folder;
  const std::vector<StoredFile> files{
      schedule(folder, "a.h5", {}),
      schedule(folder, "b.h5", {.to_sun = {0, 0, 1, 0, 0.8, 0.6}, .day = "2026-12-21"}, 0.1)};
  const std::string text = comparison_text(files);
  CHECK_THAT(text, Catch::Contains("   2 suns of 2026-06-21\nB") && Catch::Contains("   2 suns of 2026-12-21\n"));
  CHECK_THAT(text, Catch::Contains("70.0 ± 2.5                          10\n"));
  CHECK_THAT(text, Catch::Contains("Not all have the suns of A"));
}

TEST_CASE("what rounding leaves of equal numbers is no difference", "[results]") {
  const ScratchFolder folder;
  const auto exact = [&](const std::string& name, double value) {
    Hdf5File file;
    file.describe("/", "schema_version", std::int64_t{2});
    file.put("/incident_power_W", value, none, words);
    file.save(folder.path / name);
    return read_result(folder.path / name);
  };
  const std::vector<StoredFile> files{exact("a.h5", 0.3), exact("b.h5", 0.1 + 0.2), exact("c.h5", 0.3 + 1e-9)};
  const std::string text = comparison_text(files);
  // 0.1 + 0.2 is 0.3 + 5.6e-17 in doubles.
  CHECK_THAT(text, Catch::Contains("\n  B                        0.3                           0\n"));
  CHECK_THAT(text, Catch::Contains("exact\n"));  // a real difference, if a small one
}
