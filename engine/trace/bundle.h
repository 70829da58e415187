#pragma once
// Rays in blocks, structure of arrays: the unit in which everything is traced.
#include <array>
#include <cstdint>

#include "numeric/lanes.h"

namespace catoptra {

/// Rays traced together. Several arrays of this many doubles stay within a core's second-level cache.
inline constexpr int bundle_size = 256;

/// Arrays end with a cache line more: a block that is appended to is written a whole pack at a time; and arrays a power
/// of two apart would fight for the same few places of the first-level cache.
inline constexpr int block_room = bundle_size + 8;
using LaneArray = std::array<double, block_room>;

/// Whether a ray has been on a receiver.
enum class Reached : std::uint8_t { no, first_time, again };

/// What a ray lies in, as a number in the scene's list of media.
using MediumId = std::uint8_t;
inline constexpr MediumId air = 0;

/// One of a surface's pieces, where it is made of several, such as the triangles of a mesh.
using PrimitiveId = std::uint32_t;

/// What a ray is, beside its weight. A ray's wavelength is its sample's (Dim::wavelength): light keeps it, so that it
/// needs no place here.
struct RayTag {
  std::uint16_t sample = 0;  // its place in the bundle: which uniforms are its own
  Reached reached = Reached::no;
  MediumId medium = air;
};
static_assert(sizeof(RayTag) == 4, "copied as one word");

/// What travels with a ray from the sun to its end, whatever it meets.
struct RayState {
  alignas(64) LaneArray weight{};  // in units of the run's reference power a sample
  std::array<RayTag, block_room> tag{};

  /// A ray that begins.
  void begin(int k, int sample) { tag[k] = {.sample = static_cast<std::uint16_t>(sample)}; }
};

/// The one copy of a ray's state: a member more is a line here.
inline void copy_state(const RayState& from, int i, RayState& to, int k) {
  to.weight[k] = from.weight[i];
  to.tag[k] = from.tag[i];
}

/// Neighbours in a block that all leave the same instance.
struct Stretch {
  double from = -1;
  int begin = 0, end = 0;
};

/// Rays in the world's frame. Instance numbers are held as doubles, to be compared in lanes.
struct RayBlock : RayState {
  int count = 0;
  alignas(64) LaneArray px{}, py{}, pz{};  // where the ray starts, m
  alignas(64) LaneArray dx{}, dy{}, dz{};  // unit
  alignas(64) LaneArray from{};            // the instance that it leaves
  // Of the rays: those from components without copies, so that such a component knows its own in whole packs. What does
  // not fit is left out, and costs time only.
  std::array<Stretch, 8> stretches{};
  int stretch_count = 0;

  void clear() { count = stretch_count = 0; }
  void add_stretch(const Stretch& stretch) {
    if (stretch_count < static_cast<int>(stretches.size())) stretches[stretch_count++] = stretch;
  }
  /// The longest stretch of rays that leave `instance`, cut to whole packs; empty where there is none.
  Stretch packs_from(double instance) const {
    constexpr int step = static_cast<int>(lanes<Pack>);
    Stretch best;
    for (int s = 0; s < stretch_count; ++s) {
      const Stretch& stretch = stretches[s];
      if (stretch.from != instance || stretch.end - stretch.begin <= best.end - best.begin) continue;
      best = {instance, (stretch.begin + step - 1) / step * step,
              stretch.end == count ? count : stretch.end / step * step};
    }
    return best;
  }

  Vec3<Pack> point(int i) const { return {load<Pack>(&px[i]), load<Pack>(&py[i]), load<Pack>(&pz[i])}; }
  Vec3<Pack> direction(int i) const { return {load<Pack>(&dx[i]), load<Pack>(&dy[i]), load<Pack>(&dz[i])}; }
  /// Of a pack of rays from anywhere in the block.
  template <class Index>
  Vec3<Pack> points(const Index* i) const {
    return {gather(px.data(), i), gather(py.data(), i), gather(pz.data(), i)};
  }
  template <class Index>
  Vec3<Pack> directions(const Index* i) const {
    return {gather(dx.data(), i), gather(dy.data(), i), gather(dz.data(), i)};
  }
};

inline void copy_ray(const RayBlock& from, int i, RayBlock& to, int k) {
  to.px[k] = from.px[i], to.py[k] = from.py[i], to.pz[k] = from.pz[i];
  to.dx[k] = from.dx[i], to.dy[k] = from.dy[i], to.dz[k] = from.dz[i];
  to.from[k] = from.from[i];
  copy_state(from, i, to, k);
}

/// What a search finds for each ray of a block.
struct HitBlock {
  alignas(64) LaneArray distance{};                 // m; infinity: nothing
  alignas(64) LaneArray instance{};                 // -1: nothing
  std::array<PrimitiveId, block_room> primitive{};  // of a surface of several; else as it was: 0
};

/// Rays that meet one component, in that component's own frame.
struct ContactBlock : RayState {
  int count = 0;
  alignas(64) LaneArray px{}, py{}, pz{};  // the point, own frame
  alignas(64) LaneArray dx{}, dy{}, dz{};  // the incoming direction, own frame
  alignas(64) LaneArray nx{}, ny{}, nz{};  // unit normal of the side that was met, own frame: d . n < 0
  alignas(64) LaneArray wx{}, wy{}, wz{};  // the point in the world
  alignas(64) LaneArray instance{};
  std::array<PrimitiveId, block_room> primitive{};

  Vec3<Pack> direction(int i) const { return {load<Pack>(&dx[i]), load<Pack>(&dy[i]), load<Pack>(&dz[i])}; }
  Vec3<Pack> normal(int i) const { return {load<Pack>(&nx[i]), load<Pack>(&ny[i]), load<Pack>(&nz[i])}; }
};

inline void copy_contact(const ContactBlock& from, int i, ContactBlock& to, int k) {
  to.px[k] = from.px[i], to.py[k] = from.py[i], to.pz[k] = from.pz[i];
  to.dx[k] = from.dx[i], to.dy[k] = from.dy[i], to.dz[k] = from.dz[i];
  to.nx[k] = from.nx[i], to.ny[k] = from.ny[i], to.nz[k] = from.nz[i];
  to.wx[k] = from.wx[i], to.wy[k] = from.wy[i], to.wz[k] = from.wz[i];
  to.instance[k] = from.instance[i];
  to.primitive[k] = from.primitive[i];
  copy_state(from, i, to, k);
}

/// The loops run over whole packs: the last one's spare lanes hold old or zero rays, whose results nobody reads.
/// Flattened: every call in the body is inlined, since lanes passed through memory cost more than the arithmetic.
template <class Body>
[[gnu::flatten]] inline void for_packs(int count, Body&& body) {
  constexpr int step = static_cast<int>(lanes<Pack>);
  for (int i = 0; i < count; i += step) body(i);
}

}  // namespace catoptra
