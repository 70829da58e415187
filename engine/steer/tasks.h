#pragma once
// A handful of independent pieces of work on a handful of threads.
#include <functional>
#include <vector>

namespace catoptra {

/// Threads to use for a wish of `threads`, where 0 means all that the machine has.
int thread_count(int threads);

/// Runs all of them, on up to `threads` threads of which the caller's is one. Once all that were begun have ended,
/// throws what the first of them, by their order, threw; later ones may then not have begun.
void run_all(const std::vector<std::function<void()>>& tasks, int threads);

}  // namespace catoptra
