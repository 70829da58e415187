// Counts in tiles against plain sums of 128 bits.
#include "trace/tally/counts.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <random>
#include <vector>

#include "trace/sums.h"

namespace catoptra {

namespace {

constexpr std::size_t places = 1000;  // no whole number of tiles

std::vector<Wide> all_of(const Ledger& ledger) {
  std::vector<Wide> out;
  for (std::size_t i = 0; i < ledger.size(); ++i) out.push_back(ledger[i]);
  return out;
}

/// Light that falls on few places, as pieces of work count it: their sums in tiles, and plainly.
struct Both {
  Ledger ledger{places};
  std::vector<Wide> plain = std::vector<Wide>(places);
};
Both counted(int pieces, std::int64_t largest, std::uint64_t seed) {
  Both out;
  std::mt19937_64 random(seed);
  std::uniform_int_distribution<std::int64_t> count(-largest, largest);
  std::uniform_int_distribution<std::size_t> place(0, 40);
  ChunkLedger piece(places);
  for (int p = 0; p < pieces; ++p) {
    for (const std::size_t at : {std::size_t{0}, 300 + place(random), 500 + place(random), places - 1}) {
      const std::int64_t more = count(random);
      piece[at] += more;
      out.plain[at] += more;
    }
    piece.move_to(out.ledger);
  }
  return out;
}

bool same(const std::vector<Wide>& a, const std::vector<Wide>& b) {
  return a == b;  // Catch2 cannot print a Wide
}

}  // namespace

TEST_CASE("sums in tiles are the plain sums", "[trace][counts]") {
  constexpr std::int64_t near_the_end = std::int64_t{1} << 62;
  for (const std::int64_t largest : {std::int64_t{1} << 40, near_the_end}) {
    const Both got = counted(2000, largest, 7);
    CHECK(same(all_of(got.ledger), got.plain));
  }
  // 64 bits alone would not have held them.
  const Both got = counted(2000, near_the_end, 7);
  CHECK(std::ranges::any_of(got.plain, [](Wide sum) { return sum != static_cast<std::int64_t>(sum); }));
}

TEST_CASE("sums beyond 64 bits are added, walked through and kept", "[trace][counts]") {
  const Both first = counted(500, std::int64_t{1} << 62, 1), second = counted(700, std::int64_t{1} << 62, 2);
  Ledger sum(places);
  sum.add(first.ledger);
  sum.add(second.ledger);
  std::vector<Wide> plain = first.plain;
  for (std::size_t i = 0; i < places; ++i) plain[i] += second.plain[i];
  CHECK(same(all_of(sum), plain));

  std::vector<Wide> walked(places);
  sum.for_each(0, places, [&](std::size_t place, Wide count) { walked[place] = count; });
  CHECK(same(walked, plain));
  std::vector<Wide> part(25);  // begins and ends within tiles
  sum.for_each(310, part.size(), [&](std::size_t place, Wide count) { part[place] = count; });
  CHECK(same(part, {plain.begin() + 310, plain.begin() + 335}));

  std::vector<Ledger> read = empty_ledgers(1, places);
  read[0].add(5, Wide{1} << 100);  // what was there goes
  std::vector<Ledger> kept = empty_ledgers(1, places);
  kept[0].add(sum);
  read_sums(sums_text(kept), read);
  CHECK(same(all_of(read[0]), plain));

  sum.clear();
  CHECK(same(all_of(sum), std::vector<Wide>(places)));
  sum.add(320, -(Wide{1} << 99));  // no old count comes back with its tile
  CHECK(sum[320] == -(Wide{1} << 99));
  CHECK(sum[321] == 0);
}

TEST_CASE("a piece of work counts more than 64 bits hold, where it says so beforehand", "[trace][counts]") {
  const auto count = [](double said) {
    ChunkLedger piece(places);
    for (int i = 0; i < 100; ++i) {
      piece.expect(said);
      piece[3] += to_fixed(largest_weight) * 256;
      piece[700] -= to_fixed(largest_weight) * 256;
    }
    Ledger out(places);
    piece.move_to(out);
    return out;
  };
  const Wide truth = Wide{100} * 256 * (std::int64_t{1} << 50);
  CHECK(count(256 * largest_weight)[3] == truth);
  CHECK(count(256 * largest_weight)[700] == -truth);
}

TEST_CASE("a wide map takes memory where something is counted", "[trace][counts]") {
  // 2^31 counts of 8 bytes each are more than the machine need have.
  Ledger ledger(std::size_t{1} << 31);
  ChunkLedger piece(ledger.size());
  for (std::size_t i = 0; i < 100; ++i) piece[i * 20'000'000] += static_cast<std::int64_t>(i);
  piece.move_to(ledger);
  CHECK(ledger[99 * std::size_t{20'000'000}] == 99);
  CHECK(ledger.touches(20'000'000));
  CHECK(!ledger.touches(20'000'000 + tile_counts));
}

}  // namespace catoptra
