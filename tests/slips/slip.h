#pragma once
// Switches for the slips of this folder. Only the copies of sources that `tests/slips/run` makes include it.
#include <array>
#include <cstdio>
#include <cstdlib>
#include <type_traits>

namespace catoptra_slips {

inline constexpr int most = 4096;

/// The slip that is made, from the environment: 0 for none. And which were come to, written down at the end of the
/// program where the environment names a file for it, so that a test which never comes to a slip need not be run on it.
struct Switch {
  Switch() {
    if (const char* number = std::getenv("CATOPTRA_SLIP")) made = std::atoi(number);
    log = std::getenv("CATOPTRA_SLIPS_REACHED");
  }
  ~Switch() {
    if (log == nullptr) return;
    std::FILE* const file = std::fopen(log, "a");
    if (file == nullptr) return;
    for (int n = 0; n < most; ++n)
      if (reached[n] != 0) std::fprintf(file, "%d\n", n);
    std::fclose(file);
  }
  Switch(const Switch&) = delete;
  Switch& operator=(const Switch&) = delete;

  int made = 0;
  const char* log = nullptr;
  std::array<volatile char, most> reached{};
};
inline Switch the_switch;

/// Whether slip n is made. What the compiler works out is always right: a slip there is not switched.
constexpr bool made(int n) {
  if (std::is_constant_evaluated()) return false;
  if (the_switch.log != nullptr) the_switch.reached[n] = 1;
  return the_switch.made == n;
}

}  // namespace catoptra_slips

#define CATOPTRA_SLIP(n, right, wrong) (catoptra_slips::made(n) ? (wrong) : (right))
