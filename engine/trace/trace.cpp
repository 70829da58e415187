#include "trace/trace.h"

#include <algorithm>
#include <atomic>
#include <bit>
#include <chrono>
#include <cmath>
#include <immintrin.h>
#include <mutex>
#include <stdexcept>

#include "numeric/expects.h"
#include "trace/pass.h"
#include "trace/prepared_parts.h"
#include "trace/sums.h"

namespace catoptra {

namespace {

using Clock = std::chrono::steady_clock;

constexpr std::uint64_t bundles_a_direct_one = 64;  // light straight from the sun needs few samples
constexpr int neighbour_bits = 5;
constexpr std::int64_t wide_counts = 1 << 16;  // of a ledger that is not kept for the next trace

/// Treats denormal numbers as 0 while it lives: Embree asks for it, and one such number costs a hundred cycles.
class FlushDenormals {
 public:
  FlushDenormals() : before_(_mm_getcsr()) { _mm_setcsr(before_ | 0x8040); }
  ~FlushDenormals() { _mm_setcsr(before_); }
  FlushDenormals(const FlushDenormals&) = delete;
  FlushDenormals& operator=(const FlushDenormals&) = delete;

 private:
  unsigned before_;
};

/// Which samples make up bundle n. Samples whose numbers share their low bits share the high bits of the first
/// coordinate, the choice of the mirror: in a field, a bundle then starts from neighbours and its rays go together.
SampleRange bundle_samples(std::uint64_t n, int shift) {
  constexpr int bundle_bits = std::countr_zero(static_cast<unsigned>(bundle_size));
  const std::uint64_t round = n >> shift, in_round = n & ((std::uint64_t{1} << shift) - 1);
  return {(round << (shift + bundle_bits)) | in_round, shift};
}

std::uint64_t replicate_seed(std::uint64_t seed, int replicate, Light light) {
  return mix(mix(seed) + 2 * static_cast<std::uint64_t>(replicate) + (light == Light::direct ? 1 : 0));
}

class Run {
 public:
  Run(PreparedScene::Parts& parts, const TraceOptions& options, Workers& workers)
      : parts_(parts),
        options_(options),
        plan_(parts.plan),
        layout_(parts.layout),
        workers_(workers),
        most_chunks_(largest_pass_chunks(workers.count(), options.replicates)),
        in_pass_(parts.in_pass),
        locks_(options.replicates),
        committed_(parts.committed) {
    const auto slots = static_cast<std::size_t>(workers.count());
    if (parts.hands.size() < slots) parts.hands.resize(slots);
    for (std::vector<Ledger>* ledgers : {&in_pass_, &committed_}) {
      if (ledgers->size() == static_cast<std::size_t>(options.replicates)) {
        for (Ledger& ledger : *ledgers) ledger.clear();
      } else {
        *ledgers = empty_ledgers(options.replicates, layout_.size);
      }
    }
  }

  TraceResult go();

 private:
  std::uint64_t bundles_for(std::uint64_t samples) const {
    const auto per_bundle = static_cast<std::uint64_t>(bundle_size) * options_.replicates;
    const std::uint64_t bundles = std::max<std::uint64_t>(1, (samples + per_bundle - 1) / per_bundle);
    return (bundles + (std::uint64_t{1} << shift_) - 1) >> shift_ << shift_;
  }
  std::uint64_t direct_bundles(std::uint64_t bundles) const {
    return plan_.direct.components.empty() ? 0 : (bundles + bundles_a_direct_one - 1) / bundles_a_direct_one;
  }
  void choose_shift(std::uint64_t first_samples);
  bool trace_up_to(std::uint64_t bundles);
  bool pass(std::uint64_t begin, std::uint64_t end);
  void trace_chunk(int replicate, std::uint64_t begin, std::uint64_t end, int slot);
  PreparedScene::Parts::Hand& hand(int slot);
  void report(std::uint64_t more_samples);
  std::vector<RayPath> follow_paths();
  void tell_commit() const;
  double seconds() const {
    const double before = options_.resume == nullptr ? 0 : options_.resume->seconds;
    return before + std::chrono::duration<double>(Clock::now() - began_).count();
  }

  PreparedScene::Parts& parts_;
  const TraceOptions& options_;
  const Plan& plan_;
  const LedgerLayout& layout_;
  Workers& workers_;
  const std::uint64_t most_chunks_;  // of each replicate, in a pass
  std::vector<Ledger>& in_pass_;
  std::vector<std::mutex> locks_;  // on in_pass_
  std::vector<Ledger>& committed_;
  int shift_ = 0;
  std::uint64_t done_ = 0, wanted_ = 0;  // bundles of each replicate
  std::optional<double> relative_error_;

  const Clock::time_point began_ = Clock::now();
  std::mutex report_lock_;
  Clock::time_point next_report_ = began_;
  std::uint64_t samples_in_pass_ = 0;
  std::atomic<bool> stopped_ = false;
};

// A field of many copies is traced neighbour by neighbour, as far as the number of samples allows whole rounds.
void Run::choose_shift(std::uint64_t first_samples) {
  std::size_t copies = 0;
  for (const int c : plan_.entries.components) copies += plan_.components[c].copies;
  if (copies < 2) return;
  const std::uint64_t bundles = bundles_for(first_samples);
  shift_ = std::min(neighbour_bits, static_cast<int>(std::bit_width(bundles)) - 1);
}

void Run::report(std::uint64_t more_samples) {
  if (!options_.progress) return;
  const std::scoped_lock lock(report_lock_);
  samples_in_pass_ += more_samples;
  const auto now = Clock::now();
  if (now < next_report_) return;
  next_report_ = now + std::chrono::milliseconds(100);
  const auto per_bundle = static_cast<std::uint64_t>(bundle_size) * options_.replicates;
  const Progress progress{.samples_done = done_ * per_bundle + samples_in_pass_,
                          .samples_expected = wanted_ * per_bundle,
                          .seconds = std::chrono::duration<double>(now - began_).count(),
                          .relative_error = relative_error_};
  options_.progress(progress);
}

PreparedScene::Parts::Hand& Run::hand(int slot) {
  PreparedScene::Parts::Hand& hand = parts_.hand(slot);
  hand.tracer.use_pseudo_random(options_.numbers == Numbers::pseudo_random);
  return hand;
}

void Run::trace_chunk(int replicate, std::uint64_t begin, std::uint64_t end, int slot) {
  const FlushDenormals mode;
  PreparedScene::Parts::Hand& worker = hand(slot);
  const auto run = [&](Light light, std::uint64_t bundle, int shift) {
    worker.tracer.run(light, replicate_seed(options_.seed, replicate, light), bundle_samples(bundle, shift),
                      worker.ledger, nullptr);
  };
  for (std::uint64_t n = begin; n < end; ++n) run(Light::by_primaries, n, shift_);
  for (std::uint64_t n = direct_bundles(begin); n < direct_bundles(end); ++n) run(Light::direct, n, 0);
  {
    const std::scoped_lock lock(locks_[replicate]);
    worker.ledger.move_to(in_pass_[replicate]);
  }
  report((end - begin) * bundle_size);
}

// Traces bundles begin … end - 1 of every replicate; false, with nothing counted, where it was told to stop.
bool Run::pass(std::uint64_t begin, std::uint64_t end) {
  const std::uint64_t chunks = (end - begin + chunk_bundles - 1) / chunk_bundles;
  samples_in_pass_ = 0;
  workers_.each(chunks * options_.replicates, [&](std::uint64_t item, int slot) {
    if (stopped_ || is_asked(options_.stop)) {
      stopped_ = true;
      return;
    }
    const std::uint64_t chunk = item % chunks;
    trace_chunk(static_cast<int>(item / chunks), begin + chunk * chunk_bundles,
                std::min(end, begin + (chunk + 1) * chunk_bundles), slot);
  });
  if (stopped_) return false;
  workers_.each(static_cast<std::uint64_t>(options_.replicates), [&](std::uint64_t r, int) {
    committed_[r].add(in_pass_[r]);
    in_pass_[r].clear();
  });
  done_ = end;
  return true;
}

bool Run::trace_up_to(std::uint64_t bundles) {
  wanted_ = bundles;
  while (done_ < bundles) {
    const std::uint64_t chunks = std::clamp<std::uint64_t>(3 * done_ / chunk_bundles, 1, most_chunks_);
    const bool whole = pass(done_, std::min(bundles, done_ + chunks * chunk_bundles));
    tell_commit();
    if (!whole) return false;
  }
  return true;
}

void Run::tell_commit() const {
  if (options_.commit && done_ > 0)
    options_.commit([this] { return RunState{done_, wanted_, seconds(), sums_text(committed_)}; });
}

std::vector<RayPath> Run::follow_paths() {
  std::vector<RayPath> out;
  const FlushDenormals mode;
  Tracer& tracer = hand(0).tracer;
  ChunkLedger unread(layout_.size);
  const double watts = plan_.reference_power_W() / options_.paths;
  // Stratified as the run's own samples are: whole bundles, of which the last is cut.
  for (std::uint64_t n = 0; static_cast<int>(out.size()) < options_.paths; ++n) {
    PathRecorder recorder(std::min(bundle_size, options_.paths - static_cast<int>(out.size())));
    tracer.run(Light::by_primaries, replicate_seed(options_.seed, 0, Light::by_primaries), bundle_samples(n, 0), unread,
               &recorder);
    for (RayPath& path : recorder.take(watts)) out.push_back(std::move(path));
  }
  return out;
}

TraceResult Run::go() {
  constexpr std::uint64_t first_look = 1 << 18;  // samples before the error is first judged
  const bool to_precision = options_.precision > 0;
  choose_shift(to_precision ? first_look : options_.samples);
  std::uint64_t target = bundles_for(to_precision ? std::min(first_look, options_.max_samples) : options_.samples);
  if (options_.resume != nullptr) {
    read_sums(options_.resume->sums, committed_);
    done_ = options_.resume->bundles_done;
    target = options_.resume->bundles_wanted;
  }
  bool reached = true;
  while (trace_up_to(target) && to_precision) {
    const Estimate intercept = intercept_factor(committed_, layout_);
    const double relative = intercept.standard_error / intercept.value;
    relative_error_ = relative;
    if (relative <= options_.precision) break;
    const std::uint64_t most = bundles_for(options_.max_samples);
    reached = false;
    if (done_ >= most || !std::isfinite(relative)) break;
    // Errors fall at least as one over the root; powers of two keep Sobol's points whole.
    const double wanted = std::clamp((relative / options_.precision) * (relative / options_.precision), 2.0, 16.0);
    target = std::min(most, done_ * std::bit_ceil(static_cast<std::uint64_t>(wanted)));
    reached = true;
  }
  if (done_ == 0) throw StoppedEarly();
  if (layout_.size > wide_counts) in_pass_.clear();  // a summary takes memory too
  TraceResult result = summarise(plan_, parts_.blank, layout_, committed_,
                                 {.by_primaries = done_ * bundle_size, .direct = direct_bundles(done_) * bundle_size});
  result.interrupted = stopped_;
  result.precision_reached = reached && !stopped_;
  result.seed = options_.seed;
  if (options_.paths > 0) result.paths = follow_paths();
  result.search = parts_.nearest->name() + ", lanes " + Pack::arch_type::name();
  result.wall_time_s = seconds();
  return result;
}

}  // namespace

TraceResult trace(PreparedScene& scene, const TraceOptions& options) {
  if (options.replicates < 2) throw std::invalid_argument("a standard error needs at least 2 replicates");
  const GivenOrAll workers(options.workers);
  return Run(scene.parts(), options, *workers).go();
}

TraceResult trace(const Scene& scene, const TraceOptions& options) {
  CATOPTRA_EXPECTS(is_unit(scene.sun.toward));
  CATOPTRA_EXPECTS(!scene.components.empty());
  const GivenOrAll workers(options.workers);
  std::optional<PreparedScene> prepared;
  workers->inside([&] { prepared.emplace(scene); });
  TraceOptions own = options;
  own.workers = &*workers;
  return trace(*prepared, own);
}

std::vector<std::optional<TraceResult>> trace_each(const PreparedScene& scene, std::span<const SeededStand> cases,
                                                   const TraceOptions& options) {
  if (options.resume != nullptr || options.commit || options.progress)
    throw std::invalid_argument("resume, commit and progress belong to one trace, not to many");
  const GivenOrAll given(options.workers);
  Workers& workers = *given;
  // A shorter trace has too few pieces of work for several workers.
  constexpr std::uint64_t short_samples = 1 << 19;
  const bool side_by_side = options.precision == 0 && options.samples < short_samples && workers.count() > 1;
  Workers alone(1);
  std::vector<std::optional<TraceResult>> out(cases.size());
  std::vector<std::optional<PreparedScene>> copies(side_by_side ? static_cast<std::size_t>(workers.count()) : 1);
  const auto trace_one = [&](std::uint64_t i, int slot) {
    if (is_asked(options.stop)) return;
    auto& copy = copies[static_cast<std::size_t>(slot)];
    if (!copy) copy.emplace(scene);
    copy->move(cases[i].stand);
    TraceOptions one = options;
    one.seed = cases[i].seed;
    one.workers = side_by_side ? &alone : &workers;
    try {
      out[i] = trace(*copy, one);
    } catch (const StoppedEarly&) {
      // None.
    }
  };
  workers.inside([&] {
    if (side_by_side) {
      workers.each(cases.size(), trace_one);
    } else {
      for (std::size_t i = 0; i < cases.size(); ++i) trace_one(i, 0);
    }
  });
  return out;
}

}  // namespace catoptra
