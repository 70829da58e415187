#pragma once
// What is counted, as fixed-point integers: their sums do not depend on order, so neither the number of threads nor
// the way the work was cut shows in a result. Counts take memory where something is counted: a map has many bins, and
// light falls on some.
#include <bit>
#include <cstdint>
#include <cstdlib>
#include <limits>
#include <memory>
#include <unordered_map>
#include <vector>

#include "trace/bundle.h"

namespace catoptra {

/// Weights are counted in steps of 2^-40. The trick: adding 1.5 x 2^52 leaves the rounded number in the low bits.
/// Exact to half a step for |weight| < 2^11; a step of 1e-12 a term keeps every budget closed far below 1e-9.
inline constexpr double fixed_steps_per_unit = 0x1p40;
inline constexpr double largest_weight = 1024;
static_assert(largest_weight * fixed_steps_per_unit < 0x1p51, "beyond, to_fixed loses the sign");
inline std::int64_t to_fixed(double weight) {
  constexpr double shift = 0x1.8p52;
  return std::bit_cast<std::int64_t>(weight * fixed_steps_per_unit + shift) - std::bit_cast<std::int64_t>(shift);
}

/// After this many contacts a ray is given up and counted: light caught between mirrors that lose nothing.
inline constexpr int most_bounces = 500;

/// A replicate's counts: wide enough for the longest run that may be asked for, of the largest weights, each counted at
/// every contact.
__extension__ using Wide = __int128;
inline constexpr std::uint64_t most_samples = 1'000'000'000'000;
static_assert(static_cast<double>(most_samples) * largest_weight * (most_bounces + 1) * fixed_steps_per_unit < 0x1p126,
              "a replicate's counts are of 127 bits and a sign");

inline double from_fixed(Wide sum) {
  return static_cast<double>(sum) / fixed_steps_per_unit;
}

/// Neighbours that get their memory together.
inline constexpr std::size_t tile_counts = 16;

/// Counts of 64 bits, all 0, in tiles that are made when they are first touched.
class Tiles {
 public:
  explicit Tiles(std::size_t counts);

  std::size_t size() const { return size_; }
  std::size_t tile_room() const { return (size_ + tile_counts - 1) / tile_counts; }
  /// Null: nothing was counted there.
  std::int64_t* find(std::size_t tile) const { return number_[tile] == 0 ? nullptr : at(number_[tile]); }
  /// Stays where it is until cleared.
  std::int64_t* touch(std::size_t tile) { return number_[tile] == 0 ? make(tile) : at(number_[tile]); }
  /// In the order in which they were made.
  const std::vector<std::uint32_t>& touched() const { return touched_; }
  /// All 0 again; what memory there is stays for the tiles to come.
  void clear();

 private:
  static constexpr std::size_t block_tiles = 64;
  using Block = std::array<std::int64_t, block_tiles * tile_counts>;
  struct Free {
    void operator()(void* memory) const { std::free(memory); }
  };
  std::int64_t* at(std::uint32_t number) const {
    return &(*blocks_[number / block_tiles])[number % block_tiles * tile_counts];
  }
  std::int64_t* make(std::size_t tile);

  std::size_t size_;
  // Each tile's place in the blocks; 0: not made. From calloc: of a large table, the system gives the pages that are
  // written to, and no others.
  std::unique_ptr<std::uint32_t[], Free> number_;
  std::vector<std::uint32_t> touched_;
  std::vector<std::unique_ptr<Block>> blocks_;
};

class ChunkLedger;

/// A replicate's counts, each with the bits of a Wide: what does not fit into 64 stands apart, since few counts are so
/// large.
class Ledger {
 public:
  explicit Ledger(std::size_t counts) : tiles_(counts) {}

  std::size_t size() const { return tiles_.size(); }
  Wide operator[](std::size_t place) const {
    const std::int64_t* const tile = tiles_.find(place / tile_counts);
    return tile == nullptr ? Wide{0} : whole(tile, place);
  }
  /// Whether anything was counted in the tile that holds this place.
  bool touches(std::size_t place) const { return tiles_.find(place / tile_counts) != nullptr; }
  /// found(place - first, count) for the counts from `first` on that are not 0, in their order.
  template <class Found>
  void for_each(std::size_t first, std::size_t count, Found&& found) const {
    for (std::size_t place = first; place < first + count;) {
      const std::size_t tile_end = std::min(first + count, (place / tile_counts + 1) * tile_counts);
      const std::int64_t* const tile = tiles_.find(place / tile_counts);
      for (; tile != nullptr && place < tile_end; ++place) {
        if (const Wide sum = whole(tile, place); sum != 0) found(place - first, sum);
      }
      place = tile_end;
    }
  }

  void add(std::size_t place, Wide more) { add_to(tiles_.touch(place / tile_counts), place, more); }
  void add(const Ledger& more);
  void clear();

 private:
  friend class ChunkLedger;
  void add(const Tiles& more);
  void add_to(std::int64_t* tile, std::size_t place, Wide more) {
    std::int64_t& low = tile[place % tile_counts];
    const Wide sum = low + more;
    low = static_cast<std::int64_t>(sum);
    if (low != sum) carries_[place] += static_cast<std::int64_t>((sum - low) >> 64);
  }
  Wide whole(const std::int64_t* tile, std::size_t place) const {
    const Wide low = tile[place % tile_counts];
    if (carries_.empty()) return low;
    const auto carry = carries_.find(place);
    return carry == carries_.end() ? low : low + static_cast<Wide>(carry->second) * (Wide{1} << 64);
  }

  Tiles tiles_;
  std::unordered_map<std::size_t, std::int64_t> carries_;  // of 2^64
};

std::vector<Ledger> empty_ledgers(int replicates, std::size_t counts);

/// One piece of work's counts, of 64 bits. None is ever too small: whoever counts says beforehand by how much any may
/// grow, and before they are full they move to a Ledger aside.
class ChunkLedger {
 public:
  explicit ChunkLedger(std::size_t counts) : tiles_(counts) {}

  std::int64_t& operator[](std::size_t place) { return tiles_.touch(place / tile_counts)[place % tile_counts]; }

  /// No count will grow by more than `weight` before the next call; at most largest_expected.
  void expect(double weight) {
    expected_ += weight;
    if (expected_ > most_expected) set_aside(weight);
  }
  /// A bundle's samples, each lifted by roulette at most; two counts' worth, so that nobody need care for the last bit.
  static constexpr double largest_expected = 2 * bundle_size * (largest_weight + 1);

  /// Adds all to `to`, and is empty.
  void move_to(Ledger& to);

 private:
  static constexpr double most_expected = 0x1p22;
  static_assert((most_expected + largest_expected) * fixed_steps_per_unit < 0x1p63, "a chunk's counts are of 64 bits");
  void set_aside(double weight);

  Tiles tiles_;
  double expected_ = 0;
  std::unique_ptr<Ledger> aside_;
};

}  // namespace catoptra
