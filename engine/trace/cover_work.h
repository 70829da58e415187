#pragma once
// What shadow rays that cross covers need in hand; a tracer of a scene without covers has none.
#include "trace/bundle.h"

namespace catoptra {

struct CoverWork {
  RayBlock rays;  // those still on their way to the sun; `sample` is the contact's place
  HitBlock hits;
  alignas(64) LaneArray left{};        // of each contact's light, after the covers so far
  std::array<int, block_room> list{};  // of the rays, those that meet the component in hand
};

}  // namespace catoptra
