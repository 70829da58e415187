#include "steer/search_ground.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>

#include "scene/problem.h"

namespace catoptra {
namespace {

constexpr double widest_hill = 0.2;  // shares of a coordinate's range, as all steps and tolerances
constexpr int most_a_climb = 500;    // points

Evaluator evaluator(const SearchGround& ground, const Moment& moment, std::uint64_t samples, std::uint64_t seed,
                    const std::vector<double>* from) {
  const SolverOptions& o = ground.options;
  Evaluator out(ground.scene, ground.freedom, ground.clearance, ground.pool,
                {o.objective, samples, seed, o.travel_cost_per_m, o.memory});
  out.set_moment(moment);
  if (from != nullptr) out.count_travel_from(*from);
  return out;
}

}  // namespace

SearchGround::SearchGround(const Scene& scene_, const SolverOptions& options_)
    : scene(scene_),
      options(options_),
      freedom(scene),
      clearance(scene),
      guide(scene),
      carry(scene, freedom),
      pool(search_pool(scene, options.objective)) {
  if (freedom.size() == 0) throw std::invalid_argument("no mount of the scene is free to move");
}

void SearchGround::look_up() const {
  if (is_asked(options.stop)) throw Stopped();
}

NoRoom SearchGround::no_room(const Optimum& best, const Moment& moment) const {
  Scene posed = scene;
  freedom.apply(best.at, posed);
  const Clearance::Shortfall worst = clearance.worst(place(posed, moment.to_sun));
  std::string limits;
  for (std::size_t k = 0; k < best.at.size(); ++k)
    if (std::fabs(best.at[k]) > 0.99) limits += (limits.empty() ? "" : ", ") + freedom.name(k);
  const auto mover = std::ranges::find(scene.components, worst.mover, &Component::name);
  const Place at = mover == scene.components.end() ? Place{} : mover->place_of("mount.clearance_m");
  const std::string said = fmt::format(
      "no pose within the limits keeps '{}' {:g} m from '{}' (clearance_m): the best found falls short by {:.2g} m{}",
      worst.mover, worst.clearance_m, worst.other, worst.m,
      limits.empty() ? "" : fmt::format(", at the end of its range in {}", limits));
  return NoRoom(located(scene.path, at, said));
}

bool are_apart(const std::vector<double>& one, const std::vector<double>& other) {
  for (std::size_t i = 0; i < one.size(); ++i)
    if (std::fabs(one[i] - other[i]) > widest_hill) return true;
  return false;
}

Climber::Climber(const SearchGround& ground, const Moment& moment, std::uint64_t samples, std::uint64_t seed,
                 const std::vector<double>* from)
    : ground_(ground), evaluate_(evaluator(ground, moment, std::max<std::uint64_t>(samples, 1), seed, from)) {}

double Climber::operator()(std::span<const double> at) {
  ground_.look_up();
  return evaluate_(at);
}

Optimum Climber::climbed(const std::vector<double>& start, double step, double tolerance) {
  const Merit merit = [this](std::span<const double> at) { return (*this)(at); };
  return climb_by_model(merit, valued(start), step, tolerance, most_a_climb);
}

}  // namespace catoptra
