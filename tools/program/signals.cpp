#include "signals.h"

#include <atomic>
#include <cerrno>
#include <csignal>
#include <cstring>
#include <ctime>
#include <unistd.h>

#include "verb.h"

namespace catoptra {
namespace {

// A handler may touch these alone (C++20, [support.signal]).
static_assert(std::atomic<long>::is_always_lock_free && std::atomic<const char*>::is_always_lock_free);
Stop wanted;
std::atomic<const char*> words_if_empty = nullptr;  // null: there is something to keep
std::atomic<long> interrupted_ms = 0;               // when the first Ctrl-C came; 0: never

void note(int signal) {
  const int before = errno;
  wanted.ask();
  if (const char* words = words_if_empty) {
    // Nobody could be told that this write failed.
    [[maybe_unused]] const auto written = ::write(STDERR_FILENO, words, std::strlen(words));
    ::_exit(stopped);
  }
  if (signal == SIGINT) {
    constexpr long one_press_ms = 200;
    timespec time{};
    ::clock_gettime(CLOCK_MONOTONIC, &time);
    const long now_ms = time.tv_sec * 1000 + time.tv_nsec / 1'000'000 + 1;
    long none = 0;
    if (!interrupted_ms.compare_exchange_strong(none, now_ms) && now_ms - none > one_press_ms) {
      std::signal(SIGINT, SIG_DFL);
      ::raise(SIGINT);  // delivered when this handler returns
    }
  }
  errno = before;
}

}  // namespace

void watch_for_stop(const char* words) {
  words_if_empty = words;
  for (const int signal : {SIGINT, SIGTERM, SIGHUP}) {
    struct sigaction now = {};
    sigaction(signal, nullptr, &now);
    if (now.sa_handler == SIG_IGN) continue;
    now = {};
    now.sa_handler = note;
    now.sa_flags = SA_RESTART;
    sigaction(signal, &now, nullptr);
  }
}

void keep_from_now_on() {
  words_if_empty = nullptr;
}

const Stop& stop_signal() {
  return wanted;
}

}  // namespace catoptra
