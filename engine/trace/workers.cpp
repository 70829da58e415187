#include "trace/workers.h"

#include <algorithm>
#include <atomic>
#include <exception>
#include <oneapi/tbb/global_control.h>
#include <oneapi/tbb/parallel_for.h>
#include <oneapi/tbb/task_arena.h>
#include <stdexcept>

namespace catoptra {

struct Workers::Arena {
  explicit Arena(int threads) : arena(threads) {}
  tbb::task_arena arena;
};

Workers::Workers(int count) : count_(count) {
  if (count < 0) throw std::invalid_argument("the number of workers must not be negative");
  if (count == 0) count_ = std::max(1, tbb::info::default_concurrency());
  // Nobody gets more threads than the process has: the machine's, unless somebody has set another limit.
  const auto most = tbb::global_control::active_value(tbb::global_control::max_allowed_parallelism);
  arena_ = std::make_unique<Arena>(std::min(count_, static_cast<int>(most)));
}
Workers::~Workers() = default;

void Workers::inside(const std::function<void()>& body) {
  arena_->arena.execute(body);
}

void Workers::each(std::uint64_t n, const std::function<void(std::uint64_t, int)>& body) {
  if (count_ == 1 || n == 1) {
    for (std::uint64_t i = 0; i < n; ++i) body(i, 0);
    return;
  }
  const auto all = [&] {
    tbb::parallel_for(
        std::uint64_t{0}, n, [&](std::uint64_t i) { body(i, tbb::this_task_arena::current_thread_index()); },
        tbb::simple_partitioner());
  };
  // Isolated: a thread that waits for the rest of this call takes up no piece of an outer one. That piece might be
  // long, and it would have the slot of the body that waits.
  arena_->arena.execute([&] { tbb::this_task_arena::isolate(all); });
}

void run_all(Workers& workers, const std::vector<std::function<void()>>& tasks) {
  std::vector<std::exception_ptr> faults(tasks.size());
  std::atomic<bool> failed = false;
  workers.each(tasks.size(), [&](std::uint64_t i, int) {
    if (failed) return;
    try {
      tasks[i]();
    } catch (...) {
      faults[i] = std::current_exception();
      failed = true;
    }
  });
  for (const auto& fault : faults)
    if (fault) std::rethrow_exception(fault);
}

}  // namespace catoptra
