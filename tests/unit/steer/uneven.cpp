// Steps that are not alike, components that are not alike: what a schedule of them says of each.
#include <catch2/catch.hpp>
#include <cmath>

#include "scenes.h"
#include "steer/schedule.h"
#include "steer/tolerance.h"

using namespace catoptra;

namespace {

TEST_CASE("schedule: rates over uneven steps are each step's own", "[steer][uneven]") {
  const Scene scene = test::paraboloid_and_fold();
  const ScheduledPose home = poses_of(scene).front();
  std::vector<Moment> suns;
  std::vector<std::vector<ScheduledPose>> poses;
  const double seconds[] = {0, 600, 3000, 3300};
  for (int i = 0; i < 4; ++i) {
    suns.push_back({scene.sun.toward, 1.7e9 + seconds[i], 0});
    ScheduledPose pose = home;
    pose.offset_m = {0.01 * i * i, -0.02 * i, 0.03 * i};
    const double lean = 0.02 * i * i;
    pose.axis = {std::sin(lean), 0, -std::cos(lean)};
    pose.roll_rad = 0.1 * i;
    poses.push_back({pose});
  }
  ScheduleOptions options;
  options.samples = 1 << 10;
  options.replicates = 2;
  options.workers = test::workers(1);
  const Schedule schedule = trace_schedule(scene, suns, poses, options);
  REQUIRE(schedule.rows.size() == 4);
  for (int i = 1; i < 4; ++i) {
    const ScheduledPose& pose = schedule.rows[static_cast<std::size_t>(i)].poses[0];
    const double step_s = seconds[i] - seconds[i - 1];
    CHECK(pose.velocity_m_s.x == Approx(0.01 * (2 * i - 1) / step_s).epsilon(1e-9));
    CHECK(pose.velocity_m_s.y == Approx(-0.02 / step_s).epsilon(1e-9));
    CHECK(pose.velocity_m_s.z == Approx(0.03 / step_s).epsilon(1e-9));
    CHECK(pose.turn_rate_rad_s == Approx(0.02 * (2 * i - 1) / step_s).epsilon(1e-9));
    CHECK(pose.roll_rad == Approx(0.1 * i).epsilon(1e-12));
    CHECK(length(pose.position_m - pose.offset_m - (home.position_m - home.offset_m)) < 1e-12);
  }
}

TEST_CASE("tolerance: the error of an error is that of the light, over the curve's slope there", "[steer][uneven]") {
  Scene scene = test::paraboloid_and_fold();
  // The fold stands half way from the focus to the receiver, across that line.
  const Vec focus_m{0, 0, 5}, target_m{1.3, 0, 2.6};
  auto& mount = std::get<SteeredMount>(scene.components[1].mount);
  mount.axis = unit(target_m - focus_m);
  const Vec halfway = 0.5 * (target_m + focus_m);
  mount.offset_m = {0, 0, halfway.z + mount.axis.x * halfway.x / mount.axis.z - mount.home_m.z};
  scene.components[2].mount = FixedMount{target_m, unit(mount.home_m + mount.offset_m - target_m)};
  ScheduleOptions options;
  options.samples = 1 << 12;
  options.replicates = 8;
  options.workers = test::workers(2);
  const auto poses = std::vector<std::vector<ScheduledPose>>{poses_of(scene)};
  const Schedule schedule = trace_schedule(scene, {own_moment(scene)}, poses, options);
  ToleranceOptions how;
  how.samples = 1 << 12;
  how.replicates = 8;
  how.points = 4;
  how.workers = test::workers(2);
  int looked_at = 0;
  for (const ToleranceCurve& curve : tolerance_curves(scene, schedule, how)) {
    INFO(curve.component << " " << curve.axis);
    for (std::size_t k = 0; k < lost_shares.size(); ++k) {
      const double wanted = 1 - lost_shares[k];
      // The nearest crossing on either side: between two points the share is linear in the error's square.
      std::optional<Estimate> nearest;
      const auto look = [&](const TolerancePoint& a, const TolerancePoint& b) {
        if (a.absorbed_share.value <= wanted || b.absorbed_share.value > wanted) return false;
        const auto at = [&](double share) {
          const double t = (share - a.absorbed_share.value) / (b.absorbed_share.value - a.absorbed_share.value);
          return std::sqrt(a.error * a.error + t * (b.error * b.error - a.error * a.error));
        };
        const double h = 1e-6;
        const Estimate found{at(wanted),
                             b.absorbed_share.standard_error * std::fabs(at(wanted + h) - at(wanted - h)) / (2 * h)};
        if (!nearest || found.value < nearest->value) nearest = found;
        return true;
      };
      const auto zero =
          static_cast<std::size_t>(std::ranges::find(curve.points, 0.0, &TolerancePoint::error) - curve.points.begin());
      for (std::size_t i = zero + 1; i < curve.points.size(); ++i)
        if (look(curve.points[i - 1], curve.points[i])) break;
      for (std::size_t i = zero; i-- > 0;)
        if (look(curve.points[i + 1], curve.points[i])) break;
      REQUIRE(nearest.has_value() == curve.error_at_loss[k].has_value());
      if (!nearest) continue;
      ++looked_at;
      CHECK(curve.error_at_loss[k]->value == Approx(nearest->value).epsilon(1e-9));
      CHECK(curve.error_at_loss[k]->standard_error == Approx(nearest->standard_error).epsilon(1e-3));
    }
  }
  CHECK(looked_at > 5);
}

}  // namespace
