// What is read back from files, and words about more than one row, with made-up numbers.
#include <catch2/catch.hpp>
#include <cmath>
#include <fmt/format.h>

#include "example_result.h"
#include "files/names.h"
#include "files/stored_scene.h"
#include "files/write_result.h"
#include "files/write_schedule.h"
#include "made_up.h"
#include "scratch_folder.h"
#include "words/export_csv.h"
#include "words/schedule_rows.h"

using namespace catoptra;
using namespace catoptra::test;

namespace {

bool same(const Vec& a, const Vec& b) {
  return length(a - b) <= 1e-13 * length(b);
}

}  // namespace

TEST_CASE("a trace's paths and maps are read back as they were", "[results][round-trip]") {
  const ScratchFolder folder;
  MadeUp made;
  const TraceResult result = made.trace();
  write_result(folder.path / "a.h5", made_up_scene(), result, example_provenance());
  const StoredFile file = read_result((folder.path / "a.h5").string());
  const auto paths = paths_of(file);
  REQUIRE(paths.size() == 2);
  for (std::size_t i = 0; i < 2; ++i) {
    CHECK(paths[i].power_W == result.paths[i].power_W);
    CHECK(paths[i].fate == result.paths[i].fate);
    REQUIRE(paths[i].vertices_m.size() == result.paths[i].vertices_m.size());
    for (std::size_t k = 0; k < paths[i].vertices_m.size(); ++k)
      CHECK(paths[i].vertices_m[k] == result.paths[i].vertices_m[k]);
  }
  for (const ReceiverResult& r : result.receivers) {
    const auto map = flux_of(file, r.name);
    REQUIRE(map);
    CHECK(map->first.edges == r.flux.first.edges);
    CHECK(map->second.edges == r.flux.second.edges);
    CHECK(map->first.unit == r.flux.first.unit);
    CHECK(map->flux_W_m2 == r.flux.flux_W_m2);
    CHECK(map->standard_error_W_m2 == r.flux.standard_error_W_m2);
    CHECK(map->area_m2 == r.flux.area_m2);
  }
}

TEST_CASE("a schedule's poses, clocks and suns are read back as they were", "[results][round-trip]") {
  const ScratchFolder folder;
  MadeUp made;
  Scene scene = made_up_scene();
  Schedule schedule = made_up_schedule(made);
  for (auto& row : schedule.rows) row.sun.utc_offset_minutes = -210;
  write_schedule(folder.path / "a.h5", scene, schedule, example_provenance(), {});
  const StoredFile file = read_result((folder.path / "a.h5").string());
  const auto* words = file.values<std::string>("/local_time");
  REQUIRE(words != nullptr);
  CHECK(words->front() == "2026-06-21T08:00:00-03:30");  // 11:30 in UTC: date -u -d @1782041400
  Component pilot;
  pilot.name = "pilot";
  pilot.mount = SteeredMount{};
  scene.components.push_back(pilot);
  const Schedule again = schedule_of(file);
  REQUIRE(again.rows.size() == 3);
  for (std::size_t i = 0; i < 3; ++i) {
    CHECK(again.rows[i].sun.utc_offset_minutes == -210);
    CHECK(again.rows[i].sun.posix_s == schedule.rows[i].sun.posix_s);
    CHECK(same(again.rows[i].poses[0].offset_m, schedule.rows[i].poses[0].offset_m));
    stand_at(scene, file, i);
    const auto& mount = std::get<SteeredMount>(scene.components.back().mount);
    CHECK(same(scene.sun.toward, schedule.rows[i].sun.to_sun));
    CHECK(same(mount.offset_m, schedule.rows[i].poses[0].offset_m));
    CHECK(same(mount.axis, schedule.rows[i].poses[0].axis));
    CHECK(mount.roll_rad == Approx(schedule.rows[i].poses[0].roll_rad).epsilon(1e-13));
  }
}

TEST_CASE("the words under a schedule: the whole way, the fastest step, each remark once", "[results]") {
  MadeUp made;
  Schedule schedule = made_up_schedule(made);
  schedule.rows[1].poses[0].velocity_m_s = {30, 0, 40};  // the fastest step is not the last
  schedule.rows[1].poses[0].turn_rate_rad_s = 77;
  for (auto& row : schedule.rows) row.result.warnings = {"a remark"};
  schedule.rows[2].result.warnings.emplace_back("another");
  CHECK(remarks(schedule) == std::vector<std::string>{"a remark", "another"});
  const auto at = [&](std::size_t i) { return schedule.rows[i].poses[0].position_m; };
  const std::string text = schedule_text(made_up_scene(), schedule);
  INFO(text);
  CHECK(text.find(fmt::format("{:.4g} m", length(at(1) - at(0)) + length(at(2) - at(1)))) != std::string::npos);
  CHECK(text.find("50 m/s") != std::string::npos);
  CHECK(text.find("77 rad/s") != std::string::npos);
}

TEST_CASE("azimuths count from north by east; a cone's radius is that of the height", "[results]") {
  CHECK(azimuth_deg({0, 1, 0}) == 0);
  CHECK(azimuth_deg({1, 0, 0}) == Approx(90));
  CHECK(azimuth_deg({-1, 0, 0}) == Approx(270));
  CHECK(elevation_deg(unit(Vec{1, 1, std::sqrt(2.0)})) == Approx(45));
  CHECK(radius_at_m(Cone{1, 0.5, 1, 1}, 0.5) == Approx(1.25));
  CHECK(radius_at_m(Ball{2, 1}, 1) == Approx(std::sqrt(3.0)));
}
