#pragma once
// All that the program prints. A terminal that is closed, a reader that left or a full disk must not end a run: nothing
// here throws; a stream that took no more once is left alone, and the exit code says so.
#include <fmt/format.h>
#include <string>
#include <string_view>
#include <utility>

namespace catoptra {

/// First of all in main(): a standard stream that came closed gets a place holder, so that no file of ours becomes one,
/// and a pipe without a reader or a file at the limit of its size fails in the call that meets it, without a signal.
void prepare_streams();

/// Text with its control characters written as \u001b and bytes that are no UTF-8 as \x9b, so that a name in a scene
/// can't steer a terminal; line ends and tabs stay. In JSON the former read back as what they were.
std::string printable(std::string_view text);

/// Prints to the standard output, or to the standard error, as `printable` has it.
void print_out(std::string_view text) noexcept;
void print_err(std::string_view text) noexcept;
/// To the standard error as it is: for bars and colours of our own.
void draw_err(std::string_view text) noexcept;

/// Whether a standard stream has failed to take what was printed to it.
bool out_is_lost() noexcept;
bool err_is_lost() noexcept;

template <class... Values>
void say(fmt::format_string<Values...> words, Values&&... values) {
  print_out(fmt::format(words, std::forward<Values>(values)...));
}
template <class... Values>
void tell(fmt::format_string<Values...> words, Values&&... values) {
  print_err(fmt::format(words, std::forward<Values>(values)...));
}

}  // namespace catoptra
