#include "files/provenance.h"

#include <charconv>
#include <cstdlib>
#include <ctime>
#include <fmt/chrono.h>
#include <fmt/format.h>
#include <stdexcept>
#include <string_view>

namespace catoptra {
namespace {

std::string compiler() {
#if defined(__clang__)
  return fmt::format("Clang {}.{}.{}", __clang_major__, __clang_minor__, __clang_patchlevel__);
#else
  return fmt::format("GCC {}.{}.{}", __GNUC__, __GNUC_MINOR__, __GNUC_PATCHLEVEL__);
#endif
}

std::string_view instruction_set() {
#if defined(__AVX512F__)
  return "AVX-512";
#elif defined(__AVX2__)
  return "AVX2";
#else
  return "SSE2";
#endif
}

std::time_t epoch_of(std::string_view text) {
  std::time_t seconds = 0;
  const auto [end, fault] = std::from_chars(text.data(), text.data() + text.size(), seconds);
  // 253402300799 is the last second of the year 9999, the last that ISO 8601's four digits can write.
  if (fault != std::errc{} || end != text.data() + text.size() || seconds < 0 || seconds > 253402300799)
    throw std::runtime_error(
        fmt::format("the environment's SOURCE_DATE_EPOCH is '{}'; it must be a count of seconds since 1970", text));
  return seconds;
}

}  // namespace

Provenance provenance_now(std::string command) {
  Provenance from{fmt::format("Catoptra {}", CATOPTRA_VERSION),
                  compiler(),
                  std::string(instruction_set()),
                  "",
                  std::move(command),
                  false};
  std::time_t now = std::time(nullptr);
  if (const char* epoch = std::getenv("SOURCE_DATE_EPOCH")) {
    now = epoch_of(epoch);
    from.reproducible = true;
  }
  from.created_utc = fmt::format("{:%Y-%m-%dT%H:%M:%SZ}", fmt::gmtime(now));
  return from;
}

std::string shell_line(int count, const char* const* words) {
  constexpr std::string_view plain = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_./:=,+@%^";
  std::string line;
  for (int i = 0; i < count; ++i) {
    const std::string_view word = words[i];
    if (i > 0) line += ' ';
    if (!word.empty() && word.find_first_not_of(plain) == word.npos) {
      line += word;
      continue;
    }
    line += '\'';
    for (const char c : word) line += c == '\'' ? std::string("'\\''") : std::string(1, c);
    line += '\'';
  }
  return line;
}

}  // namespace catoptra
