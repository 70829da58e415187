// A schedule's files: docs/result-schema.md both ways, and the numbers in each.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <nlohmann/json.hpp>
#include <sstream>

#include "example_result.h"
#include "files/names.h"
#include "files/read_file.h"
#include "files/write_schedule.h"
#include "hdf5_walk.h"
#include "scene/law.h"
#include "scene/read.h"
#include "schema_page.h"
#include "scratch_folder.h"
#include "words/design_rows.h"
#include "words/realisation_rows.h"
#include "words/schedule_rows.h"
#include "words/tolerance_rows.h"

using namespace catoptra;
using test::check_same;
using test::documented;
using test::Rows;

namespace {

constexpr double undefined = std::numeric_limits<double>::quiet_NaN();

/// Two suns, ten minutes apart on a clock an hour ahead of UTC.
Schedule example_schedule() {
  Schedule schedule;
  schedule.components = {"pilot, upper"};
  schedule.asked = 2;
  schedule.samples = 4096;
  schedule.seed = 2;
  schedule.search_seed = 1;
  schedule.search_samples = 8192;
  for (int i = 0; i < 2; ++i) {
    ScheduleRow row;
    row.sun = {i == 0 ? Vec{0.6, 0, 0.8} : unit(Vec{0.55, 0, 0.85}), 1782041400.0 + 600 * i, 60};
    const double rate = i == 0 ? undefined : 0.001;
    row.poses = {{{0.5 + 0.6 * i, 0, 0.25}, {0.5 + 0.6 * i, 0, 7}, {0, 0.6, -0.8}, 0.5, {rate, 0, 0}, rate}};
    if (i == 0) row.poses[0].velocity_m_s = {undefined, undefined, undefined};
    row.result = test::example_result();
    row.result.seed = 2 + static_cast<std::uint64_t>(i);
    row.branched = i == 1;
    schedule.rows.push_back(std::move(row));
  }
  return schedule;
}

/// A curve of each kind that a file may hold.
std::vector<ToleranceCurve> example_tolerance() {
  std::vector<ToleranceCurve> out;
  for (const auto& [axis, kind] : {std::pair{"x", ErrorKind::pointing},
                                   {"east", ErrorKind::position},
                                   {"both", ErrorKind::focus},
                                   {"both", ErrorKind::curvature}}) {
    ToleranceCurve curve{"pilot, upper", axis, kind, {}, {}};
    curve.points = {
        {-0.002, {0.8, 0.01}, {0.85, 0.004}}, {0, {0.9, 0.01}, {1, 0}}, {0.002, {0.82, 0.01}, {0.87, 0.004}}};
    curve.error_at_loss = {Estimate{0.0005, 1e-5}, Estimate{0.00115, 2e-5}, std::nullopt};
    out.push_back(std::move(curve));
  }
  return out;
}

/// Two builds of three that were asked for.
Realisations example_realisations() {
  Realisations out;
  out.components = {"pilot, upper"};
  out.rms = {0.002, 0.003, 0.005, 0.004};
  out.asked = 3;
  for (const double share : {0.75, 0.875})
    out.builds.push_back({{{{0.001, 0, -0.002}, {0.0025, 0, 0}, 0.01, -0.003}}, {0.8, 0.01}, {share, 0.004}});
  return out;
}

std::string general(std::string path) {
  for (const auto& [own, word] : {std::pair<std::string, std::string>{"/absorber/", "/<receiver>/"},
                                  {"/second absorber/", "/<receiver>/"},
                                  {"/pilot, upper/", "/<component>/"}})
    if (const auto at = path.find(own); at != path.npos) path.replace(at, own.size(), word);
  for (const auto& [own, word] : {std::pair<std::string, std::string>{"/pointing_x/", "/<angle error>/"},
                                  {"/position_east/", "/<position error>/"}})
    if (const auto at = path.find(own); at != path.npos) path.replace(at, own.size(), word);
  return path;
}

/// Two free numbers, three variants of which the second can't be.
Design example_design() {
  Design design;
  design.parameters = {{"receiver.absorber.mount.position_m.z", 1, 3, 1e-6, 1.5, false},
                       {"secondary.pilot, upper.shape.conic_constant", -8, 0, 1e-6, -7, false}};
  design.variants = {{{1.5, -7}, 0.5}, {{2, -0.5}, undefined}, {{2.25, -6.125}, 0.625}};
  design.best = 2;
  design.searched_suns = 1;
  design.original = {0.5, 0.0012};
  design.found = {0.62, 0.0016};
  design.gain = {0.12, 0.001};
  design.schedule = example_schedule();
  design.scene = test::example_scene();
  design.original_text = "schema = 1\n";
  return design;
}

struct Written {
  Written() {
    const Design design = example_design();
    const Realisations realisations = example_realisations();
    write_schedule(path, test::example_scene(), example_schedule(), test::example_provenance(),
                   {example_tolerance(), &realisations, &design});
  }
  test::ScratchFolder folder;
  std::filesystem::path path = folder.path / "a.h5";
};

std::vector<std::vector<std::string>> cells(const std::string& csv) {
  std::vector<std::vector<std::string>> out;
  std::istringstream lines(csv);
  for (std::string line; std::getline(lines, line);) {
    auto& row = out.emplace_back(1);
    bool quoted = false;
    for (const char c : line) {
      if (c == '"') quoted = !quoted;
      if (c == ',' && !quoted) {
        row.emplace_back();
      } else if (c != '"') {
        row.back() += c;
      }
    }
  }
  return out;
}

}  // namespace

TEST_CASE("schedule: every dataset and attribute stands in docs/result-schema.md, and the other way round",
          "[results]") {
  const Written written;
  auto found = test::walk(written.path);
  test::fold_errors(found);
  const std::set<std::string> common{"units", "long_name", "CLASS", "NAME", "REFERENCE_LIST", "DIMENSION_LIST"};
  Rows datasets, attributes, documented_attributes;
  for (const auto& [path, dataset] : found.datasets) {
    std::string over;
    for (const auto& scale : dataset.over) over += (over.empty() ? "" : ", ") + scale;
    datasets.insert(general(path) + " | " + dataset.type + " | " + (over.empty() ? "-" : over) + " | " + dataset.units +
                    " | " + dataset.long_name);
    for (const auto& [name, type] : dataset.attributes)
      if (!common.contains(name)) attributes.insert(general(path) + " | " + name + " | " + type);
  }
  for (const auto& [name, type] : found.root) attributes.insert("/ | " + name + " | " + type);
  const Rows in_docs = documented("Schedule: datasets");
  REQUIRE(in_docs.size() > 30);
  check_same(in_docs, datasets);
  for (const auto& row : documented("Schedule: attributes"))
    documented_attributes.insert(row.substr(0, row.rfind(" | ")));
  REQUIRE(documented_attributes.size() > 20);
  check_same(documented_attributes, attributes);
}

TEST_CASE("schedule: times by the clock and in UTC", "[results]") {
  const Scene scene = test::example_scene();
  // date -u -d 2026-06-21T11:30:00Z +%s
  const Moment moment{{0, 0, 1}, 1782041400, 60};
  CHECK(time_text(scene, moment, true) == "2026-06-21T12:30:00+01:00");
  CHECK(time_text(scene, moment, false) == "2026-06-21T11:30:00Z");
  CHECK(time_text(scene, {{0, 0, 1}, 1782041400, -8 * 60 - 32}, true) == "2026-06-21T02:58:00-08:32");
  CHECK(time_text(scene, {{0, 0, 1}, undefined, 0}, true) == scene.sun.at);
}

TEST_CASE("schedule: the CSV has a cell for every name, and its numbers read back", "[results]") {
  const auto table = cells(schedule_csv(test::example_scene(), example_schedule()));
  REQUIRE(table.size() == 3);
  for (const auto& row : table) CHECK(row.size() == table[0].size());
  const auto at = [&](const std::string& name, std::size_t row) {
    for (std::size_t i = 0; i < table[0].size(); ++i)
      if (table[0][i] == name) return table[row][i];
    return std::string("no such column: " + name);
  };
  CHECK(at("time_utc", 1) == "2026-06-21T11:30:00Z");
  CHECK(at("local_time", 2) == "2026-06-21T12:40:00+01:00");
  CHECK(std::stod(at("azimuth_deg", 1)) == Approx(90));
  CHECK(at("pilot, upper.x_m", 2) == "1.1");
  CHECK(at("pilot, upper.velocity_x_m_s", 1).empty());
  CHECK(at("pilot, upper.velocity_x_m_s", 2) == "0.001");
  CHECK(at("optical_efficiency_standard_error", 1) == "0.0012");
  CHECK(at("spillage_W", 1) == "89.5");
  CHECK(at("spillage_standard_error_W", 1) == "2");
  CHECK(at("second absorber.peak_concentration", 2) == "4321");
  CHECK(at("branched", 1) == "0");
  CHECK(at("branched", 2) == "1");
}

TEST_CASE("schedule: a pose table is what a table mount reads", "[results]") {
  const test::ScratchFolder folder;
  const Schedule schedule = example_schedule();
  std::ofstream(folder.path / "poses.csv") << pose_table_csv(schedule);
  const auto outcome = read_scene_text(R"(schema = 1
[sun]
azimuth_deg = 90
elevation_deg = 53.13010235415598
[finish.silver]
kind = "mirror"
reflectance = 0.94
[[primary]]
name = "bowl"
shape = { kind = "sphere", radius_m = 20 }
aperture = { kind = "circle", diameter_m = 20 }
finish = "silver"
mount = { kind = "fixed" }
[[secondary]]
name = "pilot"
shape = { kind = "plane" }
aperture = { kind = "circle", diameter_m = 1 }
finish = "silver"
mount = { kind = "table", file = "poses.csv" }
)",
                                       (folder.path / "s.toml").string());
  REQUIRE(outcome.scene);
  for (const ScheduleRow& row : schedule.rows) {
    const Frame frame = place(*outcome.scene, row.sun.to_sun).placed[1].frame;
    const Frame expected = facing(row.poses[0].position_m, row.poses[0].axis, row.poses[0].roll_rad);
    CHECK(length(frame.origin - expected.origin) < 1e-12);
    CHECK(length(frame.ex - expected.ex) < 1e-12);
    CHECK(length(frame.ez - expected.ez) < 1e-12);
  }
  Schedule two = schedule;
  two.components.push_back("another");
  CHECK_THROWS_AS(pose_table_csv(two), std::invalid_argument);
}

TEST_CASE("schedule: what its heat is worth", "[results]") {
  Scene scene = test::example_scene();
  scene.components[0].heat->temperature_K = 350;
  Schedule schedule = example_schedule();
  // Lost: 0.25 m2 (0.9 s (350^4 - 300^4) + 10 x 50), s by scipy.constants; of the heat taken in, 953.25 W with an error
  // of hypot(1.5, 0.25) = 1.521 W, the rest is useful, of which 1 - 300/350 is work. The mean of two suns with samples
  // of their own has an error of 1.521 / sqrt 2 = 1.075, that of one and none 1.521 / 2 = 0.760.
  const double lost_W = 213.1123024952422;
  CHECK_THAT(
      schedule_text(scene, schedule),
      Catch::Contains("'absorber' at 350 K gains heat at 2 of 2 sun positions\n"
                      "mean over all, 0 where it gains none: useful heat 740.1±1.1 W, maximum work 105.73±0.15 W\n"));
  schedule.rows[1].result.receivers[0].absorbed_power_W = {200, 1};  // too little: counts as none
  CHECK_THAT(
      schedule_text(scene, schedule),
      Catch::Contains("gains heat at 1 of 2 sun positions\n"
                      "mean over all, 0 where it gains none: useful heat 370.07±0.76 W, maximum work 52.87±0.11 W\n"));
  const test::ScratchFolder folder;
  write_schedule(folder.path / "heat.h5", scene, schedule, test::example_provenance(), {});
  const StoredFile file = read_result((folder.path / "heat.h5").string());
  const std::string useful = "/receivers/absorber/heat/useful_heat_W";
  CHECK(file.number(useful, 0) == Approx(953.25 - lost_W).epsilon(1e-12));
  CHECK(file.number(useful, 1) == Approx(203 - lost_W).epsilon(1e-12));
  CHECK(file.number("/receivers/absorber/heat/useful_heat_standard_error_W", 1) == Approx(std::hypot(1, 0.25)));

  const auto table = cells(schedule_csv(scene, schedule));
  const auto column = std::ranges::find(table[0], "absorber.heat.useful_heat_W") - table[0].begin();
  for (const auto& row : table) REQUIRE(row.size() == table[0].size());
  REQUIRE(column < static_cast<std::ptrdiff_t>(table[0].size()));
  CHECK(std::stod(table[2][column]) == file.number(useful, 1));
}

TEST_CASE("schedule: JSON and text say the same", "[results]") {
  const Schedule schedule = example_schedule();
  const auto json = nlohmann::json::parse(
      to_json(test::example_scene(), schedule, test::example_provenance(), "out/a.h5", {example_tolerance()}));
  CHECK(json["file"] == "out/a.h5");
  REQUIRE(json["suns"].size() == 2);
  CHECK(json["suns"][0]["poses"]["pilot, upper"]["velocity_m_s"][0].is_null());
  CHECK(json["suns"][1]["poses"]["pilot, upper"]["position_m"][0] == 1.1);
  CHECK(json["suns"][1]["budget"]["absorbed"]["power_W"]["value"] == 950.25);
  CHECK(json["suns"][1]["receivers"]["absorber"]["mean_concentration"]["value"] == 4002);
  CHECK(json["interrupted"] == false);
  CHECK(json["suns"][1]["receivers"]["absorber"]["heat"]["heat_in_W"]["value"] == 953.25);
  CHECK_FALSE(json["suns"][1]["receivers"]["second absorber"].contains("heat"));

  const auto& curve = json["tolerance"]["pilot, upper"]["position_east"];
  CHECK(curve["error_mm"] == std::vector<double>{-2, 0, 2});
  CHECK(curve["absorbed_share"][0]["value"] == 0.85);
  CHECK(curve["error_at_loss_mm"][1]["value"] == 1.15);
  CHECK(curve["error_at_loss_mm"][2]["value"].is_null());

  const std::string losses = tolerance_text(example_tolerance());
  CHECK_THAT(losses, Catch::Contains("\n  pointing_x          0.500±0.010    1.150±0.020              - mrad\n"));
  const auto points = cells(tolerance_csv(example_tolerance()));
  REQUIRE(points.size() == 13);
  for (const auto& row : points) CHECK(row.size() == points[0].size());
  CHECK(points[6][3] == "2");
  CHECK(points[6][6] == "0.87");
  CHECK(points[7][1] == "focus");
  CHECK(points[7][3] == "-0.2");  // -0.002 in percent
  CHECK(points[10][2] == "km-1");

  const std::string text = schedule_text(test::example_scene(), schedule);
  CHECK_THAT(text,
             Catch::Contains("12:30  90.0  53.1   0.50   0.00   7.00   0.0 -53.1  0.7602±0.0012  0.9500±0.0012\n"));
  CHECK_THAT(text, Catch::Contains("travel 0.6 m over the day; fastest 0.001 m/s and 0.001 rad/s"));
  CHECK_THAT(text, Catch::Contains("\n12:40* 90.0  57.1   1.10"));
  CHECK_THAT(text, Catch::Contains("* a jump: the best pose does not continue that of the next sun toward noon"));
  CHECK_THAT(text, Catch::Contains(" kWh = DNI x aperture area x time\n"));
  Schedule part = schedule;
  part.asked = 5;
  CHECK_THAT(schedule_text(test::example_scene(), part), Catch::Contains("2 of 5 sun positions are done"));
}

TEST_CASE("realisations: as text, CSV and JSON", "[results]") {
  const Realisations builds = example_realisations();
  // Two numbers: mean 0.8125, its error 0.125 / 2 (s / sqrt(2), s = 0.125 / sqrt(2)).
  const std::string text = realisations_text(builds);
  CHECK_THAT(text,
             Catch::Contains("2 builds, each with its own random errors; rms:\n  pointing 2 mrad, position 3 mm, focus "
                             "0.5 percent, curvature 4 km-1\n"));
  CHECK_THAT(text, Catch::Contains("  50 % of the builds are below 0.81"));
  CHECK_THAT(text, Catch::Contains("mean 0.812±0.062\n") || Catch::Contains("mean 0.81±0.06\n"));
  CHECK_THAT(text, Catch::Contains("2 of 3 builds are done"));
  const auto table = cells(realisations_csv(builds));
  REQUIRE(table.size() == 3);
  for (const auto& row : table) CHECK(row.size() == table[0].size());
  CHECK(table[0][1] == "pilot, upper.pointing_x_mrad");
  CHECK(table[1][1] == "1");
  CHECK(table[0][8] == "pilot, upper.curvature_per_km");
  CHECK(table[2][8] == "-3");
  CHECK(table[2][0] == "2");
  CHECK(table[2][11] == "0.875");
  const auto json = nlohmann::json::parse(to_json(test::example_scene(), example_schedule(), test::example_provenance(),
                                                  "a.h5", {{}, &builds, nullptr}))["realisations"];
  CHECK(json["asked"] == 3);
  CHECK(json["rms_focus_percent"] == 0.5);
  CHECK(json["mean_absorbed_share"]["value"] == 0.8125);
  CHECK(json["builds"][1]["absorbed_share"]["value"] == 0.875);
  CHECK(json["builds"][0]["pilot, upper"]["position_mm"][0] == 2.5);
  CHECK(json["absorbed_share_at"][2]["below"] == 0.5);
}

TEST_CASE("schedule: what follows a law has no home, and nothing was searched", "[results]") {
  Schedule schedule = example_schedule();
  schedule.by_law = 1;
  schedule.searched = false;
  const auto json =
      nlohmann::json::parse(to_json(test::example_scene(), schedule, test::example_provenance(), "out/a.h5"));
  CHECK(json["searched"] == false);
  CHECK_FALSE(json.contains("objective"));
  CHECK_FALSE(json["suns"][1]["poses"]["pilot, upper"].contains("offset_m"));
  CHECK_THAT(schedule_text(test::example_scene(), schedule),
             Catch::Contains("'pilot, upper' by its law: position east"));
  // Without a single component to tell of, the numbers alone.
  schedule.components.clear();
  for (auto& row : schedule.rows) row.poses.clear();
  CHECK_THAT(schedule_text(test::example_scene(), schedule),
             Catch::Contains("time  azim. elev.     efficiency      intercept     absorbed, W\n12:30  90.0  53.1  "));
}

TEST_CASE("shape search: as text, at the head of its scene, and as JSON", "[results]") {
  const Design design = example_design();
  // The gain's error is its own, from samples in common; 0.12 is 120 times 0.001.
  CHECK(design_text(design) ==
        "search: 3 variants tried at 1 of the sun positions; 1 impossible\n"
        "  receiver.absorber.mount.position_m.z\n    2.25 now, 1.5 before; 1 to 3 allowed\n"
        "  secondary.pilot, upper.shape.conic_constant\n    -6.125 now, -7 before; -8 to 0 allowed\n"
        "absorbed, mean over 2 sun positions: 0.6200±0.0016 now, 0.5000±0.0012 before\n"
        "gain 0.1200±0.0010: 120.0 standard errors\n");
  CHECK(best_scene_text(design) ==
        "# Found by catoptra steer --free, the best of 3 variants. absorbed, mean over 2 sun positions:\n"
        "# 0.6200±0.0016 now, 0.5000±0.0012 before (± one standard error, from samples that the search had not seen).\n"
        "#   receiver.absorber.mount.position_m.z = 2.25 (before: 1.5; allowed: 1 to 3)\n"
        "#   secondary.pilot, upper.shape.conic_constant = -6.125 (before: -7; allowed: -8 to 0)\n"
        "# Poses are those for the sun of this scene.\n\n" +
            design.scene.text);
  const auto json = nlohmann::json::parse(to_json(test::example_scene(), example_schedule(), test::example_provenance(),
                                                  "a.h5", {{}, nullptr, &design}))["design"];
  CHECK(json["parameters"][1]["best"] == -6.125);
  CHECK(json["variants"][1]["objective"].is_null());
  CHECK(json["variants"][2]["value"] == std::vector<double>{2.25, -6.125});
  CHECK(json["best_mean"]["standard_error"] == 0.0016);
  CHECK(json["gain"]["value"] == 0.12);
  CHECK(json["original_kept"] == false);
}

TEST_CASE("schedule: rows of several days stand under their dates", "[results]") {
  Schedule schedule = example_schedule();
  const std::string one_day = schedule_text(test::example_scene(), schedule);
  CHECK(one_day.find("2026-06-21") == std::string::npos);
  schedule.rows[1].sun.posix_s += 30 * 86400;  // June has 30 days
  const std::string text = schedule_text(test::example_scene(), schedule);
  const auto first = text.find("\n2026-06-21\n12:30"), second = text.find("\n2026-07-21\n12:40");
  REQUIRE(first != std::string::npos);
  REQUIRE(second != std::string::npos);
  CHECK(first < second);
}
