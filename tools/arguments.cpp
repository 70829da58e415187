#include "arguments.h"

#include <charconv>
#include <cmath>
#include <fmt/format.h>
#include <optional>

#include "scene/words.h"

namespace catoptra {
namespace {

template <class Number>
std::optional<Number> whole_text(std::string_view text) {
  Number number{};
  const char* end = text.data() + text.size();
  const auto [stop, fault] = std::from_chars(text.data(), end, number);
  if (fault != std::errc{} || stop != end) return std::nullopt;
  return number;
}

std::optional<double> count_text(std::string_view text) {
  if (const auto caret = text.find('^'); caret != text.npos) {
    const auto base = whole_text<unsigned>(text.substr(0, caret));
    const auto power = whole_text<unsigned>(text.substr(caret + 1));
    if (!base || !power) return std::nullopt;
    return std::pow(*base, *power);
  }
  double factor = 1;
  if (text.ends_with('k')) factor = 1e3;
  if (text.ends_with('M')) factor = 1e6;
  if (factor != 1) text.remove_suffix(1);
  const auto number = whole_text<double>(text);
  if (!number) return std::nullopt;
  return *number * factor;
}

UsageError wrong_value(std::string_view option, std::string_view typed, const std::string& allowed) {
  return UsageError(fmt::format("{} is '{}'\n  allowed: {}", option, typed, allowed));
}

}  // namespace

std::uint64_t count_of(std::string_view option, std::string_view typed, std::uint64_t low, std::uint64_t high) {
  const auto count = count_text(typed);
  // Doubles count exactly up to 2^53, far above any `high`.
  if (!count || !(*count >= static_cast<double>(low) && *count <= static_cast<double>(high)) ||
      *count != std::floor(*count))
    throw wrong_value(option, typed,
                      fmt::format("a whole number from {} to {:g}, written like 250000, 1e6, 2^20, 500k or 1.5M", low,
                                  static_cast<double>(high)));
  return static_cast<std::uint64_t>(*count);
}

std::uint64_t integer_of(std::string_view option, std::string_view typed, std::uint64_t low, std::uint64_t high) {
  const auto number = whole_text<std::uint64_t>(typed);
  if (!number || *number < low || *number > high)
    throw wrong_value(option, typed, fmt::format("a whole number from {} to {}", low, high));
  return *number;
}

double ratio_of_percent(std::string_view option, std::string_view typed) {
  const auto percent =
      typed.ends_with('%') ? whole_text<double>(typed.substr(0, typed.size() - 1)) : std::optional<double>();
  if (!percent || !(*percent > 0 && *percent < 100))
    throw wrong_value(option, typed, "more than 0% and less than 100%, with the sign: 0.1%");
  return *percent / 100;
}

UsageError unknown_word(std::string_view what, std::string_view typed, std::span<const std::string_view> allowed) {
  std::string text = fmt::format("unknown {} '{}'\n  allowed: {}", what, typed, joined(allowed));
  if (const auto near = nearest_word(typed, allowed)) text += fmt::format("\n  did you mean '{}'?", *near);
  return UsageError(text);
}

}  // namespace catoptra
