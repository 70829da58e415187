#pragma once
// Frames out of a file, for copies that stand and lean as they were built or measured.
#include <array>
#include <string_view>
#include <vector>

#include "geometry/frame.h"
#include "numeric/field.h"

namespace catoptra {

inline constexpr int most_copies = 1'000'000;  // of one component, facets counted one by one

/// The frame at `origin_m` whose z has turned from straight up to `normal` (unit, not straight down) by the shortest
/// way, without twist: as what is tilted on two screws turns, its edges staying along those of its neighbours.
Frame tilted(const Vec& origin_m, const Vec& normal);

struct FrameTable {
  static constexpr std::string_view kind = "frames";
  NumberFile file;

  static constexpr std::array<std::string_view, 6> columns{"x_m", "y_m", "z_m", "normal_x", "normal_y", "normal_z"};
  static constexpr std::array<Field<FrameTable>, 1> fields{{
      {"file", &FrameTable::file, units::none, range::any, Need::required,
       "one copy a line: its place, and where its own z points; from straight up it is turned there by the shortest "
       "way, without twist",
       columns},
  }};
  void check() const;
  std::vector<Frame> frames() const;
};

}  // namespace catoptra
