#include "steer/memory.h"

#include "numeric/sha256.h"

namespace catoptra {
namespace {

void put(const Vec& v, ByteWriter& to) {
  for (const double x : {v.x, v.y, v.z}) to.put(x);
}

}  // namespace

std::optional<std::vector<double>> SearchMemory::numbers(const Key& key) const {
  const std::scoped_lock lock(lock_);
  const auto found = numbers_.find(key);
  return found == numbers_.end() ? std::nullopt : std::optional(found->second);
}

void SearchMemory::keep(const Key& key, std::vector<double> numbers) {
  {
    const std::scoped_lock lock(lock_);
    numbers_[key] = std::move(numbers);
  }
  if (changed) changed();
}

std::optional<RunState> SearchMemory::run(const Key& key) const {
  const std::scoped_lock lock(lock_);
  const auto found = runs_.find(key);
  return found == runs_.end() ? std::nullopt : std::optional(found->second);
}

void SearchMemory::keep(const Key& key, RunState state) {
  {
    const std::scoped_lock lock(lock_);
    runs_[key] = std::move(state);
  }
  if (changed) changed();
}

std::string SearchMemory::text() const {
  const std::scoped_lock lock(lock_);
  ByteWriter out;
  const auto put_key = [&](const Key& key) {
    out.put(key[0]);
    out.put(key[1]);
  };
  out.put(std::uint64_t{numbers_.size()});
  for (const auto& [key, numbers] : numbers_) {
    put_key(key);
    out.put(std::uint64_t{numbers.size()});
    for (const double x : numbers) out.put(x);
  }
  out.put(std::uint64_t{runs_.size()});
  for (const auto& [key, state] : runs_) {
    put_key(key);
    catoptra::put(state, out);
  }
  return out.take();
}

void SearchMemory::read(std::string_view text) {
  ByteReader in(text);
  const std::scoped_lock lock(lock_);
  const auto key = [&] {
    const std::uint64_t first = in.whole();
    return Key{first, in.whole()};
  };
  for (std::uint64_t n = in.whole(); n > 0; --n) {
    auto& numbers = numbers_[key()];
    for (std::uint64_t k = in.whole(); k > 0; --k) numbers.push_back(in.number());
  }
  for (std::uint64_t n = in.whole(); n > 0; --n) {
    const Key where = key();
    runs_[where] = run_state(in);
  }
}

SearchMemory::Key key_of(std::string_view question) {
  const Sha256 digest = sha256(question);
  SearchMemory::Key key{};
  for (std::size_t i = 0; i < 16; ++i) key[i / 8] |= std::uint64_t{digest[i]} << 8 * (i % 8);
  return key;
}

SearchMemory::Key trace_key(const Scene& scene, const TraceOptions& options, std::string_view question) {
  ByteWriter out;
  out.put(question);
  put(scene.sun.toward, out);
  out.put(scene.sun.dni_W_m2);
  for (const Component& component : scene.components) {
    const auto* mount = std::get_if<SteeredMount>(&component.mount);
    if (mount == nullptr) continue;
    put(mount->offset_m, out);
    put(mount->axis, out);
    out.put(mount->roll_rad);
  }
  out.put(options.samples);
  out.put(options.seed);
  out.put(static_cast<std::uint64_t>(options.replicates));
  return key_of(out.take());
}

std::vector<double> remembered_numbers(SearchMemory* memory, const SearchMemory::Key& key,
                                       const std::function<std::vector<double>()>& find) {
  if (memory == nullptr) return find();
  if (auto known = memory->numbers(key)) return std::move(*known);
  std::vector<double> out = find();
  memory->keep(key, out);
  return out;
}

TraceResult remembered_trace(PreparedPool& pool, const Scene& scene, TraceOptions options, SearchMemory* memory) {
  if (memory == nullptr) return pool.trace(stand_of(scene), options);
  const SearchMemory::Key key = trace_key(scene, options, "trace of " + scene.text);
  const auto known = memory->run(key);
  if (known) options.resume = &*known;
  options.commit = [&](const std::function<RunState()>& state) { memory->keep(key, state()); };
  return pool.trace(stand_of(scene), options);
}

}  // namespace catoptra
