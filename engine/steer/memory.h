#pragma once
// Results of the traces that a search has made. A search that was cut off begins anew. It finds these results instead
// of tracing again, and so goes on to the same bits.
#include <array>
#include <cstdint>
#include <functional>
#include <map>
#include <mutex>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "scene/model.h"
#include "steer/prepared_pool.h"

namespace catoptra {

class SearchMemory {
 public:
  using Key = std::array<std::uint64_t, 2>;

  /// Numbers found for a question; none where it was not asked before. From any thread, as all below.
  std::optional<std::vector<double>> numbers(const Key& key) const;
  void keep(const Key& key, std::vector<double> numbers);
  /// The state of a trace, finished or not.
  std::optional<RunState> run(const Key& key) const;
  void keep(const Key& key, RunState state);

  std::string text() const;
  /// Throws std::runtime_error where `text` breaks off.
  void read(std::string_view text);

  /// Called after each change, by the thread that made it.
  std::function<void()> changed;

 private:
  mutable std::mutex lock_;
  std::map<Key, std::vector<double>> numbers_;
  std::map<Key, RunState> runs_;
};

/// Of a trace of `scene`, which its sun, its DNI, and where its steered components stand tell apart from others of the
/// same text in one search; `question` is what else does: the text, or what stands for it.
SearchMemory::Key trace_key(const Scene& scene, const TraceOptions& options, std::string_view question);
SearchMemory::Key key_of(std::string_view question);

/// What `find` finds, or what it found when it was asked before. `memory` may be null.
std::vector<double> remembered_numbers(SearchMemory* memory, const SearchMemory::Key& key,
                                       const std::function<std::vector<double>()>& find);

/// trace() of `scene`, a copy of the pool's with other poses or another sun, going on where `memory`, which may be
/// null, knows a part of it or all.
TraceResult remembered_trace(PreparedPool& pool, const Scene& scene, TraceOptions options, SearchMemory* memory);

}  // namespace catoptra
