// Mounts that follow a law of the sun, by reflecting rays and by what each law must keep.
#include "scene/law.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "scene/placement.h"
#include "scene/steered_pose.h"

namespace catoptra {
namespace {

constexpr double degree = units::degree_rad;

Vec direction(double azimuth_deg, double elevation_deg) {
  const double a = azimuth_deg * degree, e = elevation_deg * degree;
  return {std::cos(e) * std::sin(a), std::cos(e) * std::cos(a), std::sin(e)};
}

const std::vector<Vec> suns{direction(180, 89), direction(95, 50), direction(140, 62), direction(265, 41),
                            direction(10, 70)};

Component mirror(const std::string& name, Role role, AnySurface surface, AnyMount mount) {
  Component out;
  out.name = name;
  out.role = role;
  out.surface = std::move(surface);
  out.outline = Ring{0, 1, {0, 0}};
  out.mount = std::move(mount);
  return out;
}

/// A bowl of 20 m radius, tilted, with a receiver near its bottom.
Scene bowl(AnyMount moving, const Vec& bowl_axis = {0, 0, 1}) {
  Scene scene;
  scene.components.push_back(mirror("bowl", Role::primary, Conic{1 / 20.0, 1}, FixedMount{{1, 2, 3}, bowl_axis}));
  scene.components.push_back(mirror("moving", Role::secondary, Plane{}, std::move(moving)));
  scene.components.push_back(mirror("receiver", Role::receiver, Plane{}, FixedMount{{1.5, 1.8, 6}}));
  return scene;
}

Vec reflected(const Vec& d, const Vec& normal) {
  return d - (2 * dot(d, normal)) * normal;
}

/// Distance of a line from a point.
double miss_m(const Vec& from, const Vec& along, const Vec& point) {
  return length(cross(point - from, unit(along)));
}

BisectorMount onto_receiver() {
  BisectorMount mount;
  mount.primary = "bowl";
  mount.aim = "receiver";
  return mount;
}

TEST_CASE("bisector: paraxial rays of a tilted bowl are folded onto the receiver", "[scene][placement]") {
  const Scene scene = bowl(onto_receiver(), unit(Vec{0.1, -0.2, 1}));
  for (const Vec& s : {direction(180, 89), direction(120, 75), direction(250, 80), direction(190, 70)}) {
    const Layout layout = place(scene, s);
    const Frame& primary = layout.placed[0].frame;
    const Frame fold = layout.placed[1].frame;
    const Vec receiver = layout.placed[2].frame.origin, centre = primary.origin + 20.0 * primary.ez;
    // A ray parallel to s at the height h from the line through the centre crosses that line h^2 / (2 R) away from the
    // paraxial focus, and so passes it at h^3 / R^2 or so: 1e-9 m at h = 0.005 m leaves room for rounding only.
    const double h = 0.005;
    for (const Vec& across : {fold.ex, fold.ey}) {
      const Vec side = h * unit(cross(s, across));
      const Vec down = std::sqrt(400 - h * h) * s;
      const Vec hit = centre + side - down;
      const Vec up = reflected(-s, unit(centre - hit));
      const double t = dot(fold.origin - hit, fold.ez) / dot(up, fold.ez);
      REQUIRE(t > 0);
      const Vec on_fold = hit + t * up;
      CHECK(dot(up, fold.ez) < 0);                                // the front meets the light
      CHECK(t < dot(paraxial_image_m(centre, 20, s) - hit, up));  // before the image
      CHECK(miss_m(on_fold, reflected(up, fold.ez), receiver) < 1e-9);
      // A mirror turned by 1e-6 rad throws the ray 2e-6 times its way to the receiver beside it.
      const Vec wrong = unit(fold.ez + 1e-6 * fold.ex);
      CHECK(miss_m(on_fold, reflected(up, wrong), receiver) > 1e-7);
    }
  }
}

TEST_CASE("bisector: refused where no plane does it", "[scene][placement]") {
  Scene scene = bowl(onto_receiver());
  scene.components[2].mount = FixedMount{{1, 2, 19}};  // above the image
  CHECK_THROWS_WITH(place(scene, {0, 0, 1}), Catch::Contains("no place between the primary and the image"));
  // At a low sun the plane meets the light's axis only behind the bowl.
  CHECK_THROWS_WITH(place(bowl(onto_receiver()), direction(95, 45)), Catch::Contains("no place between the primary"));
  scene = bowl(onto_receiver());
  scene.components[0].surface = Conic{1 / 20.0, 0};
  CHECK_THROWS_WITH(place(scene, {0, 0, 1}), Catch::Contains("needs a concave spherical primary"));
  CHECK_THROWS_WITH(place(bowl(onto_receiver()), {0, 1, 0}), Catch::Contains("below the horizon"));
}

TEST_CASE("turn_about_centre: rigid about the centre of curvature, and what it carries with it", "[scene][placement]") {
  TurnAboutCentreMount mount;
  mount.primary = "bowl";
  mount.position_m = {0.5, -0.25, -9};
  mount.axis = unit(Vec{0.1, 0, -1});
  Scene scene = bowl(mount, unit(Vec{0.1, -0.2, 1}));
  CarriedMount carried;
  carried.by = "moving";
  carried.position_m = {0, 0, 2};
  scene.components[2].mount = carried;
  for (const Vec& s : suns) {
    const Layout layout = place(scene, s);
    const Frame &primary = layout.placed[0].frame, &moving = layout.placed[1].frame, &held = layout.placed[2].frame;
    const Vec centre = primary.origin + 20.0 * primary.ez;
    CHECK(length(moving.origin - centre) == Approx(std::sqrt(0.25 + 0.0625 + 81)).epsilon(1e-14));
    CHECK(dot(moving.origin - centre, s) == Approx(-9).epsilon(1e-14));
    CHECK(dot(moving.ez, s) == Approx(-1 / std::sqrt(1.01)).epsilon(1e-14));
    CHECK(length(held.origin - moving.origin) == Approx(2).epsilon(1e-14));
    CHECK(dot(held.origin - centre, s) == Approx(-9 - 2 / std::sqrt(1.01)).epsilon(1e-14));
    CHECK(std::fabs(cross(moving.ex, moving.ey).z - moving.ez.z) < 1e-14);
  }
}

std::vector<PoseRow> two_hours() {
  return {{direction(120, 40), {0, 1, 5}, {0, 0, -1}, 0.0},
          {direction(130, 44), {1, 3, 6}, unit(Vec{0, 0.2, -1}), 0.2},
          {direction(142, 47), {1, 4, 6}, unit(Vec{0, 0.3, -1}), 0.1}};
}

TEST_CASE("table: rows where they stand, straight between them", "[scene][placement]") {
  const auto rows = two_hours();
  for (const auto& row : rows) {
    const auto pose = pose_on_path(rows, row.to_sun, 1e-9);
    REQUIRE(pose);
    CHECK(length(pose->position_m - row.position_m) < 1e-12);
    CHECK(length(pose->axis - row.axis) < 1e-12);
  }
  const Vec halfway = unit(rows[0].to_sun + rows[1].to_sun);
  const auto middle = pose_on_path(rows, halfway, 1e-6);
  REQUIRE(middle);
  CHECK(length(middle->position_m - Vec{0.5, 2, 5.5}) < 1e-9);
  CHECK(middle->roll_rad == Approx(0.1));
  // Beside the path the pose is that of the path's nearest point, as far as reach goes.
  const Vec beside = unit(halfway + std::tan(0.5 * degree) * unit(cross(rows[0].to_sun, rows[1].to_sun)));
  CHECK_FALSE(pose_on_path(rows, beside, 0.4 * degree));
  const auto near = pose_on_path(rows, beside, 0.6 * degree);
  REQUIRE(near);
  CHECK(length(near->position_m - Vec{0.5, 2, 5.5}) < 1e-6);
}

TEST_CASE("table: no pose is made up across a gap or beyond the ends", "[scene][placement]") {
  auto rows = two_hours();
  rows.push_back({direction(175, 50), {9, 9, 9}, {0, 0, -1}, 0.0});  // 22 degrees on: another day, or a lost hour
  CHECK_FALSE(pose_on_path(rows, unit(rows[2].to_sun + rows[3].to_sun), 5 * degree));
  CHECK_FALSE(pose_on_path(rows, direction(110, 38), 5 * degree));
  TableMount mount;
  mount.rows = rows;
  Scene scene = bowl(mount);
  CHECK_THROWS_WITH(place(scene, direction(110, 38)), Catch::Contains("more than 1 degrees from every point"));
  CHECK(length(place(scene, rows[1].to_sun).placed[1].frame.origin - Vec{1, 3, 6}) < 1e-12);
}

TEST_CASE("shared drive: every row sends the sun's ray onto the line, turned as far as its neighbours",
          "[scene][placement]") {
  for (const Vec& axis : {Vec{0, 1, 0}, Vec{1, 0, 0}, unit(Vec{0.3, 1, 0.1})}) {
    SharedDriveMount mount;
    mount.rotation_axis = axis;
    mount.aim_m = {0, 0, 8};
    Scene scene;
    scene.components.push_back(mirror("rows", Role::primary, Plane{}, mount));
    const Vec side = unit(cross(axis, {0, 0, 1}));
    scene.components[0].array.clear();
    for (const double x : {-6.0, -2.0, 0.5, 3.0}) scene.components[0].array.push_back({x * side});
    std::vector<double> turned_rad;
    const Layout noon = place(scene, unit(Vec{0, 0, 1} - axis.z * axis));
    for (const Vec& s : suns) {
      const Layout layout = place(scene, s);
      for (std::size_t i = 0; i < layout.placed.size(); ++i) {
        const Frame& row = layout.placed[i].frame;
        CHECK(length(row.ey - axis) < 1e-15);
        // Law of reflection for the middle ray; the line runs along the axis, so only what is across it counts.
        const Vec out = reflected(-s, row.ez), way = Vec{0, 0, 8} - row.origin;
        const Vec across = way - dot(way, axis) * axis, out_across = out - dot(out, axis) * axis;
        CHECK(length(cross(across, out_across)) < 1e-13 * length(across));
        CHECK(dot(across, out_across) > 0);
        const double turn =
            std::atan2(dot(cross(noon.placed[i].frame.ez, row.ez), axis), dot(noon.placed[i].frame.ez, row.ez));
        if (i == 0) turned_rad.push_back(turn);
        CHECK(turn == Approx(turned_rad.back()).margin(1e-14));
      }
    }
    // The drive turns half as far as the sun does across the axis.
    CHECK(turned_rad.front() == Approx(drive_angle_rad(axis, suns.front())).margin(1e-14));
    const Vec unbiased = place(scene, suns[1]).placed[0].frame.ez;
    mount.bias_rad = 1e-3;
    scene.components[0].mount = mount;
    const Vec biased = place(scene, suns[1]).placed[0].frame.ez;
    CHECK(dot(cross(unbiased, biased), axis) == Approx(std::sin(1e-3)).epsilon(1e-10));
  }
}

TEST_CASE("steered pose: tilt, twist and limits go there and back", "[scene]") {
  SteeredMount mount;
  mount.home_axis = unit(Vec{0.1, 0.2, -1});
  mount.tilt_rad = {30 * degree, 10 * degree};
  for (const Vec2 tilt : {Vec2{0, 0}, Vec2{0.2, 0}, Vec2{0, -0.1}, Vec2{-0.3, 0.1}}) {
    for (const double twist : {0.0, 0.7, -1.2}) {
      turn_to(mount, tilt, twist);
      const Vec2 back = tilt_rad(mount);
      CHECK(back.x == Approx(tilt.x).margin(1e-14));
      CHECK(back.y == Approx(tilt.y).margin(1e-14));
      CHECK(twist_rad(mount) == Approx(twist).margin(1e-14));
    }
  }
  CHECK(share_of_tilt(mount, {30 * degree, 0}) == Approx(1).epsilon(1e-8));
  CHECK(share_of_tilt(mount, {15 * degree, 5 * degree}) == Approx(std::sqrt(0.5)).epsilon(1e-8));
  mount.tilt_rad = {0.1, 0};
  CHECK(share_of_tilt(mount, {0.05, 0}) < 1);
  CHECK(share_of_tilt(mount, {0, 1e-6}) == infinity);
}

TEST_CASE("steered pose: a frame that only tilts does not spin where its axis passes the vertical", "[scene]") {
  SteeredMount mount;
  mount.home_axis = {0, 0, -1};
  Vec x_before{};
  for (int i = 0; i <= 40; ++i) {
    const double lean = (i - 20) * 1e-3;
    turn_to(mount, {lean, 0.3 * lean}, 0);
    const Vec x = facing({0, 0, 0}, mount.axis, mount.roll_rad).ex;
    if (i > 0) CHECK(length(x - x_before) < 2e-3);
    x_before = x;
  }
}

}  // namespace
}  // namespace catoptra
