#pragma once
// Rounds of a fuzzer in processes of their own, thousands in each, so that one may crash: in a library, which is
// counted, or in our code, which is a fault.
#include <array>
#include <functional>
#include <string>

namespace catoptra::fuzz {

struct Crash {
  long round = 0;
  bool in_library = false, hangs = false;
  std::string report;  // what the process printed: the stack, most of all
};

struct Rounds {
  static constexpr std::size_t most_outcomes = 16;
  std::array<long, most_outcomes> outcomes{};  // how many rounds ended with each
  long crashes = 0, hangs = 0;                 // in the library
  Crash fault;                                 // the first that is ours; none: no report
};

/// Runs rounds first … first + count - 1 up to the first fault of ours. `round` returns its outcome, a small number,
/// and throws for a fault. A crash, or more than some seconds of the processor, is the library's where the innermost
/// stack frame that belongs to neither the C library nor a sanitizer lies in a file whose name holds `library`.
/// `crashed` is called in this process after each crash of the library.
Rounds run_rounds(long first, long count, std::string_view library, const std::function<std::size_t(long)>& round,
                  const std::function<void(const Crash&)>& crashed);

}  // namespace catoptra::fuzz
