#include "scene/moment.h"

#include <stdexcept>

namespace catoptra {

Moment own_moment(const Scene& scene) {
  return {.to_sun = scene.sun.toward, .dni_W_m2 = scene.sun.dni_W_m2};
}

Station station_of(const Scene& scene) {
  if (!scene.site) throw std::invalid_argument("a day's suns need a site");
  const Site& site = *scene.site;
  return {{site.latitude_rad, site.longitude_rad, site.altitude_m}, scene.sun.air, scene.sun.dni_W_m2};
}

void set_moment(Scene& scene, const Moment& moment) {
  scene.sun.toward = moment.to_sun;
  scene.sun.dni_W_m2 = moment.dni_W_m2;
}

}  // namespace catoptra
