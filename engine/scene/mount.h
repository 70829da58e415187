#pragma once
// Mounts: what holds and moves a component. Each is a plain struct with its scene keys; place() in scene/model.h tells
// where the component then stands. Tracking bias is built into that place; jitter is left to the tracer.
#include <array>
#include <string>
#include <string_view>
#include <type_traits>
#include <variant>

#include "geometry/frame.h"
#include "numeric/field.h"
#include "scene/law_mount.h"

namespace catoptra {

/// Never moves.
struct FixedMount {
  static constexpr std::string_view kind = "fixed";
  Vec position_m{0, 0, 0};
  Vec axis{0, 0, 1};
  double roll_rad = 0;

  static constexpr std::array<Field<FixedMount>, 3> fields{{
      {"position_m", &FixedMount::position_m, units::metre, range::position_m, Need::optional,
       "where the surface's vertex or centre stands: east, north, up"},
      {"axis", &FixedMount::axis, units::none, range::any, Need::optional,
       "where the surface's own z axis points: east, north, up"},
      {"roll_deg", &FixedMount::roll_rad, units::degree, range::within(-360, 360), Need::optional,
       "turn about the axis, right-handed; at 0 the surface's x axis lies level"},
  }};
};

/// Moved by a steering solver, or standing where `offset_m`, `axis` and `roll_rad` say, within its limits.
struct SteeredMount {
  static constexpr std::string_view kind = "steered";
  Vec home_m{0, 0, 0};
  Vec home_axis{0, 0, -1};
  Vec travel_m{0, 0, 0};  // largest |offset| along each axis
  PerAxis tilt_rad;       // largest turn of the axis away from home_axis, see scene/steered_pose.h
  double roll_limit_rad = 0, clearance_m = 0;
  PerAxis bias_rad, jitter_rad;
  Vec offset_m{0, 0, 0};  // the pose
  Vec axis{0, 0, -1};     // the pose; equals home_axis unless said
  double roll_rad = 0;    // the pose

  static constexpr std::array<Field<SteeredMount>, 8> fields{{
      {"home_m", &SteeredMount::home_m, units::metre, range::position_m, Need::required,
       "where the vertex or centre stands at rest: east, north, up"},
      {"home_axis", &SteeredMount::home_axis, units::none, range::any, Need::optional,
       "where the surface's own z axis points at rest: east, north, up"},
      {"travel_m", &SteeredMount::travel_m, units::metre, range::within(0, 1e6), Need::optional,
       "how far it may be moved from home, either way: east, north, up"},
      {"tilt_deg", &SteeredMount::tilt_rad, units::degree, range::within(0, 180), Need::optional,
       "how far its axis may lean from home_axis: any way, or by turns about its x and its y at rest"},
      {"roll_limit_deg", &SteeredMount::roll_limit_rad, units::degree, range::within(0, 180), Need::optional,
       "how far a solver may turn it about its own axis, either way from its pose"},
      {"clearance_m", &SteeredMount::clearance_m, units::metre, range::within(0, 1e6), Need::optional,
       "least distance that a solver keeps between it and other mirrors, receivers and covers"},
      {"bias_mrad", &SteeredMount::bias_rad, units::milliradian, range::within(-100, 100), Need::optional,
       "steady pointing error: turn of the pose about x, then about y, right-handed; one number counts for both"},
      {"jitter_mrad", &SteeredMount::jitter_rad, units::milliradian, range::within(0, 100), Need::optional,
       "rms of the pointing error that changes, Gaussian, about x and y: a number, or [about x, about y]"},
  }};
  static constexpr std::array<Field<SteeredMount>, 3> pose_fields{{
      {"offset_m", &SteeredMount::offset_m, units::metre, range::position_m, Need::optional,
       "how far it stands from home: east, north, up"},
      {"axis", &SteeredMount::axis, units::none, range::any, Need::optional,
       "where its z axis points; home_axis unless said"},
      {"roll_deg", &SteeredMount::roll_rad, units::degree, range::within(-360, 360), Need::optional,
       "turn about the axis, right-handed; at 0 the surface's x axis lies level"},
  }};
};

/// Turns about one axis so that the component's own axis comes as near to the sun as it can.
struct SingleAxisMount {
  static constexpr std::string_view kind = "single_axis";
  Vec pivot_m{0, 0, 0};
  Vec rotation_axis{0, 1, 0};  // becomes the component's y
  Vec offset_m{0, 0, 0};       // of the component from the pivot, in the turning frame
  double bias_rad = 0, jitter_rad = 0;

  static constexpr std::array<Field<SingleAxisMount>, 5> fields{{
      {"pivot_m", &SingleAxisMount::pivot_m, units::metre, range::position_m, Need::optional,
       "a point of the axis of rotation: east, north, up"},
      {"rotation_axis", &SingleAxisMount::rotation_axis, units::none, range::any, Need::optional,
       "direction of the axis of rotation, which becomes the surface's y: east, north, up"},
      {"offset_m", &SingleAxisMount::offset_m, units::metre, range::position_m, Need::optional,
       "of the vertex or centre from the pivot, along the turning surface's x, y, z"},
      {"bias_mrad", &SingleAxisMount::bias_rad, units::milliradian, range::within(-100, 100), Need::optional,
       "steady tracking error: turn about rotation_axis, right-handed"},
      {"jitter_mrad", &SingleAxisMount::jitter_rad, units::milliradian, range::within(0, 100), Need::optional,
       "rms of the tracking error that changes, Gaussian, about rotation_axis"},
  }};
};

/// Points at the sun.
struct TwoAxisMount {
  static constexpr std::string_view kind = "two_axis";
  Vec pivot_m{0, 0, 0};
  Vec offset_m{0, 0, 0};  // of the component from the pivot, in the moving frame
  PerAxis bias_rad, jitter_rad;

  static constexpr std::array<Field<TwoAxisMount>, 4> fields{{
      {"pivot_m", &TwoAxisMount::pivot_m, units::metre, range::position_m, Need::optional,
       "the point about which it turns: east, north, up"},
      {"offset_m", &TwoAxisMount::offset_m, units::metre, range::position_m, Need::optional,
       "of the vertex or centre from the pivot, along the moving surface's x, y, z; z points at the sun"},
      {"bias_mrad", &TwoAxisMount::bias_rad, units::milliradian, range::within(-100, 100), Need::optional,
       "steady tracking error: turn about x, then about y, right-handed; one number counts for both"},
      {"jitter_mrad", &TwoAxisMount::jitter_rad, units::milliradian, range::within(0, 100), Need::optional,
       "rms of the tracking error that changes, Gaussian, about x and y: a number, or [about x, about y]"},
  }};
};

/// Holds a mirror whose normal bisects the directions to the sun and to a point.
struct HeliostatMount {
  static constexpr std::string_view kind = "heliostat";
  Vec position_m{0, 0, 0};
  Vec aim_m{0, 0, 0};
  std::string aim;  // a component whose place is the aim point; empty: aim_m
  PerAxis bias_rad, jitter_rad;

  static constexpr std::array<Field<HeliostatMount>, 5> fields{{
      {"position_m", &HeliostatMount::position_m, units::metre, range::position_m, Need::optional,
       "of the mirror's vertex: east, north, up; an array's offsets are added"},
      {"aim_m", &HeliostatMount::aim_m, units::metre, range::position_m, Need::optional,
       "the aim point, the same for every copy; this or aim is needed"},
      {"aim", &HeliostatMount::aim, units::none, range::any, Need::optional,
       "name of the component whose place is the aim point, as a rule a receiver"},
      {"bias_mrad", &HeliostatMount::bias_rad, units::milliradian, range::within(-100, 100), Need::optional,
       "steady tracking error of the mirror: turn about x, then about y, right-handed; one number counts for both"},
      {"jitter_mrad", &HeliostatMount::jitter_rad, units::milliradian, range::within(0, 100), Need::optional,
       "rms of the mirror's tracking error that changes, Gaussian: a number, or [about x, about y]"},
  }};
};

/// Stands still in the frame of another component, copy for copy.
struct CarriedMount {
  static constexpr std::string_view kind = "carried";
  std::string by;
  Vec position_m{0, 0, 0};
  Vec axis{0, 0, 1};
  double roll_rad = 0;

  static constexpr std::array<Field<CarriedMount>, 4> fields{{
      {"by", &CarriedMount::by, units::none, range::any, Need::required, "name of the component that carries this one"},
      {"position_m", &CarriedMount::position_m, units::metre, range::position_m, Need::optional,
       "of the vertex or centre, along the carrier's x, y, z"},
      {"axis", &CarriedMount::axis, units::none, range::any, Need::optional,
       "where the surface's own z axis points, along the carrier's x, y, z"},
      {"roll_deg", &CarriedMount::roll_rad, units::degree, range::within(-360, 360), Need::optional,
       "turn about the axis, right-handed; at 0 the surface's x axis lies in the carrier's xy plane"},
  }};
};

using AnyMount = std::variant<FixedMount, SteeredMount, SingleAxisMount, TwoAxisMount, HeliostatMount, CarriedMount,
                              BisectorMount, TurnAboutCentreMount, TableMount, SharedDriveMount>;

/// rms of the tracking error that changes, about the component's x and y.
inline PerAxis tracking_jitter(const AnyMount& mount) {
  return std::visit(
      [](const auto& m) -> PerAxis {
        using M = std::decay_t<decltype(m)>;
        if constexpr (std::is_same_v<M, SingleAxisMount> || std::is_same_v<M, SharedDriveMount>) {
          return {0, m.jitter_rad};  // it can only turn about its own axis, y
        } else if constexpr (requires { m.jitter_rad; }) {
          return m.jitter_rad;
        } else {
          return {};
        }
      },
      mount);
}

}  // namespace catoptra
