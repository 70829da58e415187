#pragma once
// The words of the roles, in the order in which the scene lists its components.
#include <array>
#include <string_view>

#include "scene/model.h"

namespace catoptra {

inline constexpr std::array<Role, 5> all_roles{Role::primary, Role::secondary, Role::receiver, Role::obstacle,
                                               Role::cover};

constexpr std::string_view role_word(Role role) {
  switch (role) {
    case Role::primary:
      return "primary";
    case Role::secondary:
      return "secondary";
    case Role::receiver:
      return "receiver";
    case Role::obstacle:
      return "obstacle";
    case Role::cover:
      return "cover";
  }
  return {};
}

}  // namespace catoptra
