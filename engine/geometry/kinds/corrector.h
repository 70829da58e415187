#pragma once
#include <array>
#include <optional>
#include <string>
#include <string_view>

#include "geometry/surface.h"
#include "numeric/field.h"

namespace catoptra {

/// What a corrector turns out to be once its primary is known.
struct SolvedCorrector {
  AnySurface surface;
  AnyOutline outline;
};

/// The mirror that brings the light of a primary to a point, exactly. It waits for its primary, by name: the reader
/// asks design() for what that primary makes of it, fault_of() whether that can be, and solved() for the surface.
struct CorrectorShape {
  static constexpr std::string_view kind = "corrector";
  static constexpr std::string_view beam_key = "beam_diameter_m";
  static constexpr std::string_view primaries =
      "a sphere, paraboloid or conic; a trough takes kind = \"trough_corrector\"";
  std::string primary;
  double focus_m = 0, through_m = 0, beam_m = 0;

  static constexpr std::array<Field<CorrectorShape>, 4> fields{{
      {"primary", &CorrectorShape::primary, units::none, range::any, Need::required,
       "name of the primary that it completes: a sphere, paraboloid or conic, concave"},
      {"focus_m", &CorrectorShape::focus_m, units::metre, range::position_m, Need::required,
       "height of the focus above the primary's vertex, along the primary's axis; less than 0: behind the primary"},
      {"through_m", &CorrectorShape::through_m, units::metre, range::length_m, Need::required,
       "height of the corrector's own vertex, more than focus_m"},
      {"beam_diameter_m", &CorrectorShape::beam_m, units::metre, range::length_m, Need::required,
       "diameter of the parallel beam that it serves; its rim stands where the beam's outermost rays come"},
  }};

  std::optional<CorrectorDesign> design(const AnySurface& primary_surface) const {
    const auto* conic = std::get_if<Conic>(&primary_surface);
    if (conic == nullptr) return std::nullopt;
    return CorrectorDesign{conic->curvature_per_m, conic->q, focus_m, through_m, beam_m / 2};
  }
  /// As FocalProfile's constructor.
  static SolvedCorrector solved(const CorrectorDesign& design) {
    return {Corrector(std::make_shared<const FocalProfile>(design, true)), Whole{}};
  }
};

}  // namespace catoptra
