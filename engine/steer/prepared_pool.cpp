#include "steer/prepared_pool.h"

#include <algorithm>
#include <utility>

namespace catoptra {

std::unique_ptr<PreparedScene> PreparedPool::take(const Stand& stand) {
  std::unique_ptr<PreparedScene> out;
  {
    const std::scoped_lock lock(lock_);
    if (!idle_.empty()) {
      out = std::move(idle_.back());
      idle_.pop_back();
    }
  }
  if (out == nullptr) return std::make_unique<PreparedScene>(scene_, stand);
  out->move(stand);
  return out;
}

TraceResult PreparedPool::trace(const Stand& stand, const TraceOptions& options) {
  auto prepared = take(stand);
  TraceResult out = catoptra::trace(*prepared, options);
  const std::scoped_lock lock(lock_);
  idle_.push_back(std::move(prepared));
  return out;
}

Scene with_bins(Scene scene, int most) {
  for (Component& component : scene.components)
    for (int& bins : component.flux_bins) bins = std::min(bins, most);
  return scene;
}

}  // namespace catoptra
