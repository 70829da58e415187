#pragma once
// The suns that a day or twelve days have, as options ask for them.
#include <string>
#include <vector>

#include "scene/model.h"
#include "sun/moment.h"

namespace CLI {
class App;
}

namespace catoptra {

struct TypedSuns {  // as typed; empty: not given
  std::string day, twelve_days, every, utc_offset;
};

void add_sun_options(CLI::App& command, TypedSuns& typed);

/// The suns asked for, and by which clock; the scene's own where none is. Throws UsageError.
std::vector<Moment> suns_of(const TypedSuns& typed, const Scene& scene);

/// A law may not serve every sun: said now, not after the others were traced. Throws UsageError.
void require_places(const Scene& scene, const std::vector<Moment>& suns);

}  // namespace catoptra
