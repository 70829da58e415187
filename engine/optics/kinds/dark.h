#pragma once
#include <array>
#include <string_view>

#include "numeric/field.h"

namespace catoptra {

/// Stops every ray: a mast, a housing, the back of a mirror.
struct Dark {
  static constexpr std::string_view kind = "dark";
  static constexpr std::array<Field<Dark>, 0> fields{};

  static constexpr bool stops_all_light = true;
};

}  // namespace catoptra
