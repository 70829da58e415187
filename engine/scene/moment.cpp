#include "scene/moment.h"

#include <stdexcept>

#include "numeric/expects.h"

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
  CATOPTRA_EXPECTS(is_unit(moment.to_sun) && moment.dni_W_m2 >= 0);
  scene.sun.toward = moment.to_sun;
  scene.sun.dni_W_m2 = moment.dni_W_m2;
}

}  // namespace catoptra
