#pragma once
// The replicates' counts as bytes.
#include <cstdint>
#include <stdexcept>
#include <string>
#include <string_view>
#include <vector>

#include "trace/run_state.h"
#include "trace/tally/counts.h"

namespace catoptra {

__extension__ using UnsignedWide = unsigned __int128;

/// For each replicate how many counts there are; then how many are 0, one that is not, and so on.
inline std::string sums_text(const std::vector<Ledger>& replicates) {
  ByteWriter out;
  for (const Ledger& ledger : replicates) {
    out.put(std::uint64_t{ledger.size()});
    std::uint64_t next = 0;
    ledger.for_each(0, ledger.size(), [&](std::size_t place, Wide sum) {
      const auto folded = static_cast<UnsignedWide>(sum) << 1 ^ static_cast<UnsignedWide>(sum >> 127);  // the sign last
      out.put(place - next);
      out.put(static_cast<std::uint64_t>(folded));
      out.put(static_cast<std::uint64_t>(folded >> 64));
      next = place + 1;
    });
    out.put(ledger.size() - next);
  }
  return out.take();
}

/// Throws std::runtime_error where `text` is of other replicates or of another layout.
inline void read_sums(std::string_view text, std::vector<Ledger>& replicates) {
  const auto check = [](bool right) {
    if (!right) throw std::runtime_error("what was kept of a run is of another one");
  };
  ByteReader in(text);
  for (Ledger& ledger : replicates) {
    check(in.whole() == ledger.size());
    ledger.clear();
    for (std::size_t i = 0;; ++i) {
      const std::uint64_t zeros = in.whole();
      check(zeros <= ledger.size() - i);
      i += zeros;
      if (i == ledger.size()) break;
      const std::uint64_t low = in.whole(), high = in.whole();
      const UnsignedWide folded = static_cast<UnsignedWide>(high) << 64 | low;
      ledger.add(i, static_cast<Wide>(folded >> 1) ^ -static_cast<Wide>(folded & 1));
    }
  }
  check(in.at_end());
}

}  // namespace catoptra
