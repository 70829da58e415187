#include "signals.h"

#include <csignal>

namespace catoptra {
namespace {

volatile std::sig_atomic_t wanted = 0;

void note(int) {
  wanted = 1;
}

}  // namespace

void watch_for_stop() {
  struct sigaction action = {};
  action.sa_handler = note;
  action.sa_flags = SA_RESETHAND | SA_RESTART;  // the next signal does what it does without us
  sigaction(SIGINT, &action, nullptr);
  sigaction(SIGTERM, &action, nullptr);
}

bool stop_wanted() {
  return wanted != 0;
}

}  // namespace catoptra
