#include "trace/tally/counts.h"

#include <algorithm>
#include <new>

namespace catoptra {

Tiles::Tiles(std::size_t counts)
    : size_(counts), number_(static_cast<std::uint32_t*>(std::calloc(tile_room() + 1, sizeof(std::uint32_t)))) {
  if (number_ == nullptr) throw std::bad_alloc();
}

std::int64_t* Tiles::make(std::size_t tile) {
  const auto number = static_cast<std::uint32_t>(touched_.size() + 1);  // the first place stays empty: 0 is "not made"
  if (number / block_tiles >= blocks_.size()) blocks_.push_back(std::make_unique_for_overwrite<Block>());
  touched_.push_back(static_cast<std::uint32_t>(tile));
  number_[tile] = number;
  std::int64_t* const counts = at(number);
  std::fill_n(counts, tile_counts, 0);
  return counts;
}

void Tiles::clear() {
  for (const std::uint32_t tile : touched_) number_[tile] = 0;
  touched_.clear();
}

void Ledger::add(const Tiles& more) {
  for (const std::uint32_t tile : more.touched()) {
    const std::int64_t* const from = more.find(tile);
    std::int64_t* const to = tiles_.touch(tile);
    for (std::size_t i = 0; i < tile_counts; ++i) {
      if (__builtin_add_overflow(to[i], from[i], &to[i])) carries_[tile * tile_counts + i] += from[i] > 0 ? 1 : -1;
    }
  }
}

void Ledger::add(const Ledger& more) {
  add(more.tiles_);
  for (const auto& [place, carry] : more.carries_) carries_[place] += carry;
}

void Ledger::clear() {
  tiles_.clear();
  carries_.clear();
}

std::vector<Ledger> empty_ledgers(int replicates, std::size_t counts) {
  std::vector<Ledger> out;
  out.reserve(static_cast<std::size_t>(replicates));
  for (int r = 0; r < replicates; ++r) out.emplace_back(counts);
  return out;
}

void ChunkLedger::set_aside(double weight) {
  if (aside_ == nullptr) aside_ = std::make_unique<Ledger>(tiles_.size());
  aside_->add(tiles_);
  tiles_.clear();
  expected_ = weight;
}

void ChunkLedger::move_to(Ledger& to) {
  to.add(tiles_);
  tiles_.clear();
  expected_ = 0;
  if (aside_ == nullptr) return;
  to.add(*aside_);
  aside_.reset();
}

}  // namespace catoptra
