#pragma once
// The finishes that a scene may name. A finish is a plain struct with its word, its scene keys and what it does to
// light (interaction.h). To add one: its header, and its name in this list. The tracer visits the list once a block.
#include <optional>
#include <variant>

#include "optics/kinds/absorber.h"
#include "optics/kinds/dark.h"
#include "optics/kinds/glass.h"
#include "optics/kinds/mirror.h"

namespace catoptra {

using AnyFinish = std::variant<Mirror, Absorber, Dark, Glass, SellmeierGlass>;

namespace detail {
template <class... Finishes>
constexpr bool all_act(const std::variant<Finishes...>*) {
  return (ActsOnLight<Finishes> && ...);
}
}  // namespace detail
static_assert(detail::all_act(static_cast<const AnyFinish*>(nullptr)),
              "a finish of the list does not say what it does to light: see optics/interaction.h");

/// The pane that a finish makes of a surface; none where it is no glass.
inline std::optional<Pane> pane_of(const AnyFinish& finish) {
  return std::visit(
      [](const auto& kind) -> std::optional<Pane> {
        if constexpr (requires { kind.pane(); }) return kind.pane();
        return std::nullopt;
      },
      finish);
}

/// Where light of unit direction `d` goes on from a finish without errors, at a place whose normal, on the side that is
/// met, is `n`; none where it is stopped or scattered.
template <ActsOnLight Finish>
std::optional<Vec> direction_onward(const Finish& finish, const Vec& d, const Vec& n) {
  const Arrival<double> in{.direction = d, .normal = n, .turned_normal = n, .cosine = -dot(d, n), .weight = 1};
  if constexpr (ActsThroughAnother<Finish>) {
    return direction_onward(finish.acts_as(), d, n);
  } else if constexpr (SendsOn<Finish>) {
    return finish.depart(in, {}).direction;
  } else if constexpr (SendsLittleOn<Finish>) {
    if (!finish.wants(Draw::rest)) return finish.direction(in, {});
  }
  return std::nullopt;
}

}  // namespace catoptra
