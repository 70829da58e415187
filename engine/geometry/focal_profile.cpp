#include "geometry/focal_profile.h"

#include <algorithm>
#include <bit>
#include <boost/math/quadrature/gauss.hpp>
#include <boost/math/tools/toms748_solve.hpp>
#include <cstdint>
#include <stdexcept>

namespace catoptra {

namespace {

constexpr double wanted_error = 1e-15, allowed_error = 1e-13;

/// 1/rho where 1 - cos of the polar angle has a value from 0 to the rim's.
long double exact_inverse(const CorrectorDesign& design, long double one_less_cosine) {
  if (!(one_less_cosine > 0)) return 1 / (static_cast<long double>(design.through_m) - design.focus_m);
  const auto beyond_by = [&](long double r) {
    return r > 0 ? corrector_point(design, r).one_less_cosine - one_less_cosine : -one_less_cosine;
  };
  const long double rim = design.half_beam_m;
  const long double at_rim = beyond_by(rim);
  if (at_rim <= 0) return 1 / corrector_point(design, rim).onward;  // the last rounding at the rim
  std::uintmax_t most = 200;
  const auto bracket = boost::math::tools::toms748_solve(beyond_by, 0.0L, rim, -one_less_cosine, at_rim,
                                                         boost::math::tools::eps_tolerance<long double>(63), most);
  return 1 / corrector_point(design, (bracket.first + bracket.second) / 2).onward;
}

/// Powers of u from the values of a polynomial at the Chebyshev points cos(pi (j + 1/2) / n).
template <std::size_t n>
std::array<double, n> powers_from_values(const std::array<long double, n>& values) {
  const long double turn = std::acos(-1.0L);
  std::array<long double, n> out{}, before{}, now{};
  before[0] = 1;  // T_0
  now[1] = 1;     // T_1
  for (std::size_t k = 0; k < n; ++k) {
    long double a = 0;
    for (std::size_t j = 0; j < n; ++j) a += values[j] * std::cos(turn * k * (j + 0.5L) / n);
    a *= (k == 0 ? 1.0L : 2.0L) / n;
    for (std::size_t i = 0; i < n; ++i) out[i] += a * before[i];
    std::array<long double, n> next{};  // T_{k+2} = 2 u T_{k+1} - T_k
    for (std::size_t i = 0; i + 1 < n; ++i) next[i + 1] = 2 * now[i];
    for (std::size_t i = 0; i < n; ++i) next[i] -= before[i];
    before = now;
    now = next;
  }
  std::array<double, n> rounded{};
  for (std::size_t i = 0; i < n; ++i) rounded[i] = static_cast<double>(out[i]);
  return rounded;
}

}  // namespace

FocalProfile::FocalProfile(const CorrectorDesign& design, bool round) : round_(round) {
  rim_cosine_ = static_cast<double>(corrector_point(design, design.half_beam_m).cosine);
  vertex_m_ = design.through_m - design.focus_m;
  if (!(rim_cosine_ < 1 - 1e-9)) throw std::range_error("the corrector is too small to tell from a point");
  fit_best(at_rim_, rim_cosine_, 1, design);
  fit_best(at_vertex_, 1, -1, design);
  if (!(error_ <= allowed_error)) throw std::range_error("the corrector's section bends too sharply");
  bound();
  share_out(round);
}

FocalProfile FocalProfile::scaled(double factor) const {
  FocalProfile out = *this;
  for (Half* half : {&out.at_rim_, &out.at_vertex_})
    for (Panel& panel : half->panels)
      for (double& k : panel.k) k /= factor;
  for (double* length : {&out.vertex_m_, &out.largest_m_, &out.width_m_, &out.low_m_, &out.high_m_}) *length *= factor;
  out.measure_ *= round_ ? factor * factor : factor;
  return out;
}

void FocalProfile::Half::cut(double length, double end, double toward) {
  const int an_octave = 1 << bits;
  least = std::ldexp(1.0, -octaves);
  scale = (1 - least) / length;
  panels.assign(static_cast<std::size_t>(octaves) * static_cast<std::size_t>(an_octave), {});
  for (int i = 0; i < octaves * an_octave; ++i) {
    const auto edge = [&](int k) {
      const double y = least * std::ldexp(1 + static_cast<double>(k % an_octave) / an_octave, k / an_octave);
      return (y - least) / scale;
    };
    Panel& panel = panels[static_cast<std::size_t>(i)];
    panel.middle = end + toward * (edge(i) + edge(i + 1)) / 2;
    panel.per_half = 2 / (edge(i + 1) - edge(i));
  }
}

std::size_t FocalProfile::Half::panel_of(double from_end) const {
  // Exponent and first bits of y count the panels.
  const int shift = 52 - bits;
  const double y = from_end * scale + least;
  const std::int64_t i = static_cast<std::int64_t>(std::bit_cast<std::uint64_t>(y) >> shift) -
                         static_cast<std::int64_t>(std::bit_cast<std::uint64_t>(least) >> shift);
  return static_cast<std::size_t>(std::clamp<std::int64_t>(i, 0, static_cast<std::int64_t>(panels.size()) - 1));
}

const FocalProfile::Panel& FocalProfile::panel_of(double c) const {
  const double from_rim = c - rim_cosine_, from_vertex = 1 - c;
  return from_rim < from_vertex ? at_rim_.panels[at_rim_.panel_of(from_rim)]
                                : at_vertex_.panels[at_vertex_.panel_of(from_vertex)];
}

/// The cheapest cut that keeps the wanted error, or else the best there is: more octaves while those help, then finer.
void FocalProfile::fit_best(Half& half, double end, double toward, const CorrectorDesign& design) {
  const double length = (1 - rim_cosine_) / 2;
  const auto one_less = [&](const Panel& panel, long double u) {
    return std::max(0.0L, 1 - (panel.middle + u / panel.per_half));
  };
  const auto fit = [&](int octaves, int bits) {
    half.octaves = octaves, half.bits = bits;
    half.cut(length, end, toward);
    double worst = 0;
    for (Panel& panel : half.panels) {
      std::array<long double, degree + 1> values{};
      for (std::size_t j = 0; j < values.size(); ++j) {
        const long double u = std::cos(std::acos(-1.0L) * (j + 0.5L) / values.size());
        values[j] = exact_inverse(design, one_less(panel, u));
      }
      panel.k = powers_from_values(values);
      for (const long double u : {-0.995L, -0.8L, -0.3L, 0.25L, 0.7L, 0.99L}) {
        long double sum = 0;
        for (std::size_t k = degree + 1; k-- > 0;) sum = sum * u + panel.k[k];
        worst = std::fmax(worst, static_cast<double>(std::fabs(sum / exact_inverse(design, one_less(panel, u)) - 1)));
      }
    }
    return worst;
  };
  double least_error = infinity;
  int best_octaves = 1, best_bits = 2;
  for (int bits = 2; bits <= 5 && least_error > wanted_error; ++bits) {
    double last = infinity;
    for (const int octaves : {1, 2, 3, 4, 6, 8, 11, 15, 20, 27}) {
      const double error = fit(octaves, bits);
      if (error < least_error) {
        least_error = error;
        best_octaves = octaves, best_bits = bits;
      }
      if (error <= wanted_error || error > last / 2) break;
      last = error;
    }
  }
  if (half.octaves != best_octaves || half.bits != best_bits) fit(best_octaves, best_bits);
  error_ = std::fmax(error_, least_error);
}

template <class Real>
FocalProfile::Inverse<Real> FocalProfile::inverse(const Real& c) const {
  constexpr std::size_t width = lanes<Real>;
  const Real inside = larger(c, Real(rim_cosine_));
  alignas(64) std::array<double, width> each_c;
  store(inside, each_c.data());
  std::array<const Panel*, width> panel;
  for (std::size_t l = 0; l < width; ++l) panel[l] = &panel_of(each_c[l]);
  const auto pick = [&](auto&& of) {
    if constexpr (width == 1) {
      return of(*panel[0]);
    } else {
      alignas(64) std::array<double, width> each;
      for (std::size_t l = 0; l < width; ++l) each[l] = of(*panel[l]);
      return Real::load_aligned(each.data());
    }
  };
  const Real per_half = pick([](const Panel& p) { return p.per_half; });
  const Real u = (inside - pick([](const Panel& p) { return p.middle; })) * per_half;
  Real value = pick([](const Panel&p) { return p.k[degree]; }), slope(0), half_bend(0);
  for (std::size_t k = degree; k-- > 0;) {
    half_bend = multiply_add(half_bend, u, slope);
    slope = multiply_add(slope, u, value);
    value = multiply_add(value, u, pick([k](const Panel& p) { return p.k[k]; }));
  }
  slope = slope * per_half;
  const Real outside = smaller(c - inside, Real(0));
  return {multiply_add(slope, outside, value), slope,
          select(outside < 0, Real(0), 2 * half_bend * per_half * per_half)};
}

template FocalProfile::Inverse<double> FocalProfile::inverse(const double&) const;
template FocalProfile::Inverse<Pack> FocalProfile::inverse(const Pack&) const;

void FocalProfile::bound() {
  // The gauge |w| / rho(c) is convex along every line where k - c k' + min(0, k'') (1 - c^2) >= 0, k = 1/rho; concave
  // where the same holds for -k.
  bool is_bulging = true, is_hollow = true;
  double nearest = infinity;
  low_m_ = infinity, high_m_ = -infinity;
  const auto look = [&](double c) {
    const auto k = inverse(c);
    const double straight = k.value - c * k.slope, bend = k.bend * (1 - c * c), noise = 1e-10 * k.value;
    is_bulging = is_bulging && straight + std::fmin(0, bend) >= -noise;
    is_hollow = is_hollow && -straight + std::fmin(0, -bend) >= -noise;
    nearest = std::fmin(nearest, k.value);
    width_m_ = std::fmax(width_m_, std::sqrt(std::fmax(0, (1 - c) * (1 + c))) / k.value);
    low_m_ = std::fmin(low_m_, c / k.value);
    high_m_ = std::fmax(high_m_, c / k.value);
  };
  constexpr int looks = 128;
  for (const Half* half : {&at_rim_, &at_vertex_}) {
    for (const Panel& panel : half->panels) {
      for (int i = 0; i <= looks; ++i) {
        look(std::clamp(panel.middle + (2.0 * i / looks - 1) / panel.per_half, rim_cosine_, 1.0));
      }
    }
  }
  convex_ = is_bulging || is_hollow;
  // What may lie between two looks: less than a millionth.
  const double hair = 1e-6 / nearest;
  largest_m_ = 1 / nearest + hair;
  width_m_ += hair, low_m_ -= hair, high_m_ += hair;
}

void FocalProfile::share_out(bool round) {
  // Area: 2 pi rho sin(b) sqrt(rho^2 + rho'^2) db = 2 pi / k^2 sqrt(1 + (1 - c^2) (k'/k)^2) dc. Length of a section:
  // the same root times db / k.
  const auto density = [&](double at) {
    const double c = round ? at : sine_cosine(at).cosine;
    const auto k = inverse(c);
    const double root = std::sqrt(1 + std::fmax(0, (1 - c) * (1 + c)) * (k.slope / k.value) * (k.slope / k.value));
    return round ? 2 * pi * root / (k.value * k.value) : root / k.value;
  };
  const auto parameter = [&](double c) { return round ? c : std::acos(std::clamp(c, -1.0, 1.0)); };
  // From the vertex to the rim, a few cells a panel.
  constexpr int cells = 16;
  std::vector<double> at{parameter(1)}, below{0};
  const auto add = [&](const Panel& panel) {
    const double top = panel.middle + 1 / panel.per_half;
    for (int k = 1; k <= cells; ++k) {
      at.push_back(parameter(std::fmax(rim_cosine_, top - 2.0 * k / cells / panel.per_half)));
      const double from = at[at.size() - 2], to = at.back();
      below.push_back(below.back() + boost::math::quadrature::gauss<double, 10>::integrate(density, std::fmin(from, to),
                                                                                           std::fmax(from, to)));
    }
  };
  for (const Panel& panel : at_vertex_.panels) add(panel);
  for (std::size_t i = at_rim_.panels.size(); i-- > 0;) add(at_rim_.panels[i]);
  at.back() = parameter(rim_cosine_);
  measure_ = below.back();
  std::size_t cell = 1;
  for (int j = 0; j <= knots; ++j) {
    const double share = measure_ * j / knots;
    while (cell + 1 < below.size() && below[cell] < share) ++cell;
    const double part = (share - below[cell - 1]) / (below[cell] - below[cell - 1]);
    knots_[static_cast<std::size_t>(j)] = at[cell - 1] + part * (at[cell] - at[cell - 1]);
  }
  knots_.front() = at.front();
  knots_.back() = at.back();
}

template <class Real>
FocalProfile::Place<Real> FocalProfile::place(const Real& u) const {
  constexpr std::size_t width = lanes<Real>;
  alignas(64) std::array<double, width> us, at, per;
  store(u, us.data());
  for (std::size_t l = 0; l < width; ++l) {
    const double steps = us[l] * knots;
    const double whole = std::fmin(std::floor(steps), knots - 1);
    const auto j = static_cast<std::size_t>(whole);
    const double rise = knots_[j + 1] - knots_[j];
    at[l] = knots_[j] + (steps - whole) * rise;
    per[l] = std::fabs(rise) * knots;
  }
  return {load<Real>(at.data()), load<Real>(per.data())};
}

template FocalProfile::Place<double> FocalProfile::place(const double&) const;
template FocalProfile::Place<Pack> FocalProfile::place(const Pack&) const;

}  // namespace catoptra
