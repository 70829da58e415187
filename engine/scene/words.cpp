#include "scene/words.h"

#include <algorithm>
#include <array>
#include <fmt/format.h>
#include <limits>

namespace catoptra {
namespace {

/// Optimal string alignment distance: insert, delete, replace, swap neighbours.
std::size_t edit_distance(std::string_view a, std::string_view b) {
  std::vector<std::size_t> before, above(b.size() + 1), row(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j) above[j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    row[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t replace = above[j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
      row[j] = std::min({above[j] + 1, row[j - 1] + 1, replace});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) row[j] = std::min(row[j], before[j - 2] + 1);
    }
    before = above;
    above = row;
  }
  return above[b.size()];
}

std::string_view without_unit(std::string_view key) {
  // The endings that people try, right or wrong.
  static constexpr std::array<std::string_view, 18> endings{"_W_m2", "_kW_m2", "_mrad", "_rad",  "_deg",   "_degrees",
                                                            "_m",    "_mm",    "_cm",   "_km",   "_meter", "_metres",
                                                            "_hPa",  "_mbar",  "_Pa",   "_degC", "_C",     "_K"};
  for (const auto ending : endings) {
    if (key.size() > ending.size() && key.ends_with(ending)) return key.substr(0, key.size() - ending.size());
  }
  return key;
}

std::string lower(std::string_view word) {
  std::string out(word);
  for (char& c : out) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    if (c == '-') c = '_';
  }
  return out;
}

}  // namespace

std::string joined(std::span<const std::string_view> words) {
  return fmt::format("{}", fmt::join(words, ", "));
}

std::optional<std::string_view> nearest_word(std::string_view typed, std::span<const std::string_view> words) {
  if (typed.size() > 64) return std::nullopt;
  std::optional<std::string_view> best;
  std::size_t least = std::numeric_limits<std::size_t>::max();
  for (const auto word : words) {
    if (word.size() > 64) continue;
    std::size_t distance = edit_distance(lower(typed), lower(word));
    // A third of the word may be wrong before it is another word.
    const bool near = distance <= std::max<std::size_t>(1, std::max(typed.size(), word.size()) / 3);
    const bool same_stem = lower(without_unit(typed)) == lower(without_unit(word));
    if (same_stem) distance = 0;
    if ((near || same_stem) && distance < least) {
      least = distance;
      best = word;
    }
  }
  return best;
}

std::string number_text(double x) {
  return fmt::format("{:.12g}", x);
}

std::string range_text(const Range& range) {
  constexpr double unbounded = std::numeric_limits<double>::infinity();
  std::string out;
  if (range.low > -unbounded && range.high < unbounded) {
    out = fmt::format("{} {} {} {}", range.low_open ? "more than" : "from", number_text(range.low),
                      range.high_open ? "to less than" : "to", number_text(range.high));
  } else if (range.low > -unbounded) {
    out = range.low_open ? "more than " + number_text(range.low) : number_text(range.low) + " or more";
  } else if (range.high < unbounded) {
    out = range.high_open ? "less than " + number_text(range.high) : number_text(range.high) + " or less";
  }
  if (range.zero_excluded) out += out.empty() ? "not 0" : ", not 0";
  return out;
}

}  // namespace catoptra
