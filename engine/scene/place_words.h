#pragma once
// Where components stand and point, in words.
#include <span>
#include <string>

#include "scene/model.h"

namespace catoptra {

/// "[1.000, 2.000, 3.000] m".
std::string point_text(const Vec& p);
/// Of a unit vector: "straight up", or its azimuth and elevation.
std::string heading(const Vec& axis);
/// Of a component that is made of facets: how wide they are together, and how far they are turned from its axis.
std::string facets_words(const Component& component);
std::string place_words(const Component& component, std::span<const Placed> copies);

}  // namespace catoptra
