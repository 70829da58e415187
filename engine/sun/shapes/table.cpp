#include "sun/shapes/table.h"

#include <algorithm>
#include <stdexcept>
#include <string>
#include <utility>

#include "numeric/lanes.h"

namespace catoptra {

double TableSun::radiance(double angle_rad) const {
  if (angle_rad > rows.back().x) return 0;
  const auto above = std::ranges::upper_bound(rows, angle_rad, {}, &Vec2::x);
  if (above == rows.begin()) return rows.front().y;
  if (above == rows.end()) return rows.back().y;
  const Vec2 from = *(above - 1), to = *above;
  return from.y + (angle_rad - from.x) / (to.x - from.x) * (to.y - from.y);
}

std::vector<double> TableSun::breaks_rad() const {
  std::vector<double> angles_rad;
  for (const Vec2& row : rows) {
    if (row.x > 0) angles_rad.push_back(row.x);
  }
  // Rows at the end that bring no light do not count toward the extent.
  for (std::size_t i = rows.size() - 1; i > 0 && rows[i].y == 0 && rows[i - 1].y == 0; --i) angles_rad.pop_back();
  return angles_rad;
}

void TableSun::complete() {
  if (file.path.empty()) {
    if (!rows.empty()) return;
    throw KeyFault("", "a sunshape's table needs rows",
                   {"allowed: rows = [[angle in mrad, radiance], ...] or file = \"a file's path\""});
  }
  if (!rows.empty()) throw KeyFault("file", "both 'file' and 'rows' in the sunshape's table", {"allowed: one of them"});
  // As in the scene's own rows the angle alone has a unit.
  for (const auto& row : std::exchange(file.rows, {})) rows.push_back({row[0] * row_unit.to_si, row[1]});
}

void TableSun::check() const {
  const auto complain = [](std::size_t i, const std::string& what) {
    throw std::invalid_argument("sunshape table, row " + std::to_string(i + 1) + ": " + what);
  };
  if (rows.size() < 2) throw std::invalid_argument("sunshape table: at least two rows are needed");
  for (std::size_t i = 0; i < rows.size(); ++i) {
    if (!(rows[i].x >= 0 && rows[i].x <= pi / 2)) complain(i, "the angle must lie between 0 and 1570 mrad");
    if (!(rows[i].y >= 0 && rows[i].y < infinity)) complain(i, "the radiance must be 0 or more, and finite");
    if (i > 0 && !(rows[i].x > rows[i - 1].x)) complain(i, "the angle must be larger than that of the row before");
  }
  if (std::ranges::all_of(rows, [](const Vec2& row) { return row.y == 0; })) {
    throw std::invalid_argument("sunshape table: at least one radiance must be above 0");
  }
}

}  // namespace catoptra
