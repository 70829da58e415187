#pragma once
#include <cstddef>
#include <stdexcept>
#include <string>
#include <utility>

#include "scene/model.h"
#include "scene/problem.h"

namespace catoptra {

/// A mount that can't do what the scene asks for this sun; what place() throws. The words begin with the place in the
/// scene's text, where it has one.
class PlacementError : public std::runtime_error {
 public:
  PlacementError(const Scene& scene, std::size_t component, Place place, std::string message)
      : std::runtime_error(located(scene.path, place, message)),
        component_(component),
        place_(place),
        message_(std::move(message)) {}
  std::size_t component() const { return component_; }
  Place place() const { return place_; }
  /// Without the place.
  const std::string& message() const { return message_; }

 private:
  std::size_t component_;
  Place place_;
  std::string message_;
};

}  // namespace catoptra
