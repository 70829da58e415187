#pragma once
// Traces one bundle of samples from the sun to the end of the last ray. One Tracer a thread.
#include <memory>
#include <vector>

#include "trace/bundle.h"
#include "trace/paths.h"
#include "trace/plan.h"
#include "trace/search.h"
#include "trace/tally/ledger.h"
#include "trace/uniforms.h"

namespace catoptra {

/// The job's light, which starts on primaries; or light that falls on secondaries and receivers straight from the sun,
/// which is tallied apart.
enum class Light { by_primaries, direct };

/// What finds what. Covers don't stop shadow rays: they are met by themselves, where there are any.
struct Searches {
  const Search& nearest;           // everything
  const Search& shadow;            // all but covers
  const Search* covers = nullptr;  // covers alone
};
struct CoverWork;

/// Below this weight a ray is either dropped or, with the odds that keep the mean, lifted back to it. Higher for light
/// that a receiver sent back: of that only what comes onto a receiver again is still to be found.
inline constexpr double roulette_weight = 0.01, roulette_weight_after_receiver = 0.5;
static_assert(roulette_weight_after_receiver < 1 && roulette_weight < 1, "ChunkLedger::largest_expected counts on it");

/// Two uniforms for each contact of a block.
struct UniformPair {
  const double* u = nullptr;
  const double* v = nullptr;
};
using WorkPair = std::array<LaneArray, 2>;

class Tracer {
 public:
  Tracer(const Plan& plan, Searches searches, const LedgerLayout& layout);
  ~Tracer();
  Tracer(Tracer&&) noexcept;

  void use_pseudo_random(bool pseudo_random) { uniforms_.use_pseudo_random(pseudo_random); }

  /// Adds the bundle's counts to `ledger`. `paths` may be null.
  void run(Light light, std::uint64_t replicate_seed, SampleRange samples, ChunkLedger& ledger, PathRecorder* paths);

 private:
  void start(const EntrySet& entries);
  template <class Surface, class Outline>
  void start_on(const Surface& surface, const Outline& outline, const ComponentPlan& component);
  void keep_lit(const ComponentPlan& component);
  void count_shading(const ComponentPlan& component);
  void count_shaders(int shaded_component, int shaded);
  void cut_heavy();
  void dim_by_covers();
  void count_covers();
  void begin_paths();
  void follow();
  void sort_by_component();
  template <class Surface>
  void meet(const Surface& surface, int component);

  void interact(const ComponentPlan& component, bool front, ContactBlock& contacts);
  template <class Finish>
  void act(const ComponentPlan& component, const Finish& finish, bool front, ContactBlock& contacts);
  template <class Finish>
  void part_and_direct(const ComponentPlan& component, const Finish& finish, bool front, ContactBlock& contacts);
  template <class Finish>
  void part(const Finish& finish, bool front, ContactBlock& contacts);
  template <class Finish>
  void direct(const ComponentPlan& component, const Finish& finish, bool front, ContactBlock& contacts);
  void tally_arrivals(const ComponentPlan& component, bool front, ContactBlock& contacts);
  void tally_absorption(const ComponentPlan& component, bool is_dark, const ContactBlock& contacts);
  void choose_kept(ContactBlock& contacts);
  void keep_only(ContactBlock& contacts);
  void send_on(const ComponentPlan& component, const ContactBlock& contacts);
  void leave_scene(int ray);
  /// The count of a term's light at a component.
  std::int64_t& count(int component, Term term) { return (*ledger_)[layout_.term(layout_.owner[component], term)]; }
  int number_of(const ComponentPlan& component) const { return static_cast<int>(&component - plan_.components.data()); }
  UniformPair columns(const ContactBlock& contacts, int dimension, WorkPair& work);
  UniformPair pair(const ContactBlock& contacts, Draw draw, WorkPair& work);
  template <class Finish>
  std::array<UniformPair, Finish::draws.size()> draws_of(const Finish& finish, const ContactBlock& contacts);
  void visit_path(int place, const Vec& at) {
    if (paths_ != nullptr && paths_->follows(place)) paths_->visit(place, at);
  }

  const Plan& plan_;
  const Searches searches_;
  const LedgerLayout& layout_;

  Light light_ = Light::by_primaries;
  ChunkLedger* ledger_ = nullptr;
  PathRecorder* paths_ = nullptr;
  int bounce_ = 0;           // contacts that the rays in hand have behind them
  double light_weight_ = 0;  // of the bundle's samples, in shadow or not; never too small
  Uniforms uniforms_;
  std::array<RayBlock, 2> blocks_;
  RayBlock* rays_ = &blocks_[0];  // in hand
  RayBlock* next_ = &blocks_[1];  // to follow
  HitBlock hits_;
  ContactBlock contacts_, back_contacts_;
  alignas(64) LaneArray absorbed_{};
  alignas(64) std::array<WorkPair, 4> work_{};
  // The rays that meet each component: meeting_[c * block_room …], meeting_count_[c] of them.
  std::vector<int> meeting_, meeting_count_;
  std::array<int, block_room> kept_{};  // of a block's contacts, those that go on
  int kept_count_ = 0;
  RayBlock shaded_;                        // shadow rays that something stops
  HitBlock stops_;                         // and what does
  std::unique_ptr<CoverWork> cover_work_;  // where there are covers
};

}  // namespace catoptra
