#pragma once
// A mirror's section seen from its focus: 1/rho as a function of the cosine c of the polar angle, rho the distance from
// the focus. For a conic that is a straight line in c, so a corrector's is nearly one. docs/theory/correctors.md.
#include <array>
#include <vector>

#include "geometry/fermat.h"
#include "geometry/frame.h"

namespace catoptra {

class FocalProfile {
 public:
  /// The corrector's, which must be sound (fault_of). `round`: turned about z, else carried along y. Throws
  /// std::range_error where its table can't hold it to 1e-13.
  FocalProfile(const CorrectorDesign& design, bool round);

  /// The same section `factor` times as large, about the focus.
  FocalProfile scaled(double factor) const;

  /// 1/rho in 1/m, its slope and its second derivative to c. Beyond the rim it runs straight on, for rays that meet the
  /// mirror there are refused by rim_cosine().
  template <class Real>
  struct Inverse {
    Real value, slope, bend;
  };
  template <class Real>
  Inverse<Real> inverse(const Real& c) const;

  double rim_cosine() const { return rim_cosine_; }
  double vertex_m() const { return vertex_m_; }    // from the focus, up
  double largest_m() const { return largest_m_; }  // bound of rho
  double width_m() const { return width_m_; }      // half of the section's, across the axis
  double low_m() const { return low_m_; }          // ends along the axis
  double high_m() const { return high_m_; }
  double error() const { return error_; }  // of 1/rho, relative, where it was looked at

  /// The body on one side of the surface is convex, so no line meets it more than twice.
  bool is_convex() const { return convex_; }

  /// Area of the mirror; carried along y: length of the section.
  double measure() const { return measure_; }
  /// The parameter of sampling at a share u of (nearly) the measure from the vertex to the rim, and its derivative to
  /// u: the cosine where the mirror is round, else the polar angle.
  template <class Real>
  struct Place {
    Real at, per_u;
  };
  template <class Real>
  Place<Real> place(const Real& u) const;

 private:
  static constexpr int degree = 11;
  struct Panel {
    double middle = 0, per_half = 0;     // of the cosine, and of half the panel
    std::array<double, degree + 1> k{};  // of powers of (c - middle) per_half
  };
  /// Half of the section, in panels that get finer toward its end (the rim, or the vertex), where the derivatives of a
  /// corrector grow: near folding, and where a deep cup nears its own axis. y runs from 2^-octaves at the end to 1 half
  /// way, and each octave is cut into 2^bits panels.
  struct Half {
    int octaves = 1, bits = 2;
    double least = 0.5, scale = 1;  // y = distance from the end in c, times scale, plus least
    std::vector<Panel> panels;

    void cut(double length, double end, double toward);
    std::size_t panel_of(double from_end) const;
  };

  void fit_best(Half& half, double end, double toward, const CorrectorDesign& design);
  void bound();
  void share_out(bool round);
  const Panel& panel_of(double c) const;

  Half at_rim_, at_vertex_;
  double rim_cosine_ = 0;
  double vertex_m_ = 0, largest_m_ = 0, width_m_ = 0, low_m_ = 0, high_m_ = 0, error_ = 0, measure_ = 0;
  bool convex_ = false, round_ = true;

  static constexpr int knots = 64;
  std::array<double, knots + 1> knots_{};
};

}  // namespace catoptra
