#pragma once
// What a person typed on the command line, read strictly.
#include <cstdint>
#include <span>
#include <stdexcept>
#include <string>
#include <string_view>

namespace catoptra {

/// The command line is at fault: exit code 2. The message is whole, of several lines.
struct UsageError : std::runtime_error {
  using std::runtime_error::runtime_error;
};

/// A whole number within `low` and `high`; reads 250000, 1e6, 2^20, 500k, 1.5M. Throws UsageError naming `option`.
std::uint64_t count_of(std::string_view option, std::string_view typed, std::uint64_t low, std::uint64_t high);

/// A plain whole number, digits only. Throws UsageError naming `option`.
std::uint64_t integer_of(std::string_view option, std::string_view typed, std::uint64_t low, std::uint64_t high);

/// "0.1%" as 0.001; more than 0 %, less than 100 %. Throws UsageError naming `option`.
double ratio_of_percent(std::string_view option, std::string_view typed);

/// "unknown verb 'trase'", what is allowed and the nearest right word, if any is near.
UsageError unknown_word(std::string_view what, std::string_view typed, std::span<const std::string_view> allowed);

}  // namespace catoptra
