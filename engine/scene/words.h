#pragma once
// Words for messages: lists, quotes, and the nearest right word.
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "numeric/field.h"

namespace catoptra {

/// "a, b, c"; of very many the first, and how many more there are.
std::string joined(std::span<const std::string_view> words);

/// The word that `typed` was probably meant to be: least edit distance, where a swap of neighbours counts as one; a
/// word that differs from `typed` only by its unit is always near, and so is one that the trade uses for the same
/// thing. None where all are far.
std::optional<std::string_view> nearest_word(std::string_view typed, std::span<const std::string_view> words);

/// What follows a wrong word: "allowed: ..." and, where one is near, "did you mean '...'?".
std::vector<std::string> word_notes(std::string_view typed, std::span<const std::string_view> words);

/// A user's own word as a message can show it: its first 60 characters where it is long.
std::string shortened(std::string_view word);

/// "from 0 to 100", "more than 0", "not 0"; empty where any number will do.
std::string range_text(const Range& range);

/// A number as a person writes it: up to 12 digits, none of them idle.
std::string number_text(double x);

}  // namespace catoptra
