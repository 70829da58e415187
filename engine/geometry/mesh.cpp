#include "geometry/mesh.h"

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "geometry/entry.h"
#include "geometry/flat_mesh.h"

namespace catoptra {

namespace {

/// `count` + 1 lines, even from `low` to `high`.
std::vector<double> even(double low, double high, int count) {
  std::vector<double> out;
  for (int i = 0; i <= count; ++i) out.push_back(low + (high - low) * i / count);
  return out;
}

/// The given lines with their ends exactly on the bounds, or the bounds alone.
std::vector<double> lines_or(std::vector<double> given, double low, double high) {
  if (given.size() < 2) return {low, high};
  given.front() = low;
  given.back() = high;
  return given;
}

std::vector<double> azimuths_rad(const MeshOptions& options) {
  const auto lines = lines_or(options.first_lines, 0, 2 * pi);
  std::vector<double> out{lines.front()};
  for (std::size_t i = 1; i < lines.size(); ++i) {
    const double span = lines[i] - lines[i - 1];
    const int n = std::max(1, static_cast<int>(std::ceil(span / options.step_rad - 1e-9)));
    for (const double angle : even(lines[i - 1], lines[i], n)) {
      if (angle > out.back()) out.push_back(angle);
    }
  }
  return out;
}

class Mesher {
 public:
  Mesher(const AnyOutline& outline, const MeshOptions& options) : outline_(outline), options_(options) {}

  template <AboveOutline S>
  Mesh operator()(const S& s) {
    return above(s, s.bends());
  }
  template <RoundBody S>
  Mesh operator()(const S& s) {
    const auto heights =
        divided(lines_or(options_.second_lines, -s.top_m(), s.top_m()), s.meridian(), options_.step_rad);
    return of_revolution(s, heights, [&](double z) { return s.radius_at_m(z); });
  }

  Mesh operator()(const Cpc& s) {
    return of_revolution(s, wall_heights_m(s.profile()), [&](double z) { return s.profile().at(z).radius; });
  }
  Mesh operator()(const CpcTrough& s) {
    Mesh both;
    for (const double side : {-1.0, 1.0}) {
      const Mesh wall = grid(
          s, wall_heights_m(s.profile()), {-s.half_length_m(), s.half_length_m()},
          [&](double z, double y) {
            return Vec{side * s.profile().at(z).radius, y, z};
          },
          [](const Vec& p, double, double) {
            return Vec2{p.x, p.y};
          });
      const auto first = static_cast<std::int32_t>(both.points_m.size());
      both.points_m.insert(both.points_m.end(), wall.points_m.begin(), wall.points_m.end());
      both.normals.insert(both.normals.end(), wall.normals.begin(), wall.normals.end());
      both.coordinates.insert(both.coordinates.end(), wall.coordinates.begin(), wall.coordinates.end());
      for (const auto& [a, b, c] : wall.triangles) both.triangles.push_back({first + a, first + b, first + c});
    }
    return both;
  }

  Mesh operator()(const Corrector& s) {
    return grid(
        s, shares(s, 0.25), even(0.0, 1.0, static_cast<int>(std::ceil(2 * pi / options_.step_rad))),
        [&](double u, double v) { return s.entry(u, v).point_m; },
        [](const Vec& p, double, double v) {
          return Vec2{2 * pi * v, p.z};
        });
  }
  Mesh operator()(const TroughCorrector& s) {
    return grid(
        s, shares(s, 0.5), {0, 1}, [&](double u, double v) { return s.entry(u, v).point_m; },
        [](const Vec& p, double, double) {
          return Vec2{p.x, p.y};
        });
  }

 private:
  template <AboveOutline S>
  Mesh above(const S& surface, const Bends& bends) {
    const Box2 bounds = box(outline_);
    auto x_lines = lines_or(options_.first_lines, bounds.low.x, bounds.high.x);
    auto y_lines = lines_or(options_.second_lines, bounds.low.y, bounds.high.y);
    // What is round in outline and in section is followed by rings; all else by lines.
    const bool by_rings =
        bends.round && (std::holds_alternative<Ring>(outline_) || std::holds_alternative<Sector>(outline_));
    if (!by_rings) {
      x_lines = divided(x_lines, bends.along_x, options_.step_rad);
      y_lines = divided(y_lines, bends.along_y, options_.step_rad);
    }
    FlatMesh flat = flat_mesh(outline_, x_lines, y_lines, by_rings ? bends.along_x : Bend{}, options_.step_rad);
    Mesh mesh;
    for (Vec2 p : flat.points_m) {
      double z = surface.sag(p.x, p.y);
      if (std::isnan(z)) {  // rounding put a point of the equator beyond it
        p = {p.x * (1 - 1e-15), p.y * (1 - 1e-15)};
        z = surface.sag(p.x, p.y);
      }
      mesh.points_m.push_back({p.x, p.y, z});
      mesh.normals.push_back(surface.normal(mesh.points_m.back()));
      mesh.coordinates.push_back(p);
    }
    mesh.triangles = std::move(flat.triangles);
    return mesh;
  }

  template <class Surface, class Radius>
  Mesh of_revolution(const Surface& surface, const std::vector<double>& heights_m, const Radius& radius_m) {
    return grid(
        surface, azimuths_rad(options_), heights_m,
        [&](double azimuth, double z) {
          const double r = radius_m(z);
          return Vec{r * std::cos(azimuth), r * std::sin(azimuth), z};
        },
        [](const Vec&, double azimuth, double z) {
          return Vec2{azimuth, z};
        });
  }

  /// Closer together near the exit, where the wall bends most.
  std::vector<double> wall_heights_m(const CpcProfile& profile) const {
    auto out = even(0, 1, std::max(12, static_cast<int>(std::ceil(pi / options_.step_rad))));
    for (double& share : out) share *= share * profile.height_m();
    return out;
  }

  /// Shares u of a corrector's entry points, dense enough for its normal, along the line of `v`.
  template <class Surface>
  std::vector<double> shares(const Surface& surface, double v) const {
    constexpr int looks = 512;
    std::vector<double> out{0};
    Vec last = surface.entry(0.0, v).normal, before = last;
    double turned_rad = 0, at = 0;
    for (int i = 1; i <= looks; ++i) {
      const double u = static_cast<double>(i) / looks;
      const Vec normal = surface.entry(u, v).normal;
      const double turn = std::atan2(length(cross(before, normal)), dot(before, normal));
      if (turned_rad + turn > options_.step_rad && at > out.back()) {
        out.push_back(at);
        turned_rad = 0;
      }
      turned_rad += turn;
      before = normal;
      at = u;
    }
    out.push_back(1);
    return out;
  }

  /// Points over all pairs of u and v, in quadrilaterals cut in two; triangles without area are left out.
  template <class Surface, class Point, class Coordinates>
  Mesh grid(const Surface& surface, const std::vector<double>& us, const std::vector<double>& vs, const Point& point,
            const Coordinates& coordinates) {
    Mesh mesh;
    for (const double u : us) {
      for (const double v : vs) {
        const Vec p = point(u, v);
        mesh.points_m.push_back(p);
        mesh.normals.push_back(surface.normal(p));
        mesh.coordinates.push_back(coordinates(p, u, v));
      }
    }
    const auto rows = static_cast<std::int32_t>(vs.size());
    const auto add = [&](std::int32_t a, std::int32_t b, std::int32_t c) {
      const auto& p = mesh.points_m;
      const Vec area = cross(p[b] - p[a], p[c] - p[a]);
      const double longest = std::max({length(p[b] - p[a]), length(p[c] - p[b]), length(p[a] - p[c])});
      if (!(length(area) > 1e-12 * longest * longest)) return;
      const bool from_front = dot(area, mesh.normals[a] + mesh.normals[b] + mesh.normals[c]) > 0;
      mesh.triangles.push_back(from_front ? std::array{a, b, c} : std::array{a, c, b});
    };
    for (std::int32_t i = 0; i + 1 < static_cast<std::int32_t>(us.size()); ++i) {
      for (std::int32_t j = 0; j + 1 < rows; ++j) {
        const std::int32_t a = i * rows + j, b = a + rows;
        add(a, b, b + 1);
        add(a, b + 1, a + 1);
      }
    }
    return mesh;
  }

  const AnyOutline& outline_;
  const MeshOptions& options_;
};

}  // namespace

Mesh mesh_of(const AnySurface& surface, const AnyOutline& outline, const MeshOptions& options) {
  if (!(options.step_rad > 0 && options.step_rad <= pi / 2))
    throw std::invalid_argument("a mesh's step is more than 0 and at most a quarter turn");
  return std::visit(Mesher(outline, options), surface);
}

double area_m2(const Mesh& mesh) {
  double sum = 0;
  for (const auto& [a, b, c] : mesh.triangles) {
    const auto& p = mesh.points_m;
    sum += length(cross(p[b] - p[a], p[c] - p[a])) / 2;
  }
  return sum;
}

}  // namespace catoptra
