#include "arguments.h"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <fmt/format.h>
#include <optional>
#include <utility>

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

int threads_of(std::string_view typed) {
  return static_cast<int>(integer_of("--threads", typed, 1, 4096));
}

int replicates_of(std::string_view typed) {
  return static_cast<int>(integer_of("--replicates", typed, 2, 4096));
}

void add_text_option(CLI::App& command, const std::string& name, std::string& value, const std::string& hint,
                     const std::string& meaning) {
  command.add_option(name, value, meaning)->option_text(hint);
}

double ratio_of_percent(std::string_view option, std::string_view typed) {
  const auto percent =
      typed.ends_with('%') ? whole_text<double>(typed.substr(0, typed.size() - 1)) : std::optional<double>();
  if (!percent || !(*percent > 0 && *percent < 100))
    throw wrong_value(option, typed, "more than 0% and less than 100%, with the sign: 0.1%");
  return *percent / 100;
}

double quantity_of(std::string_view option, std::string_view typed,
                   std::span<const std::pair<std::string_view, double>> units, double low, double high,
                   std::string_view allowed) {
  for (const auto& [ending, unit] : units) {
    if (!typed.ends_with(ending)) continue;
    const auto number = whole_text<double>(typed.substr(0, typed.size() - ending.size()));
    if (number && *number * unit >= low && *number * unit <= high) return *number * unit;
    break;
  }
  throw wrong_value(option, typed, std::string(allowed));
}

double duration_s_of(std::string_view option, std::string_view typed, double low_s, double high_s) {
  static constexpr std::array<std::pair<std::string_view, double>, 3> units{{{"min", 60}, {"h", 3600}, {"s", 1}}};
  return quantity_of(
      option, typed, units, low_s, high_s,
      fmt::format("a number with its unit, s, min or h, from {:g} s to {:g} h: 10min", low_s, high_s / 3600));
}

CivilDay day_of(std::string_view option, std::string_view typed) {
  const std::string allowed = "a date from 1950-01-01 to 2050-12-31, as 2026-06-21";
  const auto part = [&](std::size_t begin, std::size_t size) -> std::optional<int> {
    const auto text = typed.substr(begin, size);
    if (text.find_first_not_of("0123456789") != text.npos) return std::nullopt;
    return whole_text<int>(text);
  };
  if (typed.size() != 10 || typed[4] != '-' || typed[7] != '-') throw wrong_value(option, typed, allowed);
  const auto year = part(0, 4), month = part(5, 2), day = part(8, 2);
  if (!year || !month || !day) throw wrong_value(option, typed, allowed);
  const CivilDay out{*year, *month, *day, 0};
  try {
    instant(out, 0);
  } catch (const std::invalid_argument& fault) {
    throw UsageError(fmt::format("{} is '{}': {}\n  allowed: {}", option, typed, fault.what(), allowed));
  }
  return out;
}

int utc_offset_of(std::string_view option, std::string_view typed) {
  const auto sign = typed.substr(0, 1);
  if (typed.size() == 6 && (sign == "+" || sign == "-") && typed[3] == ':' &&
      typed.find_first_not_of("0123456789:", 1) == typed.npos) {
    const auto hours = whole_text<int>(typed.substr(1, 2)), minutes = whole_text<int>(typed.substr(4, 2));
    if (hours && minutes && *hours <= 14 && *minutes < 60) return (sign == "-" ? -1 : 1) * (60 * *hours + *minutes);
  }
  throw wrong_value(option, typed, "hours and minutes ahead of UTC from -14:59 to +14:59, as +01:00");
}

std::size_t word_of(std::string_view option, std::string_view typed, std::span<const std::string_view> allowed) {
  const auto at = std::ranges::find(allowed, typed);
  if (at == allowed.end()) throw unknown_word(fmt::format("word for {}", option), typed, allowed);
  return static_cast<std::size_t>(at - allowed.begin());
}

UsageError unknown_word(std::string_view what, std::string_view typed, std::span<const std::string_view> allowed) {
  std::string text = fmt::format("unknown {} '{}'\n  allowed: {}", what, typed, joined(allowed));
  if (const auto near = nearest_word(typed, allowed)) text += fmt::format("\n  did you mean '{}'?", *near);
  return UsageError(text);
}

}  // namespace catoptra
