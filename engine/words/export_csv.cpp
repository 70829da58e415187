#include "words/export_csv.h"

#include <cmath>
#include <fmt/format.h>

#include "trace/numbers.h"

namespace catoptra {
namespace {

/// The shortest text that reads back to the same double.
std::string cell(double x) {
  return std::isnan(x) ? std::string() : fmt::format("{}", x);
}

double centre(const FluxAxis& axis, std::size_t i) {
  return (axis.edges[i] + axis.edges[i + 1]) / 2;
}

}  // namespace

double radius_at_m(const AnySurface& surface, double height_m) {
  return std::visit(
      [&]<Surface S>(const S& s) -> double {
        if constexpr (RoundBody<S>) return s.radius_at_m(height_m);
        return std::nan("");
      },
      surface);
}

std::string flux_csv(const Component& receiver, const FluxMap& map) {
  const bool unrolled = map.first.unit == "rad";
  const std::size_t copies = receiver.copies();
  const std::string flux = copies > 1 ? fmt::format("flux_mean_of_{}_copies", copies) : "flux";
  std::string out = fmt::format("{},{}{},{}_W_m2,{},bin_area_m2\n", map.first.name, unrolled ? "around_m," : "",
                                map.second.name, flux, error_key(flux, "_W_m2"));
  std::size_t bin = 0;
  for (std::size_t i = 0; i + 1 < map.first.edges.size(); ++i) {
    for (std::size_t j = 0; j + 1 < map.second.edges.size(); ++j, ++bin) {
      const double first = centre(map.first, i), second = centre(map.second, j);
      out += cell(first) + ",";
      if (unrolled) out += cell(first * radius_at_m(receiver.surface, second)) + ",";
      out += fmt::format("{},{},{},{}\n", cell(second), cell(map.flux_W_m2.at(bin)),
                         cell(map.standard_error_W_m2.at(bin)), cell(map.area_m2.at(bin)));
    }
  }
  return out;
}

}  // namespace catoptra
