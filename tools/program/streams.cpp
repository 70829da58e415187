#include "streams.h"

#include <atomic>
#include <cerrno>
#include <csignal>
#include <cstdint>
#include <fcntl.h>
#include <poll.h>
#include <unistd.h>

namespace catoptra {
namespace {

std::atomic<bool> lost[3];  // by descriptor

void write_all(int descriptor, std::string_view text) noexcept {
  while (!text.empty() && !lost[descriptor]) {
    const ssize_t written = ::write(descriptor, text.data(), text.size());
    if (written >= 0) {
      text.remove_prefix(static_cast<std::size_t>(written));
    } else if (errno == EAGAIN || errno == EWOULDBLOCK) {  // somebody made the terminal non-blocking
      pollfd ready{descriptor, POLLOUT, 0};
      ::poll(&ready, 1, -1);
    } else if (errno != EINTR) {
      lost[descriptor] = true;
    }
  }
}

void print(int descriptor, std::string_view text) noexcept {
  if (lost[descriptor]) return;
  try {
    write_all(descriptor, printable(text));
  } catch (...) {  // no memory for the copy
    lost[descriptor] = true;
  }
}

/// Bytes of the UTF-8 character at the front of `text`, 0 where there is none (RFC 3629, section 4).
std::size_t utf8_size(std::string_view text) {
  const auto byte = [&](std::size_t i) { return static_cast<std::uint8_t>(text[i]); };
  const std::uint8_t first = byte(0);
  if (first < 0x80) return 1;
  const std::size_t size = first >= 0xC2 && first < 0xE0 ? 2 : first >= 0xE0 && first < 0xF0 ? 3 : first < 0xF5 ? 4 : 0;
  if (first < 0xC2 || size == 0 || text.size() < size) return 0;
  for (std::size_t i = 1; i < size; ++i)
    if ((byte(i) & 0xC0) != 0x80) return 0;
  const std::uint8_t second = byte(1);
  const bool too_long = (first == 0xE0 && second < 0xA0) || (first == 0xF0 && second < 0x90);
  const bool no_character = (first == 0xED && second > 0x9F) || (first == 0xF4 && second > 0x8F);
  return too_long || no_character ? 0 : size;
}

}  // namespace

void prepare_streams() {
  for (int descriptor = STDIN_FILENO; descriptor <= STDERR_FILENO; ++descriptor)
    if (::fcntl(descriptor, F_GETFD) < 0) ::open("/dev/null", O_RDONLY);  // takes the lowest number; writing fails
  std::signal(SIGPIPE, SIG_IGN);
  std::signal(SIGXFSZ, SIG_IGN);
}

std::string printable(std::string_view text) {
  std::string out;
  out.reserve(text.size());
  while (!text.empty()) {
    const std::size_t size = utf8_size(text);
    const auto first = static_cast<std::uint8_t>(text[0]);
    if (size == 0) {
      out += fmt::format("\\x{:02x}", first);
    } else if (size == 1 && (first < 0x20 || first == 0x7F) && first != '\n' && first != '\t') {
      out += fmt::format("\\u{:04x}", first);
    } else if (size == 2 && first == 0xC2 && static_cast<std::uint8_t>(text[1]) < 0xA0) {  // C1: U+0080 to U+009F
      out += fmt::format("\\u{:04x}", static_cast<std::uint8_t>(text[1]));
    } else {
      out.append(text.substr(0, size));
    }
    text.remove_prefix(size == 0 ? 1 : size);
  }
  return out;
}

void print_out(std::string_view text) noexcept {
  print(STDOUT_FILENO, text);
}
void print_err(std::string_view text) noexcept {
  print(STDERR_FILENO, text);
}
void draw_err(std::string_view text) noexcept {
  write_all(STDERR_FILENO, text);
}
bool out_is_lost() noexcept {
  return lost[STDOUT_FILENO];
}
bool err_is_lost() noexcept {
  return lost[STDERR_FILENO];
}

}  // namespace catoptra
