#pragma once
#include <array>
#include <string_view>

#include "numeric/field.h"

namespace catoptra {

/// All light from one direction: for tests and closed forms, never a real sky.
struct PointSun {
  static constexpr std::string_view kind = "point";
  static constexpr std::array<Field<PointSun>, 0> fields{};
};

}  // namespace catoptra
