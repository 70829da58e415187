#pragma once
// The shapes that a scene may name. A shape is a plain struct with its word, its scene keys and the surface that they
// mean; one that needs no `aperture` also has own_outline(). A corrector waits for its primary instead. To add one: its
// header, and its name in this list.
#include <variant>

#include "geometry/kinds/asphere.h"
#include "geometry/kinds/ball.h"
#include "geometry/kinds/circular_trough.h"
#include "geometry/kinds/cone.h"
#include "geometry/kinds/conic.h"
#include "geometry/kinds/corrector.h"
#include "geometry/kinds/cpc.h"
#include "geometry/kinds/cylinder.h"
#include "geometry/kinds/disc.h"
#include "geometry/kinds/parabolic_trough.h"
#include "geometry/kinds/paraboloid.h"
#include "geometry/kinds/plane.h"
#include "geometry/kinds/sphere.h"
#include "geometry/kinds/torus.h"
#include "geometry/kinds/trough_corrector.h"

namespace catoptra {

using AnyShape = std::variant<PlaneShape, SphereShape, ParaboloidShape, ConicShape, AsphereShape, ParabolicTroughShape,
                              CircularTroughShape, CylinderShape, ConeShape, DiscShape, BallShape, CpcShape,
                              CpcTroughShape, CorrectorShape, TroughCorrectorShape, TorusShape>;

/// Those whose surface depends on another component.
using AnyCorrectorShape = std::variant<CorrectorShape, TroughCorrectorShape>;

}  // namespace catoptra
