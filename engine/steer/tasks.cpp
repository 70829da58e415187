#include "steer/tasks.h"

#include <algorithm>
#include <atomic>
#include <exception>
#include <thread>

namespace catoptra {

int thread_count(int threads) {
  return threads > 0 ? threads : std::max(1, static_cast<int>(std::thread::hardware_concurrency()));
}

void run_all(const std::vector<std::function<void()>>& tasks, int threads) {
  std::vector<std::exception_ptr> faults(tasks.size());
  std::atomic<std::size_t> next = 0;
  std::atomic<bool> failed = false;
  const auto work = [&] {
    for (std::size_t i = next++; i < tasks.size() && !failed; i = next++) {
      try {
        tasks[i]();
      } catch (...) {
        faults[i] = std::current_exception();
        failed = true;
      }
    }
  };
  {
    std::vector<std::jthread> helpers;
    const auto wanted = std::min(tasks.size(), static_cast<std::size_t>(std::max(1, threads)));
    for (std::size_t i = 1; i < wanted; ++i) helpers.emplace_back(work);
    work();
  }
  for (const auto& fault : faults)
    if (fault) std::rethrow_exception(fault);
}

}  // namespace catoptra
