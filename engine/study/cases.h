#pragma once
// The cases of a study: which values its parameters have in each, in which order.
#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <stdexcept>
#include <string>
#include <string_view>
#include <vector>

namespace catoptra {

/// From `low` to `high` in the unit of the key, both included.
struct ValueRange {
  double low = 0, high = 0;
  std::size_t steps = 0;     // values of a grid or list; 0: none, any value between
  bool logarithmic = false;  // equal ratios instead of equal differences

  /// `u` within [0, 1].
  double at(double u) const;
};

struct StudyParameter {
  std::vector<std::string> paths;   // of a scene, all of which get the value; the first names the parameter
  std::vector<std::string> listed;  // values as TOML; empty: the range
  ValueRange range;

  /// All values, as TOML; none of a range without steps.
  std::vector<std::string> values() const;
};

enum class Combination { grid, zipped, one_at_a_time, latin_hypercube, sobol };
inline constexpr std::array<std::string_view, 5> combination_words{"grid", "zipped", "one_at_a_time", "latin_hypercube",
                                                                   "sobol"};

struct StudyPlan {
  std::vector<StudyParameter> parameters;
  Combination combination = Combination::grid;
  std::size_t points = 0;  // of a hypercube and of Sobol's
  std::uint64_t seed = 1;
};

/// A value for each parameter, as TOML; none: the scene's own.
using StudyCase = std::vector<std::optional<std::string>>;

/// A plan that makes no cases, with words for the user.
struct WrongPlan : std::invalid_argument {
  using std::invalid_argument::invalid_argument;
};

/// How many cases; infinity where that is beyond 2^53. Throws WrongPlan.
double count_of_cases(const StudyPlan& plan);

/// All cases. A grid's last parameter changes fastest. One at a time begins with the scene as it is; then each
/// parameter goes through its values while the others keep the scene's. Twice as many Sobol points begin with the same
/// cases. Throws WrongPlan.
std::vector<StudyCase> cases_of(const StudyPlan& plan);

/// What a scene is to be read with (scene/settings.h).
std::vector<std::string> settings_of(const StudyPlan& plan, const StudyCase& one);

}  // namespace catoptra
