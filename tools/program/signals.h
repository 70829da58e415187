#pragma once
// Signals that ask a run to stop: Ctrl-C, a polite kill, a terminal or connection that is closed. Job schedulers send
// several of them, and a batch system's grace time is there to be used: none ends the program while a run stores what
// it has. Only a person's second Ctrl-C does, which comes at least a fifth of a second after the first (some tools
// send one signal twice at once: to the program and to its group).

#include "trace/stop.h"

namespace catoptra {

/// From now on these signals are noted. Until something is worth keeping, one ends the program at once, with `words`
/// (which must live on) on the standard error and the exit code `stopped`: a large scene takes minutes to make ready,
/// and asks nobody. A signal that the parent has switched off (nohup) stays off.
void watch_for_stop(const char* words);

/// There is something to keep from now on: the run asks stop_wanted() and ends by itself.
void keep_from_now_on();

/// Asked once such a signal has come.
const Stop& stop_signal();
inline bool stop_wanted() {
  return stop_signal().is_asked();
}

}  // namespace catoptra
