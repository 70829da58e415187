#include "streams.h"

#include <atomic>
#include <cerrno>
#include <csignal>
#include <fcntl.h>
#include <poll.h>
#include <unistd.h>

#include "scene/plain_text.h"

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
  for (std::size_t at = 0; at < text.size();) {
    const auto [length, code] = character_at(text, at);
    if (length == 0) {
      out += fmt::format("\\x{:02x}", static_cast<unsigned>(code));
    } else if (is_control(code) && code != '\n' && code != '\t') {
      out += fmt::format("\\u{:04x}", static_cast<unsigned>(code));
    } else {
      out.append(text.substr(at, length));
    }
    at += length == 0 ? 1 : length;
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
