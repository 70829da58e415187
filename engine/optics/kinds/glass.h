#pragma once
#include <array>
#include <cmath>
#include <stdexcept>
#include <string>
#include <string_view>

#include "numeric/field.h"
#include "optics/dielectric.h"

namespace catoptra {

/// Clear or tinted glass in air, the same from both sides. Only covers are made of it.
struct Glass {
  static constexpr std::string_view kind = "glass";
  double refractive_index = 0, thickness_m = 0, absorption_per_m = 0;

  static constexpr std::array<Field<Glass>, 3> fields{{
      {"refractive_index", &Glass::refractive_index, units::none, range::within(1, 4), Need::required,
       "of the glass in air"},
      {"thickness_m", &Glass::thickness_m, units::metre, range::within(1e-6, 1), Need::required, "thickness"},
      {"absorption_per_m", &Glass::absorption_per_m, units::per_metre, range::within(0, 1e6), Need::optional,
       "absorption coefficient K, solar weighted: a way s in the glass leaves exp(-K s)"},
  }};

  Pane pane() const { return {refractive_index, thickness_m, absorption_per_m}; }
  Pane acts_as() const { return pane(); }
};

/// Glass whose index follows from a catalogue's three-term dispersion formula at one wavelength.
struct SellmeierGlass {
  static constexpr std::string_view kind = "sellmeier_glass";
  double b1 = 0, b2 = 0, b3 = 0, c1_m2 = 0, c2_m2 = 0, c3_m2 = 0;
  double wavelength_m = 0, thickness_m = 0, absorption_per_m = 0;

  static constexpr std::array<Field<SellmeierGlass>, 9> fields{{
      {"b1", &SellmeierGlass::b1, units::none, range::within(-10, 10), Need::required, "B of the first term"},
      {"b2", &SellmeierGlass::b2, units::none, range::within(-10, 10), Need::required, "of the second"},
      {"b3", &SellmeierGlass::b3, units::none, range::within(-10, 10), Need::required, "of the third"},
      {"c1_um2", &SellmeierGlass::c1_m2, units::square_micrometre, range::within(0, 1e5), Need::required,
       "C of the first term"},
      {"c2_um2", &SellmeierGlass::c2_m2, units::square_micrometre, range::within(0, 1e5), Need::required,
       "of the second"},
      {"c3_um2", &SellmeierGlass::c3_m2, units::square_micrometre, range::within(0, 1e5), Need::required,
       "of the third"},
      {"wavelength_nm", &SellmeierGlass::wavelength_m, units::nanometre, range::within(200, 20000), Need::required,
       "wavelength in vacuum that stands for the light"},
      {"thickness_m", &SellmeierGlass::thickness_m, units::metre, range::within(1e-6, 1), Need::required, "thickness"},
      {"absorption_per_m", &SellmeierGlass::absorption_per_m, units::per_metre, range::within(0, 1e6), Need::optional,
       "absorption coefficient K, solar weighted: a way s in the glass leaves exp(-K s)"},
  }};

  double squared_index() const { return Sellmeier{{b1, b2, b3}, {c1_m2, c2_m2, c3_m2}}.squared_index(wavelength_m); }
  void check() const {
    const double n2 = squared_index();
    if (!(n2 >= 1 && n2 <= 16)) {
      throw std::invalid_argument("the coefficients make no glass at this wavelength: n^2 is " + std::to_string(n2) +
                                  ", allowed: 1 to 16");
    }
  }
  Pane pane() const { return {std::sqrt(squared_index()), thickness_m, absorption_per_m}; }
  Pane acts_as() const { return pane(); }
};

}  // namespace catoptra
