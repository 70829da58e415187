#pragma once
// A component lists its scene keys once, as data. The reader, the scene reference and the fuzzer walk that list.
// Nothing here knows TOML.
#include <array>
#include <cmath>
#include <limits>
#include <span>
#include <stdexcept>
#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

#include "numeric/vec.h"

namespace catoptra {

/// A unit as a key's ending writes it, and the factor to SI.
struct Unit {
  std::string_view suffix;  // "_mrad"; empty for a ratio or a count
  std::string_view symbol;  // "mrad"
  double to_si;
};

namespace units {
inline constexpr double degree_rad = 3.14159265358979323846 / 180;
inline constexpr Unit none{"", "1", 1};
inline constexpr Unit metre{"_m", "m", 1};
inline constexpr Unit degree{"_deg", "degree", degree_rad};
inline constexpr Unit milliradian{"_mrad", "mrad", 1e-3};
inline constexpr Unit per_m3{"_per_m3", "m-3", 1}, per_m5{"_per_m5", "m-5", 1}, per_m7{"_per_m7", "m-7", 1},
    per_m9{"_per_m9", "m-9", 1};
inline constexpr Unit nanometre{"_nm", "nm", 1e-9};
inline constexpr Unit square_micrometre{"_um2", "um2", 1e-12};
inline constexpr Unit per_metre{"_per_m", "1/m", 1};
inline constexpr Unit kelvin{"_K", "K", 1};
inline constexpr Unit watt_per_square_metre_kelvin{"_W_m2K", "W m-2 K-1", 1};
inline constexpr Unit watt_per_square_metre{"_W_m2", "W m-2", 1};
}  // namespace units

/// What a number may be, in the key's own unit. The message and the test come from the same object.
struct Range {
  double low = -std::numeric_limits<double>::infinity();
  double high = std::numeric_limits<double>::infinity();
  bool low_open = false, high_open = false, zero_excluded = false;

  constexpr bool holds(double x) const {  // false for NaN; infinities never pass
    return x > -std::numeric_limits<double>::infinity() && x < std::numeric_limits<double>::infinity() &&
           !(zero_excluded && x == 0) && (low_open ? x > low : x >= low) && (high_open ? x < high : x <= high);
  }
};

namespace range {
constexpr Range within(double low, double high) {
  return {low, high, false, false};
}
inline constexpr Range positive{0, std::numeric_limits<double>::infinity(), true, false};
inline constexpr Range non_negative{0, std::numeric_limits<double>::infinity(), false, false};
inline constexpr Range any{};
inline constexpr Range length_m{1e-6, 1e6};  // wide enough for any concentrator; keeps squares finite
inline constexpr Range position_m{-1e6, 1e6};
inline constexpr Range curvature_m{.low = -1e6, .high = 1e6, .zero_excluded = true};  // a radius or focal length
}  // namespace range

/// One number for both axes of a surface, or one an axis: `2.0` or `[2.0, 1.0]` in a scene.
struct PerAxis {
  double x = 0, y = 0;
  bool is_zero() const { return x == 0 && y == 0; }
};

/// A ratio that may depend on the incidence angle: `0.94`, or a table `[[0, 0.95], [60, 0.90], …]` of degrees and
/// ratios in a scene; linear between rows, constant beyond them. Held as rows of (angle in rad, ratio).
struct AngleCurve {
  std::vector<Vec2> rows;  // one row: a constant
  bool is_constant() const { return rows.size() < 2; }
};

/// One word out of a Field's list, by its place in the list.
struct Choice {
  int index = 0;
};

/// A table of numbers in a file that the scene names by its path from the scene's folder: the first line names the
/// columns, which are the Field's words. Reading the key reads the file.
struct NumberFile {
  std::string path;
  std::vector<std::vector<double>> rows;  // as the file has them, one number a column
};

/// Keys that are allowed one by one and don't fit together, or a file's numbers that mean nothing. What the complete()
/// or check() of a kind throws to have it said at one of its keys.
struct KeyFault : std::invalid_argument {
  KeyFault(std::string_view key_, const std::string& message, std::vector<std::string> notes_ = {})
      : std::invalid_argument(message), key(key_), notes(std::move(notes_)) {}
  std::string key;
  std::vector<std::string> notes;
};

enum class Need { required, optional };

/// One scene key of a T. `member` is stored in SI whatever the key's unit. For optional keys the default is what a
/// default-constructed T holds.
template <class T>
struct Field {
  /// A Vec without a unit is a direction: never of zero length, and stored with unit length.
  using Member = std::variant<double T::*, int T::*, Vec2 T::*, std::array<int, 2> T::*, Vec T::*, PerAxis T::*,
                              AngleCurve T::*, Choice T::*, std::vector<Vec2> T::*, std::string T::*, NumberFile T::*>;
  std::string_view key;
  Member member;
  Unit unit;
  Range range;  // each number of a vector must hold it
  Need need;
  std::string_view meaning;
  std::span<const std::string_view> words{};  // what a Choice may be; the columns of a NumberFile

  consteval Field(std::string_view key_, Member member_, Unit unit_, Range range_, Need need_,
                  std::string_view meaning_, std::span<const std::string_view> words_ = {})
      : key(key_), member(member_), unit(unit_), range(range_), need(need_), meaning(meaning_), words(words_) {
    if (!key_.ends_with(unit_.suffix)) throw "a key ends with its unit";  // NOLINT: stops the build
  }
};

}  // namespace catoptra
