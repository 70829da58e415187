#pragma once
// An independent answer to "where does this ray first meet this corrector": the exact section at every place along the
// ray, in long double, looked at finely and then halved. Shares no table and no root finder with the engine.
#include <algorithm>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>
#include <cstdint>
#include <optional>
#include <vector>

#include "geometry/fermat.h"
#include "numeric/vec.h"

namespace catoptra::reference {

using Long = long double;

class ExactCorrector {
 public:
  ExactCorrector(const CorrectorDesign& design, bool round, double half_length_m)
      : design_(design), round_(round), half_length_(half_length_m) {
    const auto rim = corrector_point(design, design.half_beam_m);
    rim_cosine_ = rim.cosine;
    for (int i = 0; i <= 400; ++i)
      largest_ = std::fmax(largest_, corrector_point(design, design.half_beam_m * i / 400.0L).onward);
    largest_ *= 1.001L;
    const Long step = 1e-6L * design.half_beam_m;
    const auto inner = corrector_point(design, design.half_beam_m - step);
    rim_value_ = 1 / rim.onward;
    rim_slope_ = (1 / rim.onward - 1 / inner.onward) / (rim.cosine - inner.cosine);
  }

  struct Hit {
    std::optional<Long> t;
    Long cos_incidence = 1;
    bool doubtful = false;
  };

  Hit first_hit(const Vec& p, const Vec& d, bool own) const {
    const Long pace2 = square(d.x) + (round_ ? square(d.y) : 0) + square(d.z);
    const Long middle = -(Long(p.x) * d.x + (round_ ? Long(p.y) * d.y : 0) + Long(p.z) * d.z) / pace2;
    const Long passes2 = square(distance(p, d, middle));
    Hit hit;
    const Long room2 = square(largest_) - passes2;
    if (!(room2 > 0)) return hit;
    const Long reach = std::sqrt(room2 / pace2);
    const Long begin = std::fmax(middle - reach, 0.0L), end = middle + reach;
    if (!(begin < end)) return hit;
    const Long passes = std::sqrt(passes2 / pace2);
    const auto value = [&](Long t) { return gauge(p, d, t); };
    // Even angles as seen from the focus, and even steps: the one is fine near it, the other far from it.
    std::vector<Long> at;
    constexpr int looks = 100;
    const Long from_angle = std::atan2(begin - middle, passes), to_angle = std::atan2(end - middle, passes);
    for (int i = 0; i <= looks; ++i) {
      at.push_back(begin + (end - begin) * i / looks);
      at.push_back(
          std::clamp(middle + passes * std::tan(from_angle + (to_angle - from_angle) * i / looks), begin, end));
    }
    std::sort(at.begin(), at.end());
    const Long doubt = 1e-11L * largest_;
    const Long start = own ? value(0) : 0;
    const auto f = [&](Long t) { return own ? (value(t) - start) / t : value(t); };
    if (!own && std::fabs(value(0)) * largest_ < doubt) hit.doubtful = true;
    std::vector<Long> values;
    if (own) at.erase(at.begin(), std::upper_bound(at.begin(), at.end(), 1e-12L * largest_));
    if (own) at.insert(at.begin(), 1e-9L * largest_);
    for (const Long t : at) values.push_back(f(t));
    for (std::size_t i = 1; i < at.size(); ++i) {
      if ((values[i] > 0) != (values[i - 1] > 0)) {
        if (take(p, d, halved(f, at[i - 1], at[i]), hit)) return hit;
      } else if (i + 1 < at.size()) {
        // A turning point toward zero: does it reach it?
        const Long sign = values[i] > 0 ? 1 : -1;
        if (sign * values[i] > sign * values[i - 1] || sign * values[i] > sign * values[i + 1]) continue;
        Long a = at[i - 1], b = at[i + 1];
        for (int round = 0; round < 90 && sign * f((a + b) / 2) > 0; ++round) {
          const Long left = a + (b - a) * 0.45L, right = a + (b - a) * 0.55L;
          (sign * f(left) < sign * f(right) ? b : a) = sign * f(left) < sign * f(right) ? right : left;
        }
        const Long lowest = (a + b) / 2;
        if (std::fabs(f(lowest)) * (own ? lowest : 1) * largest_ < doubt) hit.doubtful = true;
        if ((f(lowest) > 0) == (sign > 0)) continue;
        if (take(p, d, halved(f, at[i - 1], lowest), hit)) return hit;
        if ((f(lowest) > 0) != (values[i + 1] > 0) && take(p, d, halved(f, lowest, at[i + 1]), hit)) return hit;
        values[i + 1] = f(at[i + 1]);
      }
    }
    return hit;
  }

  Long size() const { return largest_; }

 private:
  static Long square(Long x) { return x * x; }
  Long distance(const Vec& p, const Vec& d, Long t) const {
    const Long x = p.x + t * d.x, y = round_ ? p.y + t * d.y : 0, z = p.z + t * d.z;
    return std::sqrt(x * x + y * y + z * z);
  }
  /// 1/rho of the cosine, straight on beyond the rim.
  Long inverse(Long cosine) const {
    if (cosine <= rim_cosine_) return rim_value_ + rim_slope_ * (cosine - rim_cosine_);
    const Long wanted = 1 - cosine;
    const auto over = [&](Long r) { return (r > 0 ? corrector_point(design_, r).one_less_cosine : 0) - wanted; };
    const Long rim = design_.half_beam_m;
    if (!(wanted > 0)) return 1 / corrector_point(design_, 0).onward;
    if (over(rim) <= 0) return rim_value_;
    std::uintmax_t most = 200;
    const auto bracket = boost::math::tools::toms748_solve(over, Long(0), rim, over(0), over(rim),
                                                           boost::math::tools::eps_tolerance<Long>(63), most);
    const Long low = bracket.first, high = bracket.second;
    return 1 / corrector_point(design_, (low + high) / 2).onward;
  }
  Long gauge(const Vec& p, const Vec& d, Long t) const {
    const Long rho = distance(p, d, t);
    return rho > 0 ? rho * inverse((p.z + t * d.z) / rho) - 1 : -1;
  }
  template <class F>
  static Long halved(const F& f, Long low, Long high) {
    const bool out = f(high) > 0;
    for (int i = 0; i < 75; ++i) {
      const Long middle = (low + high) / 2;
      ((f(middle) > 0) == out ? high : low) = middle;
    }
    return (low + high) / 2;
  }
  /// Whether the root counts, and how far it is from not counting.
  bool take(const Vec& p, const Vec& d, Long t, Hit& hit) const {
    const Long doubt = 1e-11L * largest_, rho = distance(p, d, t), cosine = (p.z + t * d.z) / rho;
    const Long over_rim = (cosine - rim_cosine_) * rho, inside = half_length_ - std::fabs(p.y + t * d.y);
    if (std::fabs(over_rim) < 100 * doubt || std::fabs(t) < doubt || (!round_ && std::fabs(inside) < doubt))
      hit.doubtful = true;
    if (t <= 0 || over_rim < 0 || (!round_ && inside < 0)) return false;
    hit.t = t;
    const Long step = 1e-6L * largest_;
    // |df/dt| over |grad f|: the gradient's parts are k - c k' along the radius and k' along z.
    const Long k = inverse(cosine), slope = (inverse(cosine) - inverse(cosine - 1e-7L)) / 1e-7L;
    const Long radial = k, around = slope * std::sqrt(std::fmax(0.0L, 1 - cosine * cosine));
    hit.cos_incidence =
        std::fabs(gauge(p, d, t + step) - gauge(p, d, t - step)) / (2 * step) / std::hypot(radial, around);
    return true;
  }

  CorrectorDesign design_;
  bool round_;
  Long half_length_, rim_cosine_ = 0, rim_value_ = 0, rim_slope_ = 0, largest_ = 0;
};

}  // namespace catoptra::reference
