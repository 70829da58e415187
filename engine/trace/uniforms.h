#pragma once
// The uniforms of a bundle, by dimension: each sample's numbers depend on (seed, replicate, sample, dimension) alone.
#include <array>
#include <cstdint>
#include <span>

#include "numeric/sobol.h"
#include "optics/interaction.h"
#include "trace/bundle.h"

namespace catoptra {

/// What each dimension of a sample decides. A new feature takes new dimensions at the end, so old results keep their
/// bits. The best spread of Sobol's dimensions go to what matters most: where a sample starts.
enum class Dim : std::uint8_t {
  component,
  point_u,
  point_v,
  sun_u,
  sun_v,
  slope_u,  // of the first contact; the next contacts' follow, four apart
  slope_v,
  specularity_u,
  specularity_v,
  jitter_u = 21,
  jitter_v = 22,
  wavelength = 23,  // of a sample: light keeps it from the sun to its end
  way_u = 24,       // of the first contact; the next contacts' follow, two apart
  way_v
};

/// Where the numbers of a Draw come from: on a ray's first contacts two dimensions of Sobol's, `apart` further on at
/// each; afterwards Philox, with a number that tells the pairs of one contact apart.
struct DrawSource {
  Dim u = Dim::component;
  int apart = 0;
  int sobol_bounces = 0;
  int philox_use = 0;

  constexpr int dimension_at(int bounce) const { return static_cast<int>(u) + apart * bounce; }
};
constexpr DrawSource source_of(Draw draw) {
  switch (draw) {
    case Draw::slope:
      return {Dim::slope_u, 4, 4, 0};
    case Draw::specularity:
      return {Dim::specularity_u, 4, 4, 1};
    case Draw::jitter:
      return {Dim::jitter_u, 0, 1, 2};
    case Draw::rest:
      return {.philox_use = 3};  // of a receiver's light, of which little comes back
    case Draw::way:
      return {Dim::way_u, 2, 4, 4};
  }
  return {};
}
inline constexpr int philox_uses = 8;  // of one contact

/// One bundle's numbers, made when first asked for.
class Uniforms {
 public:
  /// Independent numbers from Philox in place of Sobol's.
  void use_pseudo_random(bool pseudo_random) { pseudo_random_ = pseudo_random; }
  void start(std::uint64_t replicate_seed, SampleRange samples) {
    seed_ = replicate_seed;
    samples_ = samples;
    made_.fill(false);
  }
  const LaneArray& operator()(Dim dim) { return column(static_cast<int>(dim)); }
  std::uint64_t index(int place) const {
    return samples_.first + (static_cast<std::uint64_t>(place) << samples_.shift);
  }
  /// Two numbers of a sample for a contact beyond Sobol's: `use`, below philox_uses, tells apart the pairs of one
  /// contact.
  std::array<double, 2> later(int place, int bounce, int use) const {
    return philox_pair(seed_, index(place), static_cast<std::uint32_t>(bounce * philox_uses + use));
  }
  /// A number for a decision of no consequence to the mean, such as roulette: a hash, at a fraction of Philox's cost.
  double luck(int place, int bounce) const {
    const std::uint64_t bits = mix((seed_ + static_cast<std::uint64_t>(bounce)) ^ (index(place) << 8));
    return static_cast<double>(static_cast<std::int64_t>(bits >> 11)) * 0x1p-53;  // signed: there is an instruction
  }

 private:
  const LaneArray& column(int dimension) {
    if (!made_[dimension]) {
      if (pseudo_random_) {
        for (int i = 0; i < bundle_size; ++i)
          columns_[dimension][i] = philox_pair(seed_, index(i), plain + dimension)[0];
      } else {
        scrambled_sobol(seed_, dimension, samples_, std::span(columns_[dimension]).first<bundle_size>());
      }
      made_[dimension] = true;
    }
    return columns_[dimension];
  }

  static constexpr std::uint32_t plain = 1u << 16;  // streams that later() does not come to

  bool pseudo_random_ = false;
  std::uint64_t seed_ = 0;
  SampleRange samples_;
  std::array<bool, sobol_dimensions> made_{};
  alignas(64) std::array<LaneArray, sobol_dimensions> columns_{};
};

}  // namespace catoptra
