#pragma once
// Threads that a caller lends to what it calls. Nothing else in the library decides how many threads run.
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <vector>

namespace catoptra {

class Workers {
 public:
  /// `count` at most, of which one is the caller's; 0: all that the machine has. The number changes no bit of any
  /// result.
  explicit Workers(int count = 0);
  ~Workers();
  Workers(const Workers&) = delete;
  Workers& operator=(const Workers&) = delete;

  int count() const { return count_; }

  /// Calls `body`. What it gives to other threads by itself, as Embree does, stays within the workers. A body of each()
  /// is inside already, where there are several workers.
  void inside(const std::function<void()>& body);

  /// Calls body(i, slot) for every i below `n`, in any order. The slot is a number below count(), and no two bodies of
  /// this call have the same one at a time. Returns when all are done. Throws what one of them threw; the rest may then
  /// not have begun. A body may call each() again, and several threads may at once: they share the workers.
  void each(std::uint64_t n, const std::function<void(std::uint64_t, int)>& body);

 private:
  struct Arena;
  int count_;
  std::unique_ptr<Arena> arena_;
};

/// Those that a caller gave, or where it gave none all that the machine has, for as long as this lives.
class GivenOrAll {
 public:
  explicit GivenOrAll(Workers* given) : workers_(given != nullptr ? given : &all_.emplace()) {}
  GivenOrAll(const GivenOrAll&) = delete;
  GivenOrAll& operator=(const GivenOrAll&) = delete;
  Workers& operator*() const { return *workers_; }
  Workers* operator->() const { return workers_; }

 private:
  std::optional<Workers> all_;
  Workers* workers_;
};

/// Runs all of them, then throws what the first of them, by their order, threw; where one throws, later ones may not
/// have begun.
void run_all(Workers& workers, const std::vector<std::function<void()>>& tasks);

}  // namespace catoptra
