#include "pictures/colours.h"

#include <algorithm>
#include <cmath>

namespace catoptra {
namespace {

constexpr Colour rgb(int red, int green, int blue) {
  return {red / 255.0, green / 255.0, blue / 255.0};
}

constexpr std::array<Colour, 17> inferno{
    rgb(0, 0, 4),      rgb(11, 7, 36),    rgb(33, 12, 74),   rgb(61, 9, 101),    rgb(87, 16, 110),  rgb(113, 25, 110),
    rgb(138, 34, 106), rgb(163, 44, 97),  rgb(188, 55, 84),  rgb(210, 70, 68),   rgb(228, 90, 49),  rgb(241, 115, 29),
    rgb(249, 142, 9),  rgb(252, 172, 17), rgb(249, 203, 53), rgb(242, 234, 105), rgb(252, 255, 164)};

}  // namespace

Colour flux_colour(double share) {
  const double at = std::clamp(share, 0.0, 1.0) * (inferno.size() - 1);
  const auto low = std::min(inferno.size() - 2, static_cast<std::size_t>(at));
  Colour out{};
  for (std::size_t k = 0; k < 3; ++k)
    out[k] = std::lerp(inferno[low][k], inferno[low + 1][k], at - static_cast<double>(low));
  return out;
}

Colour fate_colour(Fate fate) {
  switch (fate) {
    case Fate::absorbed:
      return rgb(230, 159, 0);
    case Fate::receiver_reflection:
      return rgb(240, 228, 66);
    case Fate::primary_absorption:
      return rgb(153, 153, 153);
    case Fate::secondary_absorption:
      return rgb(204, 121, 167);
    case Fate::blocking:
      return rgb(213, 94, 0);
    case Fate::spillage:
      return rgb(86, 180, 233);
    case Fate::shading:
      return rgb(0, 114, 178);
    case Fate::cover_loss:
      return rgb(0, 158, 115);
    case Fate::cosine:  // no ray's: it is lost before the first
      break;
  }
  return rgb(0, 0, 0);
}

Colour role_colour(Role role) {
  switch (role) {
    case Role::primary:
      return rgb(195, 212, 228);
    case Role::secondary:
      return rgb(217, 195, 230);
    case Role::receiver:
      return rgb(107, 90, 74);
    case Role::obstacle:
      return rgb(124, 124, 116);
    case Role::cover:
      return rgb(176, 214, 208);
  }
  return rgb(124, 124, 116);
}

Colour linear(const Colour& colour) {
  Colour out{};
  std::ranges::transform(colour, out.begin(),
                         [](double x) { return x <= 0.04045 ? x / 12.92 : std::pow((x + 0.055) / 1.055, 2.4); });
  return out;
}

}  // namespace catoptra
