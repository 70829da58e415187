#include "trace/workers.h"

#include <atomic>
#include <catch2/catch.hpp>
#include <chrono>
#include <oneapi/tbb/global_control.h>
#include <stdexcept>
#include <thread>
#include <vector>

using namespace catoptra;

namespace {

TEST_CASE("workers: each piece of work is done once, and no slot by two at a time", "[trace][workers]") {
  for (const int count : {1, 2, 7}) {
    Workers workers(count);
    CHECK(workers.count() == count);
    std::vector<std::atomic<int>> runs(500), busy(static_cast<std::size_t>(count));
    std::atomic<bool> shared = false;
    workers.each(runs.size(), [&](std::uint64_t i, int slot) {
      if (busy.at(static_cast<std::size_t>(slot)).exchange(1) != 0) shared = true;
      ++runs[i];
      std::this_thread::yield();
      busy[static_cast<std::size_t>(slot)] = 0;
    });
    for (const auto& times : runs) CHECK(times == 1);
    CHECK_FALSE(shared);
  }
  CHECK(Workers().count() >= 1);
  CHECK_THROWS_AS(Workers(-1), std::invalid_argument);
}

TEST_CASE("workers: a body that calls them again keeps its slot to itself", "[trace][workers]") {
  Workers workers(3);
  std::vector<std::atomic<int>> busy(3);
  std::atomic<bool> shared = false;
  std::atomic<int> inner = 0;
  workers.each(30, [&](std::uint64_t, int slot) {
    if (busy[static_cast<std::size_t>(slot)].exchange(1) != 0) shared = true;
    workers.each(20, [&](std::uint64_t, int) { ++inner; });
    busy[static_cast<std::size_t>(slot)] = 0;
  });
  CHECK(inner == 600);
  CHECK_FALSE(shared);
}

TEST_CASE("workers: who waits in a nested call takes up no other piece of the outer one", "[trace][workers]") {
  // Three threads: one calls within its body, a second takes a piece of that call, and the first waits for it while the
  // third has pieces of the outer call left. Which thread takes what is chance, so the call is made many times. Each
  // piece sleeps, so that there is somebody to wait for.
  const tbb::global_control three(tbb::global_control::max_allowed_parallelism, 3);
  Workers workers(3);
  std::vector<std::atomic<int>> deep(3);
  std::atomic<int> entered_again = 0, inner = 0;
  constexpr int calls = 150, outer = 12, pieces = 4;
  for (int call = 0; call < calls; ++call) {
    workers.each(outer, [&](std::uint64_t, int slot) {
      if (deep.at(static_cast<std::size_t>(slot))++ > 0) ++entered_again;
      workers.each(pieces, [&](std::uint64_t, int) {
        std::this_thread::sleep_for(std::chrono::microseconds(30));
        ++inner;
      });
      --deep[static_cast<std::size_t>(slot)];
    });
  }
  CHECK(inner == calls * outer * pieces);
  CHECK(entered_again == 0);
}

TEST_CASE("workers: several callers at once are all served", "[trace][workers]") {
  Workers workers(2);
  std::atomic<int> done = 0;
  {
    std::vector<std::jthread> callers;
    for (int c = 0; c < 4; ++c)
      callers.emplace_back([&] {
        workers.inside([&] { ++done; });
        workers.each(100, [&](std::uint64_t, int) { ++done; });
      });
  }
  CHECK(done == 404);
}

TEST_CASE("workers: what a body throws comes through; of tasks, what the first of them threw", "[trace][workers]") {
  for (const int count : {1, 3}) {
    Workers workers(count);
    CHECK_THROWS_AS(workers.each(20,
                                 [](std::uint64_t i, int) {
                                   if (i == 3) throw std::out_of_range("fourth");
                                 }),
                    std::out_of_range);
    CHECK_THROWS_AS(workers.inside([] { throw std::domain_error("inside"); }), std::domain_error);
    std::vector<std::atomic<int>> runs(20);
    std::vector<std::function<void()>> tasks;
    for (auto& times : runs) tasks.push_back([&times] { ++times; });
    run_all(workers, tasks);
    for (const auto& times : runs) CHECK(times == 1);
    tasks[3] = [] { throw std::out_of_range("fourth"); };
    CHECK_THROWS_AS(run_all(workers, tasks), std::out_of_range);
  }
}

}  // namespace
