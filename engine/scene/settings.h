#pragma once
// Values that a user sets from outside the scene's file, as if the file had them.
#include <span>
#include <string>

#include "scene/read.h"

namespace catoptra {

/// A setting is a path, an equals sign and a value: "sun.dni_W_m2=850", "primary.dish.shape={ kind = \"sphere\" }". The
/// path is that of the key in the scene, with the names of components (see find_number()), from the root on. The value
/// is TOML, in the unit of the key; what is no TOML and begins with no quote or bracket is a text. A key that does not
/// stand in the file is written there; a finish is made, a component is not.
///
/// Both read the scene whose text has these values, in their order, and the scene keeps that text. A problem in what
/// was set has the path "--set", the setting as its line and no line number; all others have their places in the text
/// as it was.
ReadOutcome read_scene(const std::string& path, std::span<const std::string> settings);
ReadOutcome read_scene_text(std::string text, const std::string& path, std::span<const std::string> settings);

}  // namespace catoptra
