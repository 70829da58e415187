#include "words/table.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <sstream>

#include "example_result.h"

using namespace catoptra;

TEST_CASE("digits follow the standard error", "[results]") {
  // JCGM 100:2008, 7.2.2 and 7.2.6: two digits of uncertainty, the value to the same place. 100.02147 with 0.00035 is
  // that guide's own example of a mass, m = 100.021 47 g (from memory).
  struct Row {
    Estimate estimate;
    std::string value, error;
  };
  const Row rows[]{{{100.02147, 0.00035}, "100.02147", "0.00035"},
                   {{0.95, 0.00123}, "0.9500", "0.0012"},
                   {{1234567, 8912}, "1234600", "8900"},
                   {{1234.56, 0.0996}, "1234.56", "0.10"},  // 0.0996 rounds to 0.100, whose second digit is 0.01
                   {{1234.56, 99.6}, "1230", "100"},        // and 99.6 to 100, whose second digit is the ten
                   {{-0.4, 3}, "-0.4", "3.0"},
                   {{0, 0}, "0", ""},
                   {{2543751.02607, 3.3e-10}, "2543751", ""},  // rounding in a sum, not spread
                   {{2500, 0}, "2500", ""},
                   {{314159.265, 0}, "314159", ""},
                   {{3.0000004, 0}, "3", ""},
                   {{1e-9, 0}, "0.000000001", ""},
                   {{std::nan(""), 0}, "not defined", ""},
                   {{2, std::nan("")}, "2", "not known"}};
  for (const auto& row : rows) {
    const auto got = rounded(row.estimate);
    CHECK(got.value == row.value);
    CHECK(got.error == row.error);
  }
}

TEST_CASE("the text of a result", "[results]") {
  auto result = test::example_result();
  result.receivers.pop_back();
  result.precision_reached = false;
  // The heat's numbers: scipy.optimize.brentq on the equations of docs/theory/heat.md.
  CHECK(result_text(test::example_scene(), result) ==
        R"(Dish on the plateau test field (invented) – Ω
4096 samples in 2 replicates, seed 18446744073709551615, 0.125 s
DNI 1000 W/m2, sun at azimuth 90.00, elevation 53.13 degrees
primaries: aperture area 1.25 m2, incident power 1240 W
± one standard error, from the spread of the replicates

budget                               W                       %
  DNI x aperture area             1250                     100
  cosine                            10                     0.8
  shading                        20.00 ± 0.50            1.600 ± 0.040
  primary absorption             60.00 ± 0.75            4.800 ± 0.060
  blocking                       30.00 ± 0.50            2.400 ± 0.040
  secondary absorption           40.00 ± 0.50            3.200 ± 0.040
  cover loss                         0                       0
  spillage                        89.5 ± 2.0              7.16 ± 0.16
  receiver reflection            50.25 ± 0.50            4.020 ± 0.040
  absorbed                       950.2 ± 1.5             76.02 ± 0.12
  closure                          0.2 ± 1.5              0.02 ± 0.12

losses by component
  shading
    a mast with a long name
                                 14.50 ± 0.50            1.160 ± 0.040
    absorber                      5.50 ± 0.25            0.440 ± 0.020

  optical efficiency            0.7602 ± 0.0012
  intercept factor              0.9500 ± 0.0012

receiver 'absorber', 0.25 m2
  intercept factor              0.9500 ± 0.0012
  arriving power                1000.5 ± 1.2       W
  absorbed power                 950.2 ± 1.5       W
  direct sunlight                 3.00 ± 0.25      W, in no other line
  mean concentration            4002.0 ± 5.0       x DNI
  peak concentration              4321 ± 17        x DNI, of one bin
    peak at             x_m = 0.1, y_m = -0.05
  heat at 800 K
    heat input                   953.2 ± 1.5       W, direct sun included
    heat loss                  6372.47             W
    useful heat                -5419.2 ± 1.5       W
    maximum work              -3387.02 ± 0.95      W, Carnot
    stagnation at               471.15 ± 0.19      K
    best temperature           383.363 ± 0.094     K
    maximum work then           124.52 ± 0.33      W, Carnot

warning: two of a million samples left their own surface again
warning: the precision asked for was not reached within the samples allowed
)");
}

TEST_CASE("no line of the text is wider than 80 columns", "[results]") {
  auto result = test::example_result();
  for (auto& term : result.budget) term = {123456789.123, 0.0123};
  result.dni_W_m2 = 1033.3333;
  result.aperture_area_m2 = 987654.321;
  result.warnings = {std::string(60, 'a') + " " + std::string(60, 'b')};
  result.receivers[0].peak_at = {-123.456, 0.0001234};
  result.receivers[0].flux.first.name = "azimuth_rad";
  result.receivers[0].flux.second.name = "height_m";
  std::istringstream lines(result_text(test::example_scene(), result));
  int widest = 0;
  for (std::string line; std::getline(lines, line);) {
    int width = 0;
    for (const char c : line) width += (static_cast<unsigned char>(c) & 0xC0U) != 0x80U;  // UTF-8: one a character
    CAPTURE(line);
    CHECK(width <= 80);
    widest = std::max(widest, width);
  }
  CHECK(widest > 60);  // the loop has seen the table
}
