#pragma once
// The correctors that the tests go through: either side of the focus, deep cups, other primaries, near folding.
#include <memory>

#include "geometry/corrector.h"

namespace catoptra {

inline std::shared_ptr<const FocalProfile> profile_of(const CorrectorDesign& design, bool round = true) {
  return std::make_shared<const FocalProfile>(design, round);
}

/// Calls visit(name, design): a unit sphere is the primary unless the name says otherwise.
template <class Visit>
void for_each_corrector(const Visit& visit) {
  visit("beyond the focus", CorrectorDesign{1, 1, 0.4, 0.6, 0.5});
  visit("before the focus", CorrectorDesign{1, 1, -0.1, 0.3, 0.5});
  visit("flat in the middle, bent outside", CorrectorDesign{1, 1, 0.1, 0.25, 0.5});
  visit("dished, its rim turned up", CorrectorDesign{1, 1, 0.15, 0.26, 0.5});
  visit("close to folding", CorrectorDesign{1, 1, 0, 0.334, 0.5});
  visit("centre cup", CorrectorDesign{1, 1, 1, 1.05, 0.5});
  visit("narrow centre cup", CorrectorDesign{1, 1, 1, 1.02, 0.5});
  visit("wide centre cup", CorrectorDesign{1, 1, 1, 1.2, 0.7});
  visit("of a paraboloid: a plane", CorrectorDesign{1, 0, 0.2, 0.35, 0.6});
  visit("of a paraboloid, beyond", CorrectorDesign{1, 0, 0.3, 0.8, 0.6});
  visit("of an oblate ellipsoid, 20 m", CorrectorDesign{0.05, 1.5, 5, 15, 6});
}

}  // namespace catoptra
