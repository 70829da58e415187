#pragma once
// Where a run stands between two of its passes, as bytes for a file: the same run goes on from there to the bit.
#include <cstdint>
#include <string>
#include <string_view>

namespace catoptra {

struct RunState {
  std::uint64_t bundles_done = 0, bundles_wanted = 0;  // of each replicate
  double seconds = 0;                                  // that it has taken so far
  std::string sums;                                    // the replicates' counts
};

/// Numbers, whole and short, and texts one after the other; what is read must be what was written.
class ByteWriter {
 public:
  void put(std::uint64_t number);  // 7 bits a byte, the lowest first
  void put(double number);
  void put(std::string_view text);
  std::string take() { return std::move(bytes_); }

 private:
  std::string bytes_;
};

/// Throws std::runtime_error where bytes are missing or left over.
class ByteReader {
 public:
  explicit ByteReader(std::string_view bytes) : bytes_(bytes) {}
  std::uint64_t whole();
  double number();
  std::string_view text();
  bool at_end() const { return bytes_.empty(); }

 private:
  std::string_view bytes_;
};

void put(const RunState& state, ByteWriter& to);
RunState run_state(ByteReader& from);

}  // namespace catoptra
