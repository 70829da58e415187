#pragma once
// What shadow rays that cross covers need in hand; a tracer of a scene without covers has none.
#include <vector>

#include "trace/bundle.h"

namespace catoptra {

struct CoverWork {
  RayBlock rays;  // those still on their way to the sun; `sample` is the contact's place
  HitBlock hits;
  alignas(64) LaneArray left{};        // of each contact's light, after the covers so far
  alignas(64) LaneArray outside{};     // of it, after the covers farther out
  std::array<int, block_room> list{};  // of the rays, those that meet the component in hand

  struct Crossing {
    int contact = 0, component = 0;
    double left = 1;
    bool innermost = false;  // the contact's first, seen from it
  };
  std::vector<Crossing> crossings;  // from the contacts outward
};

}  // namespace catoptra
