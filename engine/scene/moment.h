#pragma once
// Between a scene and the moments that it is traced for.
#include "scene/model.h"
#include "sun/moment.h"

namespace catoptra {

/// The scene's own sun and DNI, without a clock.
Moment own_moment(const Scene& scene);

/// The scene's site, air and DNI. Throws std::invalid_argument for a scene without a site.
Station station_of(const Scene& scene);

/// From now on the scene has the moment's sun and DNI.
void set_moment(Scene& scene, const Moment& moment);

}  // namespace catoptra
