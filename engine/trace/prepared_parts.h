#pragma once
// What a prepared scene is made of, for the tracer's own files.
#include <memory>
#include <vector>

#include "trace/prepared.h"
#include "trace/search.h"
#include "trace/summary.h"
#include "trace/tally/ledger.h"
#include "trace/tracer.h"

namespace catoptra {

struct PreparedScene::Parts {
  /// What one thread needs in hand. Large: made where it is first used, and kept.
  struct Hand {
    Tracer tracer;
    ChunkLedger ledger;
  };

  Plan plan;
  LedgerLayout layout;
  BlankResult blank;
  std::unique_ptr<Search> nearest;
  // Where there are covers, shadow rays pass them and meet them apart.
  std::unique_ptr<Search> shadow, covers;
  std::vector<std::unique_ptr<Hand>> hands;  // by the worker's slot
  // One a replicate: what the pass in hand has counted, and what the passes before it have.
  std::vector<Ledger> in_pass, committed;

  Parts(const Scene& scene, const Stand& stand);
  Parts(const Parts& other);

  void refit(const Moved& moved);
  Searches searches() const {
    if (shadow == nullptr) return {*nearest, *nearest};
    return {*nearest, *shadow, covers.get()};
  }
  Hand& hand(int slot) {
    auto& hand = hands[static_cast<std::size_t>(slot)];
    if (hand == nullptr)
      hand.reset(new Hand{Tracer(plan, searches(), layout), ChunkLedger(static_cast<std::size_t>(layout.size))});
    return *hand;
  }

 private:
  void build_searches();
};

}  // namespace catoptra
