#include <algorithm>
#include <catch2/catch.hpp>
#include <vector>

#include "scene/read.h"
#include "source_dir.h"
#include "trace/trace.h"

using namespace catoptra;

namespace {

Scene scene(const std::string& name) {
  return *read_scene(std::string(CATOPTRA_SOURCE_DIR) + "/scenes/" + name + ".toml").scene;
}

/// Every number that the sums decide.
std::vector<double> numbers(const TraceResult& result) {
  std::vector<double> out;
  for (const auto& replicate : result.budget_by_replicate) out.insert(out.end(), replicate.begin(), replicate.end());
  for (const auto& receiver : result.receivers) {
    out.insert(out.end(), receiver.flux.flux_W_m2.begin(), receiver.flux.flux_W_m2.end());
    out.insert(out.end(), receiver.enclosed.fraction.begin(), receiver.enclosed.fraction.end());
  }
  std::erase_if(out, [](double x) { return x != x; });  // bins without area
  return out;
}

struct Watched {
  TraceResult result;
  std::vector<RunState> states;
};

Watched watched(const Scene& scene, TraceOptions options) {
  Watched out;
  options.commit = [&](const std::function<RunState()>& state) { out.states.push_back(state()); };
  out.result = trace(scene, options);
  return out;
}

}  // namespace

TEST_CASE("a run goes on from any of its passes to the bit", "[trace]") {
  for (const char* name : {"bowl", "tower"}) {
    const Scene traced = scene(name);
    const TraceOptions options{.samples = 1 << 19, .seed = 5, .replicates = 4};
    const Watched whole = watched(traced, options);
    REQUIRE(whole.states.size() > 2);
    for (const std::size_t at : {std::size_t{0}, whole.states.size() / 2, whole.states.size() - 1}) {
      TraceOptions resumed = options;
      // As a file keeps it.
      ByteWriter out;
      put(whole.states[at], out);
      const std::string text = out.take();
      ByteReader in(text);
      const RunState state = run_state(in);
      CHECK(in.at_end());
      resumed.resume = &state;
      Workers one(1);
      resumed.workers = &one;
      const Watched rest = watched(traced, resumed);
      CHECK(numbers(rest.result) == numbers(whole.result));
      CHECK(rest.result.samples == whole.result.samples);
      CHECK(rest.states.size() == whole.states.size() - 1 - at);  // nothing is traced twice
    }
    // The same with one sum too many is seen.
    TraceOptions other = options;
    other.seed = 6;
    other.resume = &whole.states[0];
    CHECK(numbers(trace(traced, other)) != numbers(whole.result));
  }
}

TEST_CASE("a run to a precision goes on to the same end", "[trace]") {
  const Scene traced = scene("bowl");
  const TraceOptions options{.precision = 5e-5, .max_samples = 1 << 23, .replicates = 16};
  const Watched whole = watched(traced, options);
  REQUIRE(whole.states.size() > 3);
  for (const std::size_t at : {std::size_t{0}, whole.states.size() / 2, whole.states.size() - 1}) {
    TraceOptions resumed = options;
    resumed.resume = &whole.states[at];
    const TraceResult rest = trace(traced, resumed);
    CHECK(rest.samples == whole.result.samples);
    CHECK(numbers(rest) == numbers(whole.result));
  }
}

TEST_CASE("what was kept of another run is refused", "[trace]") {
  const Scene traced = scene("bowl");
  const Watched whole = watched(traced, {.samples = 1 << 16, .replicates = 4});
  TraceOptions other{.samples = 1 << 16, .replicates = 5};
  other.resume = &whole.states.front();
  CHECK_THROWS_AS(trace(traced, other), std::runtime_error);
  RunState cut = whole.states.front();
  cut.sums.pop_back();
  other.replicates = 4;
  other.resume = &cut;
  CHECK_THROWS_AS(trace(traced, other), std::runtime_error);
}

TEST_CASE("numbers read back as they were kept", "[trace]") {
  ByteWriter out;
  const std::vector<std::uint64_t> whole{0, 1, 127, 128, 1ull << 40, ~0ull};
  for (const auto n : whole) out.put(n);
  out.put(-0.1);
  out.put(std::string_view("a\0b", 3));
  const std::string text = out.take();
  ByteReader in(text);
  for (const auto n : whole) CHECK(in.whole() == n);
  CHECK(in.number() == -0.1);
  CHECK(in.text() == std::string_view("a\0b", 3));
  CHECK(in.at_end());
  CHECK_THROWS_AS(in.whole(), std::runtime_error);
  ByteReader cut(std::string_view(text).substr(0, text.size() - 1));
  for (const auto n : whole) CHECK(cut.whole() == n);
  cut.number();
  CHECK_THROWS_AS(cut.text(), std::runtime_error);
}
