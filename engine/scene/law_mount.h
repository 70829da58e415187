#pragma once
// Mounts whose pose is a law of the sun's direction, beside the trackers of scene/mount.h: for mirrors and absorbers
// that move before a primary that stands still, and for rows on one drive. The laws: docs/theory/steering.md.
#include <array>
#include <string>
#include <string_view>
#include <vector>

#include "numeric/field.h"

namespace catoptra {

/// Folds a spherical primary's paraxial image of the sun onto a point, as a flat mirror can.
struct BisectorMount {
  static constexpr std::string_view kind = "bisector";
  std::string primary;
  Vec aim_m{0, 0, 0};
  std::string aim;  // a component whose place is the aim point; empty: aim_m
  double roll_rad = 0;

  static constexpr std::array<Field<BisectorMount>, 4> fields{{
      {"primary", &BisectorMount::primary, units::none, range::any, Need::required,
       "name of the spherical primary whose image of the sun is folded"},
      {"aim_m", &BisectorMount::aim_m, units::metre, range::position_m, Need::optional,
       "the point that the image is folded onto; this or aim is needed"},
      {"aim", &BisectorMount::aim, units::none, range::any, Need::optional,
       "name of the component whose place is that point, as a rule a receiver"},
      {"roll_deg", &BisectorMount::roll_rad, units::degree, range::within(-360, 360), Need::optional,
       "turn about the axis, right-handed; at 0 the surface's x axis lies level"},
  }};
};

/// Turns rigidly with the sun about the centre of curvature of a spherical primary, which looks alike from there
/// whatever the turn.
struct TurnAboutCentreMount {
  static constexpr std::string_view kind = "turn_about_centre";
  std::string primary;
  Vec position_m{0, 0, 0};
  Vec axis{0, 0, 1};
  double roll_rad = 0;

  static constexpr std::array<Field<TurnAboutCentreMount>, 4> fields{{
      {"primary", &TurnAboutCentreMount::primary, units::none, range::any, Need::required,
       "name of the spherical primary about whose centre of curvature it turns"},
      {"position_m", &TurnAboutCentreMount::position_m, units::metre, range::position_m, Need::optional,
       "of the vertex or centre from the centre of curvature, in the turning frame: its z points at the sun, its x "
       "lies "
       "level"},
      {"axis", &TurnAboutCentreMount::axis, units::none, range::any, Need::optional,
       "where the surface's own z axis points, in the turning frame"},
      {"roll_deg", &TurnAboutCentreMount::roll_rad, units::degree, range::within(-360, 360), Need::optional,
       "turn about the axis, right-handed; at 0 the surface's x axis lies in the turning frame's xy plane"},
  }};
};

/// One row of a pose table.
struct PoseRow {
  Vec to_sun{0, 0, 1};  // unit
  Vec position_m{0, 0, 0};
  Vec axis{0, 0, 1};  // unit
  double roll_rad = 0;
};

/// Stands where a table says for this sun: rows along the sun's path, as `catoptra steer --poses` writes them.
struct TableMount {
  static constexpr std::string_view kind = "table";
  NumberFile file;
  double reach_rad = 1 * units::degree_rad;
  std::vector<PoseRow> rows;  // of the file

  static constexpr std::array<std::string_view, 9> columns{"azimuth_deg", "elevation_deg", "x_m",    "y_m",     "z_m",
                                                           "axis_x",      "axis_y",        "axis_z", "roll_deg"};
  static constexpr std::array<Field<TableMount>, 2> fields{{
      {"file", &TableMount::file, units::none, range::any, Need::required,
       "one pose a line, in the order of the sun's path", columns},
      {"reach_deg", &TableMount::reach_rad, units::degree, range::within(0, 90), Need::optional,
       "how far from the table's path the sun may stand"},
  }};
  /// Takes the rows from the file. Throws KeyFault where one is no pose.
  void complete();
};

/// Rows of a linear Fresnel collector: each turns about its own axis, set so that it throws the noon sun onto the
/// receiver's line; one drive turns all of them by the same angle.
struct SharedDriveMount {
  static constexpr std::string_view kind = "shared_drive";
  Vec position_m{0, 0, 0};
  Vec rotation_axis{0, 1, 0};  // becomes the component's y
  Vec aim_m{0, 0, 0};
  std::string aim;  // a component through whose place the line runs; empty: aim_m
  double bias_rad = 0, jitter_rad = 0;

  static constexpr std::array<Field<SharedDriveMount>, 6> fields{{
      {"position_m", &SharedDriveMount::position_m, units::metre, range::position_m, Need::optional,
       "of the row's vertex, a point of its axis of rotation: east, north, up; an array's offsets are added"},
      {"rotation_axis", &SharedDriveMount::rotation_axis, units::none, range::any, Need::optional,
       "direction of the rows' axes and of the receiver's line, which becomes the surface's y: east, north, up"},
      {"aim_m", &SharedDriveMount::aim_m, units::metre, range::position_m, Need::optional,
       "a point of the receiver's line, the same for every row; this or aim is needed"},
      {"aim", &SharedDriveMount::aim, units::none, range::any, Need::optional,
       "name of the component through whose place the line runs, as a rule the receiver"},
      {"bias_mrad", &SharedDriveMount::bias_rad, units::milliradian, range::within(-100, 100), Need::optional,
       "steady error of the drive: turn of every row about rotation_axis, right-handed"},
      {"jitter_mrad", &SharedDriveMount::jitter_rad, units::milliradian, range::within(0, 100), Need::optional,
       "rms of each row's tracking error that changes, Gaussian, about rotation_axis"},
  }};
};

}  // namespace catoptra
