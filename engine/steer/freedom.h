#pragma once
// What a scene's steered mounts leave free, as coordinates from -1 to 1 for a solver.
#include <cstddef>
#include <span>
#include <string>
#include <vector>

#include "scene/model.h"

namespace catoptra {

/// Up to six coordinates a steered mount: offset along east, north, up, in shares of its travel; tilt about the x and y
/// that it has at rest, in shares of its limits; twist about its own axis, in shares of roll_limit_rad. A coordinate
/// whose limit is 0 is held where the scene has it. Tilts in the corners of the square, beyond the limit, count as the
/// nearest along the same direction within it.
class Freedom {
 public:
  explicit Freedom(const Scene& scene);

  std::size_t size() const { return coordinates_.size(); }
  /// The components on steered mounts, whether or not they are free to move.
  const std::vector<std::size_t>& steered() const { return steered_; }
  /// "pilot: north"
  std::string name(std::size_t coordinate) const;

  /// Where the scene's poses stand; clamped to -1 … 1.
  std::vector<double> coordinates_of(const Scene& scene) const;
  /// Moves the scene's steered components there. The scene must be a copy of the one that this was made of.
  void apply(std::span<const double> coordinates, Scene& scene) const;

 private:
  enum class Kind { east, north, up, tilt_x, tilt_y, twist };
  struct Coordinate {
    std::size_t component;
    Kind kind;
    double limit;         // m or rad
    double rest_rad = 0;  // of the twist
  };
  static double position_of(const Coordinate& coordinate, const SteeredMount& mount);

  std::vector<std::size_t> steered_;
  std::vector<std::string> names_;  // of all components
  std::vector<Coordinate> coordinates_;
};

/// How far two copies of a scene differ in their steered poses, m: the way of the vertices or centres and that of the
/// rims as their axes turn, all steered components together.
double travel_between_m(const Scene& one, const Scene& other, const Freedom& freedom);

}  // namespace catoptra
