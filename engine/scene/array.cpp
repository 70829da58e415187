#include "scene/array.h"

#include <cmath>
#include <stdexcept>
#include <string>

#include "numeric/lanes.h"

namespace catoptra {
namespace {

Frame at_azimuth(double radius_m, double azimuth_rad) {
  return {{radius_m * std::sin(azimuth_rad), radius_m * std::cos(azimuth_rad), 0}};
}

bool is_full_turn(double span_rad) {
  return span_rad > 2 * pi - 1e-9;
}

void check_window(double from_rad, double to_rad) {
  if (!(to_rad > from_rad) || to_rad - from_rad > 2 * pi * (1 + 1e-12)) {
    throw KeyFault("to_azimuth_deg", "to_azimuth_deg must be more than from_azimuth_deg, by 360 at most");
  }
}

void check_copies(double copies) {
  if (copies < 1) throw std::invalid_argument("not one copy finds room in this array");
  if (copies > most_copies) {
    throw std::invalid_argument("an array of " + std::to_string(static_cast<long long>(copies)) +
                                " copies; allowed are 1000000 at most");
  }
}

}  // namespace

void GridArray::check() const {
  check_copies(1.0 * count[0] * count[1]);
}

std::vector<Frame> GridArray::frames() const {
  std::vector<Frame> out;
  for (int j = 0; j < count[1]; ++j) {
    for (int i = 0; i < count[0]; ++i) {
      out.push_back({{(i - 0.5 * (count[0] - 1)) * spacing_m.x, (j - 0.5 * (count[1] - 1)) * spacing_m.y, 0}});
    }
  }
  return out;
}

void RingArray::check() const {
  check_window(from_azimuth_rad, to_azimuth_rad);
}

std::vector<Frame> RingArray::frames() const {
  std::vector<Frame> out;
  const double span_rad = to_azimuth_rad - from_azimuth_rad;
  const int gaps = is_full_turn(span_rad) ? count : count - 1;  // a full turn ends where it began
  for (int i = 0; i < count; ++i) {
    out.push_back(at_azimuth(radius_m, from_azimuth_rad + (gaps > 0 ? span_rad * i / gaps : 0)));
  }
  return out;
}

double RingsArray::slots(int ring) const {
  const double radius_m = inner_radius_m + ring * radial_spacing_m;
  return std::floor(radius_m * (to_azimuth_rad - from_azimuth_rad) / spacing_m + 1e-9);  // a whole number stays whole
}

void RingsArray::check() const {
  check_window(from_azimuth_rad, to_azimuth_rad);
  double copies = 0;
  for (int ring = 0; ring < rings; ++ring) copies += slots(ring);
  check_copies(copies);
}

std::vector<Frame> RingsArray::frames() const {
  std::vector<Frame> out;
  const double span_rad = to_azimuth_rad - from_azimuth_rad;
  for (int ring = 0; ring < rings; ++ring) {
    const double radius_m = inner_radius_m + ring * radial_spacing_m;
    const int copies = static_cast<int>(slots(ring));
    for (int i = 0; i < copies; ++i) {
      const double shift = ring % 2 == 0 ? 0.25 : 0.75;  // half a gap apart, and alike at both ends of the arc
      out.push_back(at_azimuth(radius_m, from_azimuth_rad + span_rad * (i + shift) / copies));
    }
  }
  return out;
}

void SpiralArray::check() const {
  check_window(from_azimuth_rad, to_azimuth_rad);
  // Points outside the window are passed over: that must stay affordable.
  if (count * 2 * pi / (to_azimuth_rad - from_azimuth_rad) > 2e7) {
    throw std::invalid_argument("the window of azimuths is too narrow for so many copies");
  }
}

std::vector<Frame> SpiralArray::frames() const {
  // r = c sqrt(n), turned by the golden angle from each to the next: H. Vogel, A better way to construct the sunflower
  // head, Mathematical Biosciences 44 (1979) 179. Each point owns pi c^2, here spacing^2.
  const double golden_angle_rad = pi * (3 - std::sqrt(5.0));
  const double span_rad = to_azimuth_rad - from_azimuth_rad;
  std::vector<Frame> out;
  for (double n = 0.5; static_cast<int>(out.size()) < count; n += 1) {
    const double azimuth_rad = std::fmod(n * golden_angle_rad, 2 * pi);
    double beyond_rad = std::fmod(azimuth_rad - from_azimuth_rad, 2 * pi);
    if (beyond_rad < 0) beyond_rad += 2 * pi;
    if (beyond_rad > span_rad) continue;
    out.push_back(at_azimuth(std::sqrt(inner_radius_m * inner_radius_m + n * spacing_m * spacing_m / pi), azimuth_rad));
  }
  return out;
}

std::vector<Frame> CsvArray::frames() const {
  std::vector<Frame> out;
  for (const auto& row : file.rows) out.push_back({{row[0], row[1], row[2]}});
  return out;
}

}  // namespace catoptra
