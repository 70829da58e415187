#pragma once
// Scenes drawn at random over all kinds of shapes, apertures, finishes, sunshapes, mounts and arrays, by the lists of
// keys that the reader walks: a new kind or key is drawn as soon as it is listed. Kinds that need another file (a pose
// table, positions from CSV) are left out. The scenes are sound, not sensible: mirrors stand in each other's way, look
// away, and lie at a grazing sun.
#include <cstdint>
#include <string>
#include <vector>

namespace catoptra::test {

/// The text of a scene that the reader accepts; a function of the seed alone. At most a few hundred copies of anything.
std::string random_scene(std::uint64_t seed);

/// `kind = "sphere"` and so on: all that random_scene() may draw.
std::vector<std::string> drawn_kinds();

}  // namespace catoptra::test
