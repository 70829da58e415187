// Searches use all threads that they are lent, in each of their stages.
#include <catch2/catch.hpp>
#include <chrono>
#include <mutex>
#include <oneapi/tbb/global_control.h>
#include <set>
#include <thread>

#include "scenes.h"
#include "steer/design.h"
#include "steer/memory.h"

using namespace catoptra;

namespace {

/// Which threads keep what they have found. Each is told of with a lock held, and waits there: as it waits, the others
/// come to be next. After the second, or after many that are always the same, the search is told to stop.
class Watch {
 public:
  explicit Watch(bool at_once) : looks_(at_once) {
    memory_.changed = [this] {
      const std::scoped_lock lock(lock_);
      if (!looks_) return;
      seen_.insert(std::this_thread::get_id());
      std::this_thread::sleep_for(std::chrono::milliseconds(1));
      if (seen_.size() > 1 || ++told_ == 3000) stop_.ask();
    };
  }

  SolverOptions solver() {
    SolverOptions out;
    out.samples = 1 << 9;
    out.stop = &stop_;
    out.memory = &memory_;
    return out;
  }
  /// For a stage that is not the first.
  void begin() {
    const std::scoped_lock lock(lock_);
    looks_ = true;
  }
  std::size_t threads() const { return seen_.size(); }

 private:
  SearchMemory memory_;
  Stop stop_;
  std::mutex lock_;  // on all below
  bool looks_;
  std::set<std::thread::id> seen_;
  int told_ = 0;
};

/// Seven threads also where the machine has fewer.
const tbb::global_control crowd(tbb::global_control::max_allowed_parallelism, 7);

}  // namespace

TEST_CASE("searches: two threads share the search for a pose anywhere", "[steer]") {
  const Scene scene = test::paraboloid_and_fold();
  Watch watch(true);
  const PoseSolver solver(scene, watch.solver());
  CHECK_THROWS_AS(solver.globally(own_moment(scene), *test::workers(2)), Stopped);
  CHECK(watch.threads() == 2);
  Watch alone(true);  // one thread is not taken for two
  try {
    PoseSolver(scene, alone.solver()).globally(own_moment(scene), *test::workers(1));
  } catch (const Stopped&) {
    // Or it has come to its end.
  }
  CHECK(alone.threads() == 1);
}

TEST_CASE("searches: two threads share the suns of a day", "[steer]") {
  const Scene scene = test::read_or_throw(test::small_bowl);
  const auto suns = moments_of_day(station_of(scene), {2026, 6, 21, 60}, 3600, 50 * units::degree_rad);
  REQUIRE(suns.size() > 3);
  Watch watch(false);
  ScheduleOptions options;
  options.solver = watch.solver();
  options.samples = 1 << 12;
  options.replicates = 4;
  options.workers = test::workers(2);
  options.progress = [&](std::size_t done) {
    if (done == 1) watch.begin();
  };
  CHECK(make_schedule(scene, suns, options).interrupted());
  CHECK(watch.threads() == 2);
}

TEST_CASE("searches: two threads share the suns that a shape is judged by", "[steer]") {
  // Nothing is steered: each sun is a trace of its own, on one thread.
  std::string text = test::small_bowl;
  const std::string steered = R"(kind = "steered", home_m = [0, 0, 3.4], travel_m = [2.5, 2.5, 0], tilt_deg = 40)";
  text.replace(text.find(steered), steered.size(), R"(kind = "fixed", position_m = [0, 0, 3.4], axis = [0, 0, -1])");
  const Scene scene = test::read_or_throw(text);
  const auto suns = moments_of_day(station_of(scene), {2026, 6, 21, 60}, 3600, 50 * units::degree_rad);
  REQUIRE(suns.size() > 3);
  Watch watch(false);
  DesignOptions options;
  options.schedule.solver = watch.solver();
  options.schedule.samples = 1 << 12;
  options.schedule.replicates = 4;
  options.schedule.workers = test::workers(2);
  options.evaluations = 40;
  options.progress = [&](std::size_t, std::size_t) { watch.begin(); };  // the suns of the scene as it is are done
  const std::vector<FreeParameter> parameters{free_parameter(scene, "receiver.tube.mount.position_m.z", 1, 2.2)};
  search_design(scene, suns, parameters, options);
  CHECK(watch.threads() == 2);
}
