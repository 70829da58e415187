#pragma once
// Arrays: copies of a component, as the frames of the ground on which their mounts stand. What a mount's keys say
// counts from there and along its axes; aim points stay where they are. check() throws std::invalid_argument where keys
// that are fine one by one don't fit together. To add one: a struct here, and its name in AnyArray.
#include <array>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "numeric/field.h"
#include "scene/frame_table.h"

namespace catoptra {

/// Rows and columns about the mount's position.
struct GridArray {
  static constexpr std::string_view kind = "grid";
  std::array<int, 2> count{1, 1};
  Vec2 spacing_m;

  static constexpr std::array<Field<GridArray>, 2> fields{{
      {"count", &GridArray::count, units::none, range::within(1, 10000), Need::required,
       "copies along east and along north; the grid is centred"},
      {"spacing_m", &GridArray::spacing_m, units::metre, range::length_m, Need::required,
       "from copy to copy, along east and along north"},
  }};
  void check() const;
  std::vector<Frame> frames() const;
};

/// Evenly along a circle, or along a part of it.
struct RingArray {
  static constexpr std::string_view kind = "ring";
  int count = 1;
  double radius_m = 1;
  double from_azimuth_rad = 0, to_azimuth_rad = 360 * units::degree_rad;

  static constexpr std::array<Field<RingArray>, 4> fields{{
      {"count", &RingArray::count, units::none, range::within(1, most_copies), Need::required, "copies"},
      {"radius_m", &RingArray::radius_m, units::metre, range::length_m, Need::required, "radius of the circle"},
      {"from_azimuth_deg", &RingArray::from_azimuth_rad, units::degree, range::within(-360, 360), Need::optional,
       "where the first copy stands, from north by east"},
      {"to_azimuth_deg", &RingArray::to_azimuth_rad, units::degree, range::within(-360, 720), Need::optional,
       "where the last stands (a full turn is shared evenly): more than from_azimuth_deg, by 360 at most"},
  }};
  void check() const;
  std::vector<Frame> frames() const;
};

/// Rings one behind the other, every second one turned by half a gap, so that a mirror looks between two before it.
struct RingsArray {
  static constexpr std::string_view kind = "rings";
  int rings = 1;
  double inner_radius_m = 1, radial_spacing_m = 1, spacing_m = 1;
  double from_azimuth_rad = 0, to_azimuth_rad = 360 * units::degree_rad;

  static constexpr std::array<Field<RingsArray>, 6> fields{{
      {"rings", &RingsArray::rings, units::none, range::within(1, 10000), Need::required, "number of rings"},
      {"inner_radius_m", &RingsArray::inner_radius_m, units::metre, range::length_m, Need::required,
       "radius of the innermost ring"},
      {"radial_spacing_m", &RingsArray::radial_spacing_m, units::metre, range::length_m, Need::required,
       "from ring to ring"},
      {"spacing_m", &RingsArray::spacing_m, units::metre, range::length_m, Need::required,
       "least distance from copy to copy along a ring"},
      {"from_azimuth_deg", &RingsArray::from_azimuth_rad, units::degree, range::within(-360, 360), Need::optional,
       "where the rings begin, from north by east"},
      {"to_azimuth_deg", &RingsArray::to_azimuth_rad, units::degree, range::within(-360, 720), Need::optional,
       "where they end: more than from_azimuth_deg, by 360 at most"},
  }};
  double slots(int ring) const;  // copies in a ring, counted from 0
  void check() const;
  std::vector<Frame> frames() const;
};

/// Even density round a centre, like a sunflower's seeds.
struct SpiralArray {
  static constexpr std::string_view kind = "spiral";
  int count = 1;
  double inner_radius_m = 0, spacing_m = 1;
  double from_azimuth_rad = 0, to_azimuth_rad = 360 * units::degree_rad;

  static constexpr std::array<Field<SpiralArray>, 5> fields{{
      {"count", &SpiralArray::count, units::none, range::within(1, most_copies), Need::required, "copies"},
      {"inner_radius_m", &SpiralArray::inner_radius_m, units::metre, range::within(0, 1e6), Need::optional,
       "no copy stands nearer to the centre"},
      {"spacing_m", &SpiralArray::spacing_m, units::metre, range::length_m, Need::required,
       "each copy has the ground of a square with this side to itself"},
      {"from_azimuth_deg", &SpiralArray::from_azimuth_rad, units::degree, range::within(-360, 360), Need::optional,
       "copies stand only clockwise from here, counted from north by east, ..."},
      {"to_azimuth_deg", &SpiralArray::to_azimuth_rad, units::degree, range::within(-360, 720), Need::optional,
       "... to here: more than from_azimuth_deg, by 360 at most"},
  }};
  void check() const;
  std::vector<Frame> frames() const;
};

/// Positions out of a table.
struct CsvArray {
  static constexpr std::string_view kind = "csv";
  NumberFile file;

  static constexpr std::array<std::string_view, 3> columns{"x_m", "y_m", "z_m"};
  static constexpr std::array<Field<CsvArray>, 1> fields{{
      {"file", &CsvArray::file, units::none, range::any, Need::required, "one copy a line: east, north, up", columns},
  }};
  std::vector<Frame> frames() const;
};

using AnyArray = std::variant<GridArray, RingArray, RingsArray, SpiralArray, CsvArray, FrameTable>;

}  // namespace catoptra
