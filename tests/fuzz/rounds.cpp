#include "rounds.h"

#include <algorithm>
#include <array>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <exception>
#include <execinfo.h>
#include <new>
#include <sstream>
#include <stdexcept>
#include <string_view>
#include <sys/mman.h>
#include <sys/resource.h>
#include <sys/time.h>
#include <sys/wait.h>
#include <unistd.h>

// Crashes of the library are many: their stacks are printed here, without the seconds that a sanitizer takes to look up
// names. A sanitizer's own findings it prints itself. It must let huge requests fail as the C library does.
extern "C" const char* __asan_default_options() {
  return "handle_segv=0:handle_sigbus=0:handle_sigfpe=0:handle_abort=0:detect_leaks=0:allocator_may_return_null=1:"
         "max_allocation_size_mb=2000";
}
extern "C" const char* __ubsan_default_options() {
  return "print_stacktrace=1";
}

namespace catoptra::fuzz {
namespace {

constexpr long rounds_a_process = 4000;
constexpr long seconds_a_round = 5;  // of the processor
constexpr int fault_code = 3;

/// What parent and child both see.
struct Shared {
  long round;
  bool hangs;
  std::array<long, Rounds::most_outcomes> outcomes;
};
Shared* shared = nullptr;

extern "C" void print_stack(int signal) {
  shared->hangs = signal == SIGPROF;
  std::array<void*, 200> frames{};
  const int count = ::backtrace(frames.data(), static_cast<int>(frames.size()));
  const std::string_view title = "stack of a signal\n";
  if (::write(STDERR_FILENO, title.data(), title.size()) < 0) ::_exit(2);
  ::backtrace_symbols_fd(frames.data(), count, STDERR_FILENO);
  ::_exit(2);
}

void catch_signals() {
  static std::array<char, 1 << 16> stack;  // a stack that has overflowed can't print itself
  stack_t other{};
  other.ss_sp = stack.data();
  other.ss_size = stack.size();
  ::sigaltstack(&other, nullptr);
  struct sigaction action {};
  action.sa_handler = print_stack;
  action.sa_flags = SA_ONSTACK;
  for (const int signal : {SIGSEGV, SIGBUS, SIGFPE, SIGABRT, SIGILL, SIGPROF}) ::sigaction(signal, &action, nullptr);
}

[[noreturn]] void run_child(long end, const std::function<std::size_t(long)>& round) {
  catch_signals();
  const rlimit no_core{0, 0};
  ::setrlimit(RLIMIT_CORE, &no_core);
  try {
    for (; shared->round < end; ++shared->round) {
      const itimerval limit{{0, 0}, {seconds_a_round, 0}};
      ::setitimer(ITIMER_PROF, &limit, nullptr);
      ++shared->outcomes.at(round(shared->round));
    }
  } catch (const std::bad_alloc&) {
    std::fputs("more memory than there may be\n", stderr);
    ::_exit(fault_code);
  } catch (const std::exception& fault) {
    std::fprintf(stderr, "%s\n", fault.what());
    ::_exit(fault_code);
  }
  ::_exit(0);
}

/// Whether the innermost frame that is neither the C library's nor a sanitizer's is the library's, or the heap is found
/// damaged. Our own functions
/// have no names in a stack that print_stack made, since a program does not export them; what has one there is the
/// sanitizer's.
bool is_in_library(const std::string& report, std::string_view library) {
  std::istringstream lines(report);
  std::string line;
  bool ours_may_come = true, of_any_signal = false;
  while (std::getline(lines, line)) {
    const auto holds = [&](std::string_view word) { return line.find(word) != std::string::npos; };
    if (holds("stack of a signal")) {
      ours_may_come = false;  // print_stack itself comes first
      of_any_signal = true;
      continue;
    }
    const bool of_sanitizer = line.find("    #") != std::string::npos, of_signal = holds(") [0x") || holds(")[0x");
    if (!of_sanitizer && !of_signal) continue;
    if (holds("libc.so") || holds("libstdc++") || holds("libgcc") || holds("libm.so")) {
      // The heap was damaged before, by what wrote beyond its own: a sanitizer would tell who.
      if (of_signal &&
          (holds("(malloc+") || holds("(calloc+") || holds("(realloc+") || holds("(free+") || holds("(cfree+")))
        return true;
      ours_may_come = true;
      continue;
    }
    if (holds(library)) return true;
    if (of_sanitizer ? holds("__asan") || holds("__interceptor") || holds("__sanitizer") || holds("compiler-rt") ||
                           holds("asan_") || holds("sanitizer_")
                     : !holds("(+0x"))
      continue;
    if (ours_may_come) return false;
  }
  return of_any_signal;  // a stack that was overwritten names nobody
}

std::string text_of(std::FILE* file) {
  std::string out;
  std::rewind(file);
  std::array<char, 4096> piece{};
  while (const std::size_t count = std::fread(piece.data(), 1, piece.size(), file)) out.append(piece.data(), count);
  return out;
}

}  // namespace

Rounds run_rounds(long first, long count, std::string_view library, const std::function<std::size_t(long)>& round,
                  const std::function<void(const Crash&)>& crashed) {
  void* const room = ::mmap(nullptr, sizeof(Shared), PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
  if (room == MAP_FAILED) throw std::runtime_error("no shared memory");
  shared = new (room) Shared{first, false, {}};
  std::array<void*, 4> frames{};
  ::backtrace(frames.data(), static_cast<int>(frames.size()));  // the first call loads a library
  Rounds out;
  const long end = first + count;
  while (shared->round < end && out.fault.report.empty()) {
    std::FILE* const printed = std::tmpfile();
    if (printed == nullptr) throw std::runtime_error("no temporary file");
    std::fflush(nullptr);
    const pid_t child = ::fork();
    if (child < 0) throw std::runtime_error("no process");
    if (child == 0) {
      ::dup2(::fileno(printed), STDERR_FILENO);
      run_child(std::min(end, shared->round + rounds_a_process), round);
    }
    int status = 0;
    ::waitpid(child, &status, 0);
    if (!WIFEXITED(status) || WEXITSTATUS(status) != 0) {
      Crash crash{shared->round, false, shared->hangs, text_of(printed)};
      const bool said = WIFEXITED(status) && WEXITSTATUS(status) == fault_code;
      crash.in_library = !said && is_in_library(crash.report, library);
      if (crash.report.empty()) crash.report = "it ends without a word\n";
      if (crash.in_library) {
        ++(crash.hangs ? out.hangs : out.crashes);
        crashed(crash);
      } else {
        out.fault = crash;
      }
      ++shared->round;
      shared->hangs = false;
    }
    std::fclose(printed);
  }
  out.outcomes = shared->outcomes;
  ::munmap(room, sizeof(Shared));
  return out;
}

}  // namespace catoptra::fuzz
