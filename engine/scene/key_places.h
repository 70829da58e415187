#pragma once
// Where the keys of a table stand in the scene's text, for what is found wrong long after the text was read.
#include <functional>
#include <map>
#include <string>
#include <string_view>
#include <utility>

#include "scene/place.h"

namespace catoptra {

/// By path: "mount.aim_m"; the empty path is the table itself.
class KeyPlaces {
 public:
  using Map = std::map<std::string, Place, std::less<>>;
  KeyPlaces() = default;
  explicit KeyPlaces(Map places) : places_(std::move(places)) {}

  bool has(std::string_view path) const { return places_.find(path) != places_.end(); }
  /// Of the key's value; of the nearest table round it where the text leaves the key out.
  Place at(std::string_view path) const;

 private:
  Map places_;
};

}  // namespace catoptra
