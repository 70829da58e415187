#include "steer/starts.h"

#include <algorithm>
#include <bit>

#include "scene/law.h"
#include "scene/steered_pose.h"

namespace catoptra {
namespace {

constexpr double starts_apart = 0.4;
constexpr std::size_t guided_poses = 32;  // the best by the guide, of which a trace picks
constexpr int survey_points_a_coordinate = 60;
constexpr std::size_t surveyed_poses = 3;
constexpr double guide_step = 0.1, guide_tolerance = 5e-3;
constexpr int most_a_climb = 500;  // points

/// The begin of a question to the guide, by which the search's memory knows its answer again.
ByteWriter question_of(std::string_view word, const SearchGround& ground, const Moment& moment) {
  ByteWriter out;
  out.put(word);
  out.put(ground.scene.text);
  for (const double x : {moment.to_sun.x, moment.to_sun.y, moment.to_sun.z}) out.put(x);
  return out;
}

}  // namespace

std::optional<std::vector<double>> bisector_start(const SearchGround& ground, const Moment& moment) {
  const Scene& scene = ground.scene;
  if (ground.freedom.steered().size() != 1) return std::nullopt;
  const std::size_t moved = ground.freedom.steered().front();
  if (scene.components[moved].role != Role::secondary) return std::nullopt;
  const Layout layout = place(scene, moment.to_sun);
  std::optional<Vec> image_m, receiver_m;
  double focal_length_m = 0;
  for (const Placed& placed : layout.placed) {
    const Component& component = scene.components[static_cast<std::size_t>(placed.component)];
    if (component.role == Role::receiver && !receiver_m) receiver_m = placed.frame.origin;
    const auto* conic = std::get_if<Conic>(&component.surface);
    if (component.role != Role::primary || conic == nullptr || !(conic->curvature_per_m > 0) || image_m) continue;
    focal_length_m = 0.5 / conic->curvature_per_m;
    image_m =
        paraxial_image_m(placed.frame.origin + 2 * focal_length_m * placed.frame.ez, 2 * focal_length_m, moment.to_sun);
  }
  if (!image_m || !receiver_m) return std::nullopt;
  const auto fold = bisector(*image_m, *receiver_m, moment.to_sun, focal_length_m);
  if (!fold) return std::nullopt;
  Scene posed = scene;
  auto& mount = std::get<SteeredMount>(posed.components[moved].mount);
  mount.offset_m = fold->position_m - mount.home_m;
  const double twist = twist_rad(mount);
  mount.axis = fold->axis;
  turn_to(mount, tilt_rad(mount), twist);
  return ground.freedom.coordinates_of(posed);
}

SearchMemory::Key guided_key(const SearchGround& ground, const Moment& moment, std::uint64_t draw,
                             int points_a_coordinate) {
  ByteWriter question = question_of("guide", ground, moment);
  question.put(draw);
  question.put(static_cast<std::uint64_t>(points_a_coordinate));
  return key_of(question.take());
}

std::vector<std::vector<double>> guided_starts(const SearchGround& ground, const Moment& moment, std::uint64_t draw,
                                               int points_a_coordinate, std::size_t count, Climber& judge) {
  const std::size_t n = ground.freedom.size();
  Scene scene = ground.scene;
  const Merit merit = [&](std::span<const double> at) {
    ground.look_up();
    ground.freedom.apply(at, scene);
    const Layout layout = place(scene, moment.to_sun);
    const double shortfall_m = ground.clearance.shortfall_m(layout);
    return shortfall_m > 0 ? -shortfall_m : ground.guide(layout);
  };
  // Each place, and where a climb on the guide from there ends.
  std::vector<double> flat =
      remembered_numbers(ground.options.memory, guided_key(ground, moment, draw, points_a_coordinate), [&] {
        std::vector<double> out;
        const int points = points_a_coordinate * static_cast<int>(n);
        for (const Optimum& place : scatter(merit, n, points, guided_poses, starts_apart, draw))
          out.insert(out.end(), place.at.begin(), place.at.end());
        return out;
      });
  std::vector<Optimum> found;
  for (std::size_t i = 0; i + n <= flat.size(); i += n)
    found.push_back(judge.valued(
        {flat.begin() + static_cast<std::ptrdiff_t>(i), flat.begin() + static_cast<std::ptrdiff_t>(i + n)}));
  std::ranges::stable_sort(found, std::ranges::greater(), &Optimum::value);  // the guide's order where no light arrives
  found.resize(std::min(found.size(), count));
  std::vector<std::vector<double>> out;
  for (Optimum& start : found) {
    if (!(start.value > 0)) {
      ByteWriter question = question_of("guide's climb", ground, moment);
      for (const double x : start.at) question.put(x);
      start.at = remembered_numbers(ground.options.memory, key_of(question.take()), [&] {
        return climb(merit, {start.at, merit(start.at)}, guide_step, guide_tolerance, most_a_climb).at;
      });
    }
    out.push_back(std::move(start.at));
  }
  return out;
}

std::vector<std::vector<double>> surveyed_starts(const SearchGround& ground, Climber& judge) {
  const Merit merit = [&](std::span<const double> at) { return judge(at); };
  const std::size_t n = ground.freedom.size();
  std::vector<std::vector<double>> out;
  for (Optimum& found :
       survey(merit, n, survey_points_a_coordinate * static_cast<int>(n), surveyed_poses, starts_apart))
    out.push_back(std::move(found.at));
  return out;
}

}  // namespace catoptra
