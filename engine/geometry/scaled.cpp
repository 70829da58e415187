#include "geometry/scaled.h"

#include <cmath>

namespace catoptra {

bool has_focal_length(const AnySurface& surface) {
  return std::holds_alternative<Conic>(surface) || std::holds_alternative<Trough>(surface) ||
         std::holds_alternative<Asphere>(surface) || std::holds_alternative<Corrector>(surface) ||
         std::holds_alternative<TroughCorrector>(surface);
}

std::optional<AnySurface> scaled(const AnySurface& surface, double factor) {
  const auto of = [&](const auto& s) -> std::optional<AnySurface> {
    using Surface = std::decay_t<decltype(s)>;
    if constexpr (std::is_same_v<Surface, Conic> || std::is_same_v<Surface, Trough>) {
      return Surface{s.curvature_per_m / factor, s.q};
    } else if constexpr (std::is_same_v<Surface, Asphere>) {
      return s.scaled(factor);
    } else if constexpr (std::is_same_v<Surface, Corrector>) {
      return Corrector(std::make_shared<const FocalProfile>(s.profile().scaled(factor)));
    } else if constexpr (std::is_same_v<Surface, TroughCorrector>) {
      return TroughCorrector(std::make_shared<const FocalProfile>(s.profile().scaled(factor)), s.half_length_m());
    } else {
      return std::nullopt;
    }
  };
  return std::visit(of, surface);
}

double equator_m(const AnySurface& surface) {
  const auto of = [](double curvature_per_m, double q) {
    return q > 0 && curvature_per_m != 0 ? 1 / (std::fabs(curvature_per_m) * std::sqrt(q)) : infinity;
  };
  if (const auto* conic = std::get_if<Conic>(&surface)) return of(conic->curvature_per_m, conic->q);
  if (const auto* trough = std::get_if<Trough>(&surface)) return of(trough->curvature_per_m, trough->q);
  if (const auto* asphere = std::get_if<Asphere>(&surface)) return of(asphere->curvature_per_m(), asphere->q());
  return infinity;
}

double extent_m(const AnySurface& surface, const AnyOutline& outline) {
  if (!std::holds_alternative<Trough>(surface)) return radius_span_m(outline).largest_m;
  const Box2 bounds = box(outline);
  return std::fmax(std::fabs(bounds.low.x), std::fabs(bounds.high.x));
}

double least_scale(const AnySurface& surface, const AnyOutline& outline) {
  const double equator = equator_m(surface);
  return equator < infinity ? extent_m(surface, outline) / equator : 0;
}

}  // namespace catoptra
