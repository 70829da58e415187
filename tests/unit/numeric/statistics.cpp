#include "numeric/statistics.h"

#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <vector>

using namespace catoptra;

TEST_CASE("mean and its standard error by hand", "[statistics]") {
  // 2 4 4 4 5 5 7 9: mean 5, squares about it 32, so s^2 = 32 / 7 and the error is sqrt(32 / 7 / 8) = sqrt(4 / 7).
  const std::array<double, 8> values{2, 4, 4, 4, 5, 5, 7, 9};
  CHECK(mean_of(values).value == 5);
  CHECK(mean_of(values).standard_error == Approx(std::sqrt(4.0 / 7)).epsilon(1e-15));
  CHECK(mean_of(std::array<double, 1>{3}).value == 3);
  CHECK(mean_of(std::array<double, 1>{3}).standard_error == 0);
  CHECK(std::isnan(mean_of(std::vector<double>{}).value));
}

TEST_CASE("a large offset costs the error no digits", "[statistics]") {
  const std::array<double, 4> values{1e12 + 1, 1e12 + 2, 1e12 + 3, 1e12 + 4};
  CHECK(mean_of(values).value == 1e12 + 2.5);
  CHECK(mean_of(values).standard_error == Approx(std::sqrt(5.0 / 12)).epsilon(1e-12));
}

TEST_CASE("ratio of means by hand", "[statistics]") {
  // Residuals a - (A / B) b = -1 0 1, so the error is sqrt(2 / (3 x 2)) / 2.
  const std::array<double, 3> a{1, 2, 3}, b{2, 2, 2};
  CHECK(ratio_of(a, b).value == 1);
  CHECK(ratio_of(a, b).standard_error == Approx(std::sqrt(1.0 / 3) / 2).epsilon(1e-15));
  // In step with each other there is no error, however much both scatter.
  const std::array<double, 3> wide{1, 5, 30}, third{3, 15, 90};
  CHECK(ratio_of(wide, third).value == Approx(1.0 / 3).epsilon(1e-15));
  CHECK(ratio_of(wide, third).standard_error < 1e-15);
  CHECK(std::isnan(ratio_of(a, std::array<double, 3>{0, 0, 0}).value));
}

TEST_CASE("Student's factors as in the printed tables", "[statistics]") {
  // NIST/SEMATECH e-Handbook of Statistical Methods, section 1.3.6.7.2, three decimals (from memory). nu = R - 1.
  struct Row {
    int nu;
    double at_95, at_99;
  };
  for (const Row& row : {Row{1, 12.706, 63.657}, Row{2, 4.303, 9.925}, Row{4, 2.776, 4.604}, Row{10, 2.228, 3.169},
                         Row{20, 2.086, 2.845}, Row{30, 2.042, 2.750}, Row{60, 2.000, 2.660}}) {
    INFO("nu " << row.nu);
    CHECK(student_t_factor(0.95, row.nu + 1) == Approx(row.at_95).margin(6e-4));
    CHECK(student_t_factor(0.99, row.nu + 1) == Approx(row.at_99).margin(6e-4));
    CHECK(student_t_factor(0.95, row.nu + 2) != Approx(row.at_95).margin(1e-5));
  }
}
