#pragma once
// The mirror that completes a primary: it brings a parallel beam, reflected by the primary, to one point. Solved by
// constant optical path. Derivation: docs/theory/correctors.md. Metres; heights count from the primary's vertex along
// its axis. In long double, as the tables made from it hold nearly all digits of a double.
#include <optional>

namespace catoptra {

/// What is asked of a corrector. The primary's section is c (r^2 + q z^2) = 2 z, round its axis or carried along y.
struct CorrectorDesign {
  double curvature_per_m = 1, q = 1;  // of the primary, as Conic and Trough have them
  double focus_m = 0;                 // height of the focus
  double through_m = 0;               // height of the corrector's vertex
  double half_beam_m = 0;             // of the beam's width: the primary is used this far from its axis

  /// The vertex stands above the primary's paraxial focus, so rays have crossed the axis before they meet the
  /// corrector.
  bool is_beyond() const { return through_m > 0.5 / curvature_per_m; }
};

/// Where the ray that the primary's point at a distance r from the axis sends on meets the corrector.
struct CorrectorPoint {
  long double x, z;                          // from the focus
  long double to, onward;                    // lengths from the primary to the corrector, and from there to the focus
  long double one_less_cosine, cosine;       // of the polar angle at the focus, from the axis
  long double meridional, sagittal;          // from the primary to the ray's two caustics
  long double primary_x, primary_z, dx, dz;  // where the ray leaves the primary (z from the focus), and its direction
};
CorrectorPoint corrector_point(const CorrectorDesign& design, long double r_m);

/// Why there is no such mirror.
struct DesignFault {
  enum class Kind {
    not_concave,    // the primary sends no light inward
    beam_too_wide,  // for the primary itself: limit is half of what it can take
    upside_down,    // the vertex lies below the focus
    at_paraxial_focus,
    folds  // some rays meet the corrector between their caustics, or not at all: limit is the half beam that does not
  };
  Kind kind = Kind::folds;
  std::optional<double> limit_m;          // of half_beam_m
  std::optional<double> through_limit_m;  // at this beam: the vertex must stand lower, if beyond, higher
};
std::optional<DesignFault> fault_of(const CorrectorDesign& design);

}  // namespace catoptra
