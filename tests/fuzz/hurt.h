#pragma once
// Damage to result files.
#include <random>
#include <string>

namespace catoptra::fuzz {

using Random = std::mt19937_64;

inline std::size_t below(Random& random, std::size_t n) {
  return n == 0 ? 0 : random() % n;
}

enum class Damage { in_place, of_any_length };
/// One to three changes of single bytes or of eight; of any length: bytes lost or added too.
std::string mutated(std::string bytes, Damage damage, Random& random);

/// Changes what the file holds, by the HDF5 library, as another program might: it stays sound HDF5.
void change_content(const std::string& path, Random& random);

}  // namespace catoptra::fuzz
