#include "scene/key_places.h"

namespace catoptra {

Place KeyPlaces::at(std::string_view path) const {
  for (;;) {
    const auto found = places_.find(path);
    if (found != places_.end()) return found->second;
    if (path.empty()) return {};
    const auto dot = path.rfind('.');
    path = dot == std::string_view::npos ? std::string_view() : path.substr(0, dot);
  }
}

}  // namespace catoptra
