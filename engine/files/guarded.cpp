#include "files/guarded.h"

#include <array>
#include <cerrno>
#include <csignal>
#include <cstring>
#include <exception>
#include <fcntl.h>
#include <fmt/format.h>
#include <fstream>
#include <new>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

namespace catoptra {
namespace {

#if defined(__SANITIZE_ADDRESS__)
constexpr bool limits_memory = false;  // the sanitizer's shadow takes terabytes of addresses
#elif defined(__has_feature)
#if __has_feature(address_sanitizer)
constexpr bool limits_memory = false;
#else
constexpr bool limits_memory = true;
#endif
#else
constexpr bool limits_memory = true;
#endif

void limit(unsigned seconds, std::size_t most_B) {
  if (const int nowhere = ::open("/dev/null", O_WRONLY | O_CLOEXEC); nowhere >= 0) ::dup2(nowhere, STDERR_FILENO);
  for (const int signal : {SIGSEGV, SIGABRT, SIGBUS, SIGFPE, SIGXCPU}) ::signal(signal, SIG_DFL);
  const rlimit time{seconds, seconds + 1}, no_core{0, 0};
  ::setrlimit(RLIMIT_CPU, &time);
  ::setrlimit(RLIMIT_CORE, &no_core);
  std::size_t pages = 0;  // of address space in use: the first number of proc(5)'s statm
  if (!limits_memory || !(std::ifstream("/proc/self/statm") >> pages)) return;
  const rlim_t memory_B = pages * static_cast<std::size_t>(::sysconf(_SC_PAGESIZE)) + most_B;
  const rlimit memory{memory_B, memory_B};
  ::setrlimit(RLIMIT_AS, &memory);
}

/// In the child: never returns.
[[noreturn]] void run(const std::function<void()>& work, int out) {
  const auto tell = [out](const char* words) {
    if (::write(out, words, std::strlen(words)) < 0) ::_exit(2);
    ::_exit(1);
  };
  try {
    work();
  } catch (const std::bad_alloc&) {
    tell("it needs more memory than such a file can hold");
  } catch (const std::exception& fault) {
    tell(fault.what());
  }
  ::_exit(0);
}

}  // namespace

Trial tried_apart(const std::function<void()>& work, unsigned seconds, std::size_t most_B) {
  std::array<int, 2> ends{};
  if (::pipe2(ends.data(), O_CLOEXEC) != 0) return {};
  const pid_t child = ::fork();
  if (child == 0) {
    limit(seconds, most_B);
    run(work, ends[1]);
  }
  ::close(ends[1]);
  Trial out;
  if (child > 0) {
    std::array<char, 4096> piece{};
    ssize_t count = 0;
    while ((count = ::read(ends[0], piece.data(), piece.size())) > 0 || (count < 0 && errno == EINTR))
      if (count > 0) out.thrown.append(piece.data(), static_cast<std::size_t>(count));
    int status = 0;
    while (::waitpid(child, &status, 0) < 0 && errno == EINTR) {
    }
    if (WIFSIGNALED(status)) {
      const int signal = WTERMSIG(status);
      out.crash = signal == SIGXCPU || signal == SIGKILL ? fmt::format("it does not end within {} s", seconds)
                                                         : fmt::format("it ends in: {}", ::strsignal(signal));
    } else if (WEXITSTATUS(status) > 1 || (WEXITSTATUS(status) == 1 && out.thrown.empty())) {
      // An exception has sent its words. An exit code of 1 without words comes from something else, such as a
      // sanitizer.
      out.crash = "it ends in a fault";
    }
  }
  ::close(ends[0]);
  return out;
}

}  // namespace catoptra
