#pragma once
// Realisations as text, and what their outputs call the errors.
#include <array>
#include <string>
#include <vector>

#include "steer/realisations.h"

namespace catoptra {

/// The shares of the builds at which outputs quote the absorbed share.
inline constexpr std::array<double, 5> quoted_percentiles{0.05, 0.25, 0.5, 0.75, 0.95};

/// An error that was drawn, as outputs call it: "pointing" in mrad, "position" in mm, "focus" in percent, "curvature"
/// in km-1.
struct DrawnName {
  std::string name, unit, suffix;  // the suffix stands at the end of keys
  double to_si;
  double rms;     // in the unit
  bool has_axes;  // drawn for three axes, else one number
  /// Of a drawn component, in SI; the first alone counts where it has no axes.
  Vec (*drawn)(const DrawnErrors&);
};
/// Those whose rms is more than 0.
std::vector<DrawnName> drawn_names(const BuildErrors& rms);

/// What the builds come to: mean and percentiles of the absorbed share.
std::string realisations_text(const Realisations& realisations);

/// RFC 4180 with a line of names: a line a build, with its errors.
std::string realisations_csv(const Realisations& realisations);

}  // namespace catoptra
