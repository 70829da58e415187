#pragma once
// Points of the unit cube that spread evenly: designs for studies with several parameters.
#include <cstddef>
#include <cstdint>
#include <vector>

namespace catoptra {

/// A row a point, a column a parameter; each number within (0, 1).
using UnitPoints = std::vector<std::vector<double>>;

/// `points` points, of which each column has one in each of `points` strata of equal width (McKay, Beckman and Conover,
/// Technometrics 21 (1979) 239). The columns are shuffled independently; within its stratum a number is uniform.
UnitPoints latin_hypercube(std::size_t points, std::size_t parameters, std::uint64_t seed);

/// The first `points` of Sobol's sequence with Owen's scramble by `seed`, in binary order: twice as many begin with the
/// same ones. At most `sobol_dimensions` parameters and 2^32 points, else std::invalid_argument.
UnitPoints sobol_points(std::size_t points, std::size_t parameters, std::uint64_t seed);

/// The same without the scramble, within [0, 1): for tests, since its first point is the corner.
UnitPoints plain_sobol_points(std::size_t points, std::size_t parameters);

}  // namespace catoptra
