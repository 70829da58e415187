#pragma once
#include <cstddef>
#include <stdexcept>
#include <string>

#include "scene/model.h"

namespace catoptra {

/// A mount that can't do what the scene asks for this sun; what place() throws.
class PlacementError : public std::runtime_error {
 public:
  PlacementError(std::size_t component, const std::string& what) : std::runtime_error(what), component_(component) {}
  std::size_t component() const { return component_; }

 private:
  std::size_t component_;
};

}  // namespace catoptra
