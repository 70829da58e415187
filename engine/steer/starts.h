#pragma once
// Where a search for one sun's poses begins. Method: docs/theory/steering.md, "Where a search begins".
#include <cstddef>
#include <optional>
#include <vector>

#include "steer/search_ground.h"

namespace catoptra {

/// Where a flat mirror would stand, as far as the limits allow; none where the scene is no such one.
std::optional<std::vector<double>> bisector_start(const SearchGround& ground, const Moment& moment);

/// Poses that lie apart, from which the guide says that light comes near; those first that a trace of `judge` agrees
/// with; `count` at most. Of `points_a_coordinate` points, which another `draw` places elsewhere. What the guide finds
/// is kept in the search's memory.
std::vector<std::vector<double>> guided_starts(const SearchGround& ground, const Moment& moment, std::uint64_t draw,
                                               int points_a_coordinate, std::size_t count, Climber& judge);

/// The question under which the memory keeps the guide's places.
SearchMemory::Key guided_key(const SearchGround& ground, const Moment& moment, std::uint64_t draw,
                             int points_a_coordinate);

/// The best places of a survey of the objective by `judge`.
std::vector<std::vector<double>> surveyed_starts(const SearchGround& ground, Climber& judge);

}  // namespace catoptra
