#pragma once
// How a run is told to stop.
#include <atomic>
#include <stdexcept>

namespace catoptra {

/// A wish that runs look at now and then. Any thread may ask at any time, and so may a signal handler.
class Stop {
 public:
  Stop() = default;
  Stop(const Stop&) = delete;
  Stop& operator=(const Stop&) = delete;

  void ask() noexcept { asked_.store(true, std::memory_order_relaxed); }
  bool is_asked() const noexcept { return asked_.load(std::memory_order_relaxed); }

 private:
  std::atomic<bool> asked_ = false;
  static_assert(std::atomic<bool>::is_always_lock_free, "a signal handler may take no lock");
};

/// What a trace throws that was stopped before its first results.
struct StoppedEarly : std::runtime_error {
  StoppedEarly() : std::runtime_error("stopped before the first results") {}
};

/// Where a caller need not give one.
inline bool is_asked(const Stop* stop) noexcept {
  return stop != nullptr && stop->is_asked();
}

}  // namespace catoptra
