#pragma once
// Which side of a closed surface is its front.
#include <array>
#include <string_view>

#include "numeric/field.h"

namespace catoptra {

inline constexpr std::array<std::string_view, 2> front_words{"outside", "inside"};

/// 1 for the outside, -1 for the inside, as the closed surfaces of geometry/surface.h take it.
inline double side_of(Choice front) {
  return front.index == 0 ? 1 : -1;
}

}  // namespace catoptra
