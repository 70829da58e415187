#include "scene/frame_table.h"

#include <fmt/format.h>

#include "numeric/lanes.h"

namespace catoptra {
namespace {

constexpr double least_rise = 1e-9;  // 1 + the normal's z, divided by below

}  // namespace

Frame tilted(const Vec& origin_m, const Vec& normal) {
  // O. Rodrigues' turn about z x n by the angle between them, whose sine and cosine are the parts of n; at n = z it is
  // the unit frame. J. R. Frisvad, Building an orthonormal basis from a 3D unit vector without normalization, Journal
  // of Graphics Tools 16 (2012) 151.
  const Vec& n = normal;
  const double a = 1 / (1 + n.z), b = -n.x * n.y * a;
  return {origin_m, {1 - n.x * n.x * a, b, -n.x}, {b, 1 - n.y * n.y * a, -n.y}, n};
}

void FrameTable::check() const {
  for (std::size_t i = 0; i < file.rows.size(); ++i) {
    const auto& row = file.rows[i];
    const Vec normal{row[3], row[4], row[5]};
    const double size = length(normal);
    if (size > 1e-150 && size < 1e150 && 1 + normal.z / size > least_rise) continue;
    throw KeyFault("file",
                   fmt::format("row {} of {} is no frame: normal [{:.6g}, {:.6g}, {:.6g}]", i + 1, file.path, normal.x,
                               normal.y, normal.z),
                   {"allowed: a normal of any length but 0 that does not point straight down"});
  }
}

std::vector<Frame> FrameTable::frames() const {
  std::vector<Frame> out;
  for (const auto& row : file.rows) out.push_back(tilted({row[0], row[1], row[2]}, unit(Vec{row[3], row[4], row[5]})));
  return out;
}

}  // namespace catoptra
