#pragma once
// What files, texts and pictures call the same thing: moments, directions, errors of a build, words about a run.
#include <array>
#include <string>
#include <vector>

#include "scene/model.h"
#include "steer/realisations.h"
#include "steer/schedule.h"
#include "steer/tolerance.h"
#include "sun/bearing.h"
#include "trace/result.h"

namespace catoptra {

/// Words about a run that the numbers alone would hide: what the tracer warned of, a precision that was not reached, a
/// run that was stopped. Every output shows them.
std::vector<std::string> remarks(const TraceResult& result);
std::vector<std::string> remarks(const Schedule& schedule);

/// "2026-06-21T13:30:00+01:00", or "…Z" for `local` false; the scene's own words where the row has no time.
std::string time_text(const Scene& scene, const Moment& sun, bool local);

/// How outputs name a curve and the unit of its errors: "pointing_x" in mrad, "position_east" in mm, "slope" in mrad,
/// "focus" in percent, "curvature" in km-1; `suffix` stands for the unit at the end of keys.
struct CurveName {
  std::string name, unit, suffix;
  double to_si;
};
CurveName name_of(const ToleranceCurve& curve);

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

}  // namespace catoptra
