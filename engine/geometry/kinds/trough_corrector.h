#pragma once
#include "geometry/kinds/corrector.h"

namespace catoptra {

/// A corrector's section carried along y: brings the light of a trough to a line.
struct TroughCorrectorShape {
  static constexpr std::string_view kind = "trough_corrector";
  static constexpr std::string_view beam_key = "beam_width_m";
  static constexpr std::string_view primaries =
      "a parabolic_trough or circular_trough; a round primary takes kind = \"corrector\"";
  std::string primary;
  double focus_m = 0, through_m = 0, beam_m = 0, length_m = 0;

  static constexpr std::array<Field<TroughCorrectorShape>, 5> fields{{
      {"primary", &TroughCorrectorShape::primary, units::none, range::any, Need::required,
       "name of the primary that it completes: a parabolic_trough or circular_trough, concave"},
      {"focus_m", &TroughCorrectorShape::focus_m, units::metre, range::position_m, Need::required,
       "height of the focal line above the primary's vertex, along the primary's axis; less than 0: behind the "
       "primary"},
      {"through_m", &TroughCorrectorShape::through_m, units::metre, range::length_m, Need::required,
       "height of the corrector's own vertex, more than focus_m"},
      {"beam_width_m", &TroughCorrectorShape::beam_m, units::metre, range::length_m, Need::required,
       "width along x of the parallel beam that it serves; its edges stand where the beam's outermost rays come"},
      {"length_m", &TroughCorrectorShape::length_m, units::metre, range::length_m, Need::required, "length along y"},
  }};

  std::optional<CorrectorDesign> design(const AnySurface& primary_surface) const {
    const auto* trough = std::get_if<Trough>(&primary_surface);
    if (trough == nullptr) return std::nullopt;
    return CorrectorDesign{trough->curvature_per_m, trough->q, focus_m, through_m, beam_m / 2};
  }
  /// As FocalProfile's constructor. The outline tells which way x and y run on it; it cuts nothing off.
  SolvedCorrector solved(const CorrectorDesign& design) const {
    const auto profile = std::make_shared<const FocalProfile>(design, false);
    return {TroughCorrector(profile, length_m / 2), Rectangle{profile->width_m(), length_m / 2 * (1 + 1e-9), {0, 0}}};
  }
};

}  // namespace catoptra
