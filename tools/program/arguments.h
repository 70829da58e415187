#pragma once
// What a person typed on the command line, read strictly.
#include <cstdint>
#include <span>
#include <stdexcept>
#include <string>
#include <string_view>
#include <utility>

#include "sun/day.h"
#include "trace/tally/counts.h"

namespace CLI {
class App;
}

namespace catoptra {

/// An option that is kept as typed, with the hint that --help shows in place of a type.
void add_text_option(CLI::App& command, const std::string& name, std::string& value, const std::string& hint,
                     const std::string& meaning);

/// The command line is at fault: exit code 2. The message is whole, of several lines.
struct UsageError : std::runtime_error {
  using std::runtime_error::runtime_error;
};

/// A whole number within `low` and `high`; reads 250000, 1e6, 2^20, 500k, 1.5M. Throws UsageError naming `option`.
std::uint64_t count_of(std::string_view option, std::string_view typed, std::uint64_t low, std::uint64_t high);

/// A plain whole number, digits only. Throws UsageError naming `option`.
std::uint64_t integer_of(std::string_view option, std::string_view typed, std::uint64_t low, std::uint64_t high);

/// --threads and --replicates, which every verb that traces has. Throw UsageError.
int threads_of(std::string_view typed);
int replicates_of(std::string_view typed);

/// "0.1%" as 0.001; more than 0 %, less than 100 %. Throws UsageError naming `option`.
double ratio_of_percent(std::string_view option, std::string_view typed);

/// "10min", "1h", "90s" in seconds, within `low` and `high`. Throws UsageError naming `option`.
double duration_s_of(std::string_view option, std::string_view typed, double low_s, double high_s);

/// A number with one of these units behind it ("3mm" with {"mm", 1e-3}), in SI, within `low` and `high`. Where one unit
/// ends as another does, the longer stands first. Throws UsageError naming `option`, with the words of `allowed`.
double quantity_of(std::string_view option, std::string_view typed,
                   std::span<const std::pair<std::string_view, double>> units, double low, double high,
                   std::string_view allowed);

/// "2026-06-21", a date that the calendar has, from 1950 to 2050. Throws UsageError naming `option`.
CivilDay day_of(std::string_view option, std::string_view typed);

/// "+01:00" in minutes. Throws UsageError naming `option`.
int utc_offset_of(std::string_view option, std::string_view typed);

/// The place of a word in a list. Throws UsageError naming `option`, the list and the nearest word.
std::size_t word_of(std::string_view option, std::string_view typed, std::span<const std::string_view> allowed);

/// "unknown verb 'trase'", what is allowed and the nearest right word, if any is near.
UsageError unknown_word(std::string_view what, std::string_view typed, std::span<const std::string_view> allowed);

}  // namespace catoptra
