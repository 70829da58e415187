#pragma once
#include <array>
#include <string_view>
#include <vector>

#include "numeric/field.h"

namespace catoptra {

/// A measured sunshape: radiance linear in the angle between rows, even from the centre to the first row, nothing
/// beyond the last. Only ratios of radiance matter, so its scale is free.
struct TableSun {
  static constexpr std::string_view kind = "table";
  std::vector<Vec2> rows;  // (angle in rad, relative radiance), angles strictly increasing
  NumberFile file{};       // that they may come from

  // Both numbers of a row are converted by the unit: it is meant for the angle, and the radiance's scale is free.
  static constexpr Unit row_unit{"", "mrad", 1e-3};
  static constexpr std::array<std::string_view, 2> columns{"angle_mrad", "radiance"};
  static constexpr std::array<Field<TableSun>, 2> fields{{
      {"rows", &TableSun::rows, row_unit, range::non_negative, Need::optional,
       "rows [angle from the centre in mrad, relative radiance], angles increasing; linear between rows; this or file "
       "is needed"},
      {"file", &TableSun::file, units::none, range::any, Need::optional, "the same rows from a file, one a line",
       columns},
  }};

  double radiance(double angle_rad) const;
  std::vector<double> breaks_rad() const;

  /// Takes the rows from the file. Throws KeyFault where both or neither are given.
  void complete();
  /// Throws std::invalid_argument: fewer than two rows, a negative or unordered angle, one beyond 90 degrees, a
  /// negative radiance, no light at all.
  void check() const;
};

}  // namespace catoptra
