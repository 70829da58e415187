#include "figures.h"

#include <array>
#include <cerrno>
#include <charconv>
#include <csignal>
#include <fcntl.h>
#include <fmt/format.h>
#include <spawn.h>
#include <stdexcept>
#include <string_view>
#include <sys/wait.h>
#include <system_error>
#include <unistd.h>

#include "pictures/figure_data.h"

extern "C" const char catoptra_figures_begin[], catoptra_figures_end[];
extern char** environ;

namespace catoptra {
namespace {

constexpr const char* python = "/usr/bin/python3";  // Debian's own, which Debian's matplotlib is for

class Pipe {
 public:
  Pipe() {
    if (::pipe2(ends_.data(), O_CLOEXEC) != 0)
      throw std::system_error(errno, std::generic_category(), "can't make a pipe");
  }
  Pipe(const Pipe&) = delete;
  Pipe& operator=(const Pipe&) = delete;
  ~Pipe() {
    close(0);
    close(1);
  }
  int end(std::size_t i) const { return ends_[i]; }  // 0: to read, 1: to write
  void close(std::size_t i) {
    if (ends_[i] >= 0) ::close(ends_[i]);
    ends_[i] = -1;
  }

 private:
  std::array<int, 2> ends_{-1, -1};
};

pid_t start(std::string script, const Pipe& in, const Pipe& out) {
  posix_spawn_file_actions_t actions;
  posix_spawn_file_actions_init(&actions);
  posix_spawn_file_actions_adddup2(&actions, in.end(0), STDIN_FILENO);
  posix_spawn_file_actions_adddup2(&actions, out.end(1), STDOUT_FILENO);
  posix_spawnattr_t attributes;
  posix_spawnattr_init(&attributes);
  sigset_t ours;  // what prepare_streams() switched off is not Python's affair
  sigemptyset(&ours);
  sigaddset(&ours, SIGPIPE);
  sigaddset(&ours, SIGXFSZ);
  posix_spawnattr_setsigdefault(&attributes, &ours);
  posix_spawnattr_setflags(&attributes, POSIX_SPAWN_SETSIGDEF);
  std::string name = python, no_bytecode = "-B", as_text = "-c";
  std::array<char*, 5> words{name.data(), no_bytecode.data(), as_text.data(), script.data(), nullptr};
  pid_t child = 0;
  const int fault = posix_spawn(&child, python, &actions, &attributes, words.data(), environ);
  posix_spawnattr_destroy(&attributes);
  posix_spawn_file_actions_destroy(&actions);
  if (fault != 0)
    throw std::runtime_error(fmt::format("figures need {}: {}\n  on Debian: apt install python3-matplotlib", python,
                                         std::generic_category().message(fault)));
  return child;
}

struct Ran {
  bool well = false;
  std::string output;
};

/// Runs the script, which reads all of `input` before it writes.
Ran run_script(const std::string& script, std::string_view input) {
  Pipe in, out;
  const pid_t child = start(script, in, out);
  in.close(0);
  out.close(1);
  while (!input.empty()) {
    const ssize_t n = ::write(in.end(1), input.data(), input.size());
    if (n < 0 && errno != EINTR) break;  // a script that has given up shows by its exit code
    if (n > 0) input.remove_prefix(static_cast<std::size_t>(n));
  }
  in.close(1);
  Ran ran;
  std::array<char, 1 << 16> block{};
  for (;;) {
    const ssize_t n = ::read(out.end(0), block.data(), block.size());
    if (n == 0 || (n < 0 && errno != EINTR)) break;
    if (n > 0) ran.output.append(block.data(), static_cast<std::size_t>(n));
  }
  int status = 0;
  while (::waitpid(child, &status, 0) < 0 && errno == EINTR) {
  }
  ran.well = WIFEXITED(status) && WEXITSTATUS(status) == 0;
  return ran;
}

}  // namespace

std::optional<std::vector<Figure>> draw_figures(const StoredFile& file, const std::string& format) {
  const Ran ran = run_script({catoptra_figures_begin, catoptra_figures_end}, figures_json(file, format));
  if (!ran.well) return std::nullopt;
  std::vector<Figure> figures;
  std::string_view rest = ran.output;
  while (!rest.empty()) {
    const auto blank = rest.find(' '), line_end = rest.find('\n');
    std::size_t size = 0;
    if (blank == rest.npos || line_end == rest.npos || blank > line_end ||
        std::from_chars(rest.data(), rest.data() + blank, size).ptr != rest.data() + blank ||
        size > rest.size() - line_end - 1)
      throw std::runtime_error("the script that draws figures broke off");
    figures.push_back(
        {std::string(rest.substr(blank + 1, line_end - blank - 1)), std::string(rest.substr(line_end + 1, size))});
    rest.remove_prefix(line_end + 1 + size);
  }
  return figures;
}

}  // namespace catoptra
