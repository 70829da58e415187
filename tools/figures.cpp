#include "figures.h"

#include <array>
#include <cerrno>
#include <csignal>
#include <cstdio>
#include <fmt/format.h>
#include <spawn.h>
#include <stdexcept>
#include <sys/wait.h>
#include <system_error>
#include <unistd.h>

#include "results/figure_data.h"

extern "C" const char catoptra_figures_begin[], catoptra_figures_end[];
extern char** environ;

namespace catoptra {
namespace {

constexpr const char* python = "/usr/bin/python3";  // Debian's own, which Debian's matplotlib is for

/// Runs the script with `input` on its standard input; its other streams are ours. Returns its exit code.
int run_script(std::string script, const std::string& input) {
  std::array<int, 2> pipe_ends{};
  if (pipe(pipe_ends.data()) != 0) throw std::system_error(errno, std::generic_category(), "can't make a pipe");
  posix_spawn_file_actions_t actions;
  posix_spawn_file_actions_init(&actions);
  posix_spawn_file_actions_adddup2(&actions, pipe_ends[0], STDIN_FILENO);
  posix_spawn_file_actions_addclose(&actions, pipe_ends[0]);
  posix_spawn_file_actions_addclose(&actions, pipe_ends[1]);
  std::string name = python, no_bytecode = "-B", as_text = "-c";
  std::array<char*, 5> words{name.data(), no_bytecode.data(), as_text.data(), script.data(), nullptr};
  pid_t child = 0;
  const int fault = posix_spawn(&child, python, &actions, nullptr, words.data(), environ);
  posix_spawn_file_actions_destroy(&actions);
  close(pipe_ends[0]);
  if (fault != 0) {
    close(pipe_ends[1]);
    throw std::runtime_error(fmt::format("figures need {}: {}\n  on Debian: apt install python3-matplotlib", python,
                                         std::generic_category().message(fault)));
  }
  const auto before = std::signal(SIGPIPE, SIG_IGN);  // a script that has given up shows by its exit code
  for (std::size_t sent = 0; sent < input.size();) {
    const ssize_t n = write(pipe_ends[1], input.data() + sent, input.size() - sent);
    if (n < 0 && errno != EINTR) break;
    if (n > 0) sent += static_cast<std::size_t>(n);
  }
  close(pipe_ends[1]);
  std::signal(SIGPIPE, before);
  int status = 0;
  while (waitpid(child, &status, 0) < 0 && errno == EINTR) {
  }
  return WIFEXITED(status) ? WEXITSTATUS(status) : 1;
}

}  // namespace

bool draw_figures(const StoredFile& file, const std::filesystem::path& stem, const std::string& format) {
  std::fflush(stdout);
  return run_script({catoptra_figures_begin, catoptra_figures_end}, figures_json(file, stem.string(), format)) == 0;
}

}  // namespace catoptra
