#pragma once
// Ctrl-C and a polite kill ask a run to stop; the second one ends it at once.

namespace catoptra {

void watch_for_stop();
bool stop_wanted();

}  // namespace catoptra
