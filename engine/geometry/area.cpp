#include "geometry/area.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "geometry/bounded_integral.h"
#include "numeric/expects.h"

namespace catoptra {

namespace {

/// Where a stretch begins, ends, and may enter or leave the rectangle's rows and columns.
std::vector<double> cuts(const RimEdge& e, const Box2& box) {
  std::vector<double> out{0, 1};
  const auto add = [&](double t) {
    if (t > 0 && t < 1) out.push_back(t);  // not where the edge runs along: NaN or infinite
  };
  for (const double x : {box.low.x, box.high.x}) add((x - e.from.x) / (e.to.x - e.from.x));
  for (const double y : {box.low.y, box.high.y}) add((y - e.from.y) / (e.to.y - e.from.y));
  std::ranges::sort(out);
  return out;
}
std::vector<double> cuts(const RimArc& a, const Box2& box) {
  std::vector<double> out{a.from_rad, a.to_rad};
  const auto add = [&](double t) {
    t += 2 * pi * std::ceil((a.from_rad - t) / (2 * pi));
    if (t > a.from_rad && t < a.to_rad) out.push_back(t);  // not where the line misses the circle: NaN
  };
  // A line that touches the circle may miss it by rounding; the quarter points stand for its root.
  for (int quarter = 0; quarter < 4; ++quarter) add(quarter * pi / 2);
  for (const double x : {box.low.x, box.high.x}) {
    const double t = std::acos((x - a.center_m.x) / a.radius_m);
    add(t), add(-t);
  }
  for (const double y : {box.low.y, box.high.y}) {
    const double t = std::asin((y - a.center_m.y) / a.radius_m);
    add(t), add(pi - t);
  }
  std::ranges::sort(out);
  return out;
}

/// visit(stretch, begin, end, middle) for the parts of the rim in the rectangle's rows, each all to the left of it, in
/// it, or to the right.
template <class Stretch, class Visit>
void for_each_part(const std::vector<Stretch>& rim, const Box2& box, const Visit& visit) {
  for (const Stretch& stretch : rim) {
    const auto ends = cuts(stretch, box);
    for (std::size_t i = 1; i < ends.size(); ++i) {
      const Vec2 middle = at(stretch, (ends[i - 1] + ends[i]) / 2);
      if (middle.y > box.low.y && middle.y < box.high.y) visit(stretch, ends[i - 1], ends[i], middle);
    }
  }
}

template <class Stretch>
bool enters(const std::vector<Stretch>& rim, const Box2& box) {
  bool found = false;
  for_each_part(rim, box, [&](const Stretch&, double, double, const Vec2& middle) {
    found = found || (middle.x > box.low.x && middle.x < box.high.x);
  });
  return found;
}

/// Share of a rectangle's own area that an area in it may be off.
constexpr double tolerated_share = 1e-11;

/// Arc of the section at y from one x to another, m.
template <AboveOutline S>
double arc_between_m(const S& surface, double from, double to, double y, double tolerance_m) {
  if constexpr (requires { arc_m(surface, to); }) {  // the same for all y
    return arc_m(surface, to) - arc_m(surface, from);
  } else {
    const auto slant = [&](double x) { return 1 / surface.normal(Vec{x, y, surface.sag(x, y)}).z; };
    return bounded_integral(slant, from, to, tolerance_m);
  }
}

/// The rim's share in the closed integral of (area a metre of y, from x = `from` to the rim) dy.
template <AboveOutline S, class Stretch>
double along_rows(const S& surface, const std::vector<Stretch>& rim, const Box2& box, double tolerance_m2) {
  const double from = std::clamp(0.0, box.low.x, box.high.x);  // near the axis: no difference of two large numbers
  const double tolerance_m = tolerance_m2 / (box.high.y - box.low.y);
  const auto above_line = [&](double x, double y) { return arc_between_m(surface, from, x, y, tolerance_m); };
  double sum = 0;
  for_each_part(rim, box, [&](const Stretch& stretch, double begin, double end, const Vec2& middle) {
    if (middle.x > box.low.x && middle.x < box.high.x) {
      const auto strip = [&](double t) {
        const Vec2 p = at(stretch, t);
        return above_line(p.x, p.y) * climb(stretch, t);
      };
      sum += stretch.sense * bounded_integral(strip, begin, end, tolerance_m2);
    } else {
      const double side = middle.x <= box.low.x ? box.low.x : box.high.x;
      sum += stretch.sense * bounded_integral([&](double y) { return above_line(side, y); }, at(stretch, begin).y,
                                              at(stretch, end).y, tolerance_m2);
    }
  });
  return sum;
}

/// The whole rectangle's.
template <AboveOutline S>
double all_rows(const S& surface, const Box2& box, double tolerance_m2) {
  const auto row = [&](double y) {
    return arc_between_m(surface, box.low.x, box.high.x, y, tolerance_m2 / (box.high.y - box.low.y));
  };
  if constexpr (requires { arc_m(surface, 0.0); }) return row(0) * (box.high.y - box.low.y);
  return bounded_integral(row, box.low.y, box.high.y, tolerance_m2);
}

/// x dy - y dx, a unit of the stretch's parameter.
double turn(const RimEdge& e, double) {
  return e.from.x * (e.to.y - e.from.y) - e.from.y * (e.to.x - e.from.x);
}
double turn(const RimArc& a, double t) {
  return a.radius_m * (a.radius_m + a.center_m.x * std::cos(t) + a.center_m.y * std::sin(t));
}

/// Where a stretch is nearest to the axis and farthest from it: there it turns fastest and slowest.
void add_turning_points(const RimEdge& e, std::vector<double>& ends) {
  const Vec2 along{e.to.x - e.from.x, e.to.y - e.from.y};
  ends.push_back(-(e.from.x * along.x + e.from.y * along.y) / (along.x * along.x + along.y * along.y));
}
void add_turning_points(const RimArc& a, std::vector<double>& ends) {
  const double toward = std::atan2(-a.center_m.y, -a.center_m.x);
  for (int half = -2; half <= 3; ++half) ends.push_back(toward + half * pi);
}

/// Which stretches of one side of a rectangle the rim is pressed onto, counted with the sense in which it passes.
class PressedSide {
 public:
  void add(double from, double to, double sense) {
    steps_.push_back({from, sense});
    steps_.push_back({to, -sense});
  }
  /// visit(from, to, turns) for the stretches that are not passed as often one way as the other.
  template <class Visit>
  void for_each(const Visit& visit) {
    std::ranges::sort(steps_, {}, &Step::at);
    double turns = 0;
    for (std::size_t i = 0; i + 1 < steps_.size(); ++i) {
      turns += steps_[i].sense;
      if (turns != 0 && steps_[i].at < steps_[i + 1].at) visit(steps_[i].at, steps_[i + 1].at, turns);
    }
  }

 private:
  struct Step {
    double at, sense;
  };
  std::vector<Step> steps_;
};

/// Area inside a rim and a rectangle on a surface that is round about its axis: the closed integral of
/// (G(r) - G(r0)) dphi along the rim, pressed into the rectangle where it passes outside. G(r): area within r a radian.
template <class Within>
class RoundArea {
 public:
  RoundArea(const Within& within, const Box2& box, double tolerance_m2)
      : within_(within), box_(box), tolerance_m2_(tolerance_m2) {
    // Counted from where the rectangle is nearest to the axis: no difference of two large numbers.
    const double x = std::clamp(0.0, box.low.x, box.high.x), y = std::clamp(0.0, box.low.y, box.high.y);
    nearest_square_ = x * x + y * y;
    if (nearest_square_ > 0) within_nearest_ = nearest_square_ * within_.per_square(nearest_square_);
  }

  template <class Stretch>
  void add(const std::vector<Stretch>& rim) {
    for (const Stretch& stretch : rim) {
      auto ends = cuts(stretch, box_);
      const double first = ends.front(), last = ends.back();
      add_turning_points(stretch, ends);
      std::erase_if(ends, [&](double t) { return !(t >= first && t <= last); });
      std::ranges::sort(ends);
      for (std::size_t i = 1; i < ends.size(); ++i) add(stretch, ends[i - 1], ends[i]);
    }
  }

  double area_m2() {
    double sum = inside_m2_;
    for (int high = 0; high < 2; ++high) {
      const double x = high == 1 ? box_.high.x : box_.low.x, y = high == 1 ? box_.high.y : box_.low.y;
      rows_[high].for_each([&](double from, double to, double turns) { sum += turns * x * side_m(x, from, to); });
      columns_[high].for_each([&](double from, double to, double turns) { sum -= turns * y * side_m(y, from, to); });
    }
    return sum;
  }

  /// The rectangle's own.
  double whole_m2() const {
    const Vec2 &a = box_.low, &b = box_.high;
    return b.x * side_m(b.x, a.y, b.y) - a.x * side_m(a.x, a.y, b.y) + b.y * side_m(b.y, a.x, b.x) -
           a.y * side_m(a.y, a.x, b.x);
  }

 private:
  double per_square(double s) const { return within_.per_square(s) - (within_nearest_ > 0 ? within_nearest_ / s : 0); }

  template <class Stretch>
  void add(const Stretch& stretch, double begin, double end) {
    const Vec2 middle = at(stretch, (begin + end) / 2), from = at(stretch, begin), to = at(stretch, end);
    const auto place = [](double x, double low, double high) { return x <= low ? -1 : x >= high ? 1 : 0; };
    const int column = place(middle.x, box_.low.x, box_.high.x), row = place(middle.y, box_.low.y, box_.high.y);
    if (column == 0 && row == 0) {
      const auto sweep = [&](double t) {
        const Vec2 p = at(stretch, t);
        return per_square(p.x * p.x + p.y * p.y) * turn(stretch, t);
      };
      inside_m2_ += stretch.sense * bounded_integral(sweep, begin, end, tolerance_m2_);
    } else if (row == 0) {
      rows_[column == 1 ? 1 : 0].add(from.y, to.y, stretch.sense);
    } else if (column == 0) {
      columns_[row == 1 ? 1 : 0].add(from.x, to.x, stretch.sense);
    }
  }

  /// Integral of (G(r) - G(r0)) / r^2 along a line at the distance `away`.
  double side_m(double away, double from, double to) const {
    if (away == 0) return 0;
    const auto f = [&](double along) { return per_square(away * away + along * along); };
    const double foot = std::clamp(0.0, from, to), tolerance_m = tolerance_m2_ / std::fabs(away);
    return bounded_integral(f, from, foot, tolerance_m) + bounded_integral(f, foot, to, tolerance_m);
  }

  const Within& within_;
  Box2 box_;
  double tolerance_m2_;
  double nearest_square_ = 0, within_nearest_ = 0;
  double inside_m2_ = 0;
  std::array<PressedSide, 2> rows_, columns_;  // sides at low and high x; at low and high y
};

/// The area above a whole rectangle, by the rule of 4 x 4 points where that of 3 x 3 says the same.
template <class Surface, class Within>
double above_rectangle_m2(const Surface& surface, const Within& within, const Box2& box, double tolerance_m2) {
  // Gauss and Legendre's points and weights: Abramowitz and Stegun, Handbook of Mathematical Functions, table 25.4.
  static constexpr std::array<double, 3> points_3{-0.774596669241483, 0, 0.774596669241483},
      weights_3{0.555555555555556 / 2, 0.888888888888889 / 2, 0.555555555555556 / 2};
  static constexpr std::array<double, 4> points_4{-0.861136311594053, -0.339981043584856, 0.339981043584856,
                                                  0.861136311594053},
      weights_4{0.347854845137454 / 2, 0.652145154862546 / 2, 0.652145154862546 / 2, 0.347854845137454 / 2};
  const double w = box.high.x - box.low.x, h = box.high.y - box.low.y;
  const auto mean_slant = [&](const auto& points, const auto& weights) {
    double sum = 0;
    for (std::size_t i = 0; i < points.size(); ++i) {
      const double x = box.low.x + (1 + points[i]) / 2 * w;
      for (std::size_t j = 0; j < points.size(); ++j) {
        const double y = box.low.y + (1 + points[j]) / 2 * h;
        sum += weights[i] * weights[j] / surface.normal(Vec{x, y, surface.sag(x, y)}).z;
      }
    }
    return sum;
  };
  const double good = w * h * mean_slant(points_4, weights_4);
  if (std::fabs(good - w * h * mean_slant(points_3, weights_3)) < tolerance_m2) return good;
  return RoundArea(within, box, tolerance_m2).whole_m2();
}

}  // namespace

AreaAbove::AreaAbove(const AnySurface& surface, const AnyOutline& outline) : surface_(surface), outline_(outline) {
  Rim rim;
  std::visit(rim, outline_);
  edges_ = std::move(rim.edges);
  arcs_ = std::move(rim.arcs);
  const auto* asphere = std::get_if<Asphere>(&surface_);
  if (asphere != nullptr && !std::holds_alternative<Whole>(outline_)) {
    asphere_within_.emplace(*asphere, radius_span_m(outline_).largest_m);
  }
}

double AreaAbove::within_m2(const Box2& box) const {
  if (std::holds_alternative<Whole>(outline_)) return 0;
  CATOPTRA_EXPECTS(box.low.x <= box.high.x && box.low.y <= box.high.y);
  const double flat_m2 = (box.high.x - box.low.x) * (box.high.y - box.low.y);
  const double tolerance_m2 = tolerated_share * std::fmin(flat_m2, area_m2(outline_));
  const bool cut = enters(edges_, box) || enters(arcs_, box);
  const auto contains_middle = [&](const auto& outline) {
    return static_cast<bool>(outline.contains((box.low.x + box.high.x) / 2, (box.low.y + box.high.y) / 2));
  };
  if (!cut && !std::visit(contains_middle, outline_)) return 0;
  const auto of_rows = [&](const auto& surface) {
    if (!cut) return all_rows(surface, box, tolerance_m2);
    return along_rows(surface, edges_, box, tolerance_m2) + along_rows(surface, arcs_, box, tolerance_m2);
  };
  const auto of_round = [&](const auto& surface, const auto& within) {
    if (!cut) return above_rectangle_m2(surface, within, box, tolerance_m2);
    RoundArea area(within, box, tolerance_m2);
    area.add(edges_);
    area.add(arcs_);
    return area.area_m2();
  };
  const double area = std::visit(
      [&]<Surface S>(const S& surface) -> double {
        if constexpr (Closed<S>) {
          return 0;
        } else if constexpr (std::is_same_v<S, Plane>) {
          return cut ? of_rows(surface) : flat_m2;
        } else if constexpr (std::is_same_v<S, Conic>) {
          return of_round(surface, ConicWithin(surface));
        } else if constexpr (std::is_same_v<S, Asphere>) {
          return of_round(surface, *asphere_within_);
        } else {
          return of_rows(surface);  // right for any surface above an outline, if slower than what a round one allows
        }
      },
      surface_);
  return area > 1e-12 * flat_m2 ? area : 0;
}

double front_area_m2(const AnySurface& surface, const AnyOutline& outline) {
  return std::visit(
      [&]<Surface S>(const S& s) -> double {
        if constexpr (Closed<S>) {
          return s.area_m2();
        } else {
          return AreaAbove(s, outline).within_m2(box(outline));
        }
      },
      surface);
}

double aperture_area_m2(const AnySurface& surface, const AnyOutline& outline) {
  return std::visit(
      [&]<Surface S>(const S& s) -> double {
        if constexpr (HasEntrance<S>) {
          return area_m2(s.entrance());
        } else if constexpr (Closed<S>) {
          return std::fmax(0, s.vector_area_m2().z);  // what its rims leave open, where the front is in sight from +z
        } else {
          return area_m2(outline);
        }
      },
      surface);
}

}  // namespace catoptra
