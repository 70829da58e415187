#pragma once
// Checks of what a caller promises, at the borders of rooms: a direction of unit length, an angle within its range,
// sizes that agree. A broken promise is a programmer's fault, never a user's. They are compiled where CATOPTRA_CHECKS
// is defined, which cmake/options.cmake does for debug builds (presets dev, asan, tsan); elsewhere they cost nothing.
#include <cmath>
#include <stdexcept>
#include <string>

#include "numeric/vec.h"

namespace catoptra {

/// Whether this file is compiled with checks.
#ifdef CATOPTRA_CHECKS
constexpr bool promises_are_checked = true;
#else
constexpr bool promises_are_checked = false;
#endif

/// A promise that a caller did not keep: what it was, and in which file and line.
class BrokenPromise : public std::logic_error {
 public:
  BrokenPromise(const char* promise, const char* file, int line)
      : std::logic_error(std::string(file) + ":" + std::to_string(line) + ": expected " + promise) {}
};

/// Of unit length within what some hundred roundings leave.
inline bool is_unit(const Vec& v) {
  return std::fabs(dot(v, v) - 1) < 1e-9;
}

}  // namespace catoptra

#include "numeric/expects_macro.h"
