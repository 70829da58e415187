// Parabolic troughs under a sun overhead. Seen from the focus a mirror point lies at the angle psi from the axis, rho =
// 2 f / (1 + cos psi) away, x = 2 f tan(psi / 2). A ray at the transverse angle t off the central ray meets a tube of
// radius r where |sin t| < r / rho, and a flat strip at rho sin t / cos(psi + t). P. Bendt, A. Rabl, H. W. Gaul and
// K. A. Reed, SERI/TR-34-092 (1979); A. Rabl, Active Solar Collectors and Their Applications (1985); from memory.
#include <boost/math/quadrature/gauss_kronrod.hpp>

#include "statistical/estimates.h"

using namespace catoptra;
using namespace catoptra::test;

namespace {

constexpr double focal_m = 1, length_m = 10;
constexpr double inner_m = 0.12 * focal_m;  // the mirror begins here, beyond the receiver's shadow

double rim_m(double rim_deg) {
  return 2 * focal_m * std::tan(rim_deg * degree_rad / 2);
}

/// Both wings of a trough, x from inner_m to the rim.
std::string trough(double rim_deg, const std::string& sun, const std::string& mirror, const std::string& receiver,
                   SunAt at = {}) {
  std::string out = head(sun, "reflectance = 1\n" + mirror, at);
  const double width_m = rim_m(rim_deg) - inner_m;
  for (const int side : {1, -1}) {
    out +=
        component("primary", side > 0 ? "east wing" : "west wing",
                  fmt::format("shape = {{ kind = \"parabolic_trough\", focal_length_m = {} }}\n"
                              "aperture = {{ kind = \"rectangle\", width_m = {}, length_m = {}, center_m = [{}, 0] }}\n"
                              "finish = \"silver\"\nmount = {{ kind = \"fixed\" }}",
                              focal_m, width_m, length_m, side * (inner_m + width_m / 2)));
  }
  return out + component("receiver", "line", receiver);
}
/// Receivers 2 m longer than the mirror, so that no light passes their ends.
constexpr double receiver_length_m = length_m + 2;
std::string tube(double radius_m, double tube_length_m = receiver_length_m) {
  return fmt::format(
      "shape = {{ kind = \"cylinder\", radius_m = {}, length_m = {} }}\nfinish = \"black\"\n"
      "mount = {{ kind = \"fixed\", position_m = [0, 0, {}], axis = [0, 1, 0] }}",
      radius_m, tube_length_m, focal_m);
}
std::string strip(double half_width_m) {
  return fmt::format(
      "shape = {{ kind = \"plane\" }}\nfinish = \"black\"\n"
      "aperture = {{ kind = \"rectangle\", width_m = {}, length_m = {} }}\n"
      "mount = {{ kind = \"fixed\", position_m = [0, 0, {}], axis = [0, 0, -1] }}",
      2 * half_width_m, receiver_length_m, focal_m);
}

/// Share of light within +-t of the central ray.
double gaussian_within(double t, double sigma) {
  return std::erf(t / (sigma * std::sqrt(2.0)));
}
/// A disc of even brightness projected on the transverse plane has a semicircle law; closed form.
double disc_within(double t) {
  const double u = std::min(1.0, std::sin(t) / std::sin(sun_rad));
  return 2 / pi * (std::asin(u) + u * std::sqrt(1 - u * u));
}

template <class Share>
double wing_mean(double from_m, double rim_deg, Share&& share) {
  const auto at = [&](double x) { return share(focal_m + x * x / (4 * focal_m), 2 * std::atan(x / (2 * focal_m))); };
  const double to_m = rim_m(rim_deg);
  return boost::math::quadrature::gauss_kronrod<double, 31>::integrate(at, from_m, to_m, 12, 1e-10) / (to_m - from_m);
}
double tube_intercept(double from_m, double rim_deg, double radius_m, double sigma) {
  return wing_mean(from_m, rim_deg,
                   [&](double rho, double) { return gaussian_within(std::asin(radius_m / rho), sigma); });
}
/// The two angles at which the strip's edges are met, solved for t.
double strip_intercept(double from_m, double rim_deg, double half_width_m, double sigma) {
  return wing_mean(from_m, rim_deg, [&](double rho, double psi) {
    const double w = half_width_m;
    const double toward = std::atan(w * std::cos(psi) / (rho + w * std::sin(psi)));
    const double away = std::atan(w * std::cos(psi) / (rho - w * std::sin(psi)));
    return (gaussian_within(toward, sigma) + gaussian_within(away, sigma)) / 2;
  });
}

/// rms of the sun, the mirror's slopes and its specularity, each on one axis.
struct Spread {
  double sun_mrad, slope_mrad, specularity_mrad;
  std::string sun() const {
    return sun_mrad > 0 ? fmt::format("kind = \"gaussian\", sigma_mrad = {}", sun_mrad) : point_sun;
  }
  std::string mirror() const {
    return fmt::format("slope_error_mrad = {}\nspecularity_error_mrad = {}", slope_mrad, specularity_mrad);
  }
  double total_rad() const {  // a slope error turns the ray by twice itself
    return 1e-3 * std::sqrt(sun_mrad * sun_mrad + 4 * slope_mrad * slope_mrad + specularity_mrad * specularity_mrad);
  }
  std::string text() const {
    return fmt::format("sun {}, slope {}, specularity {} mrad", sun_mrad, slope_mrad, specularity_mrad);
  }
};
const std::vector<Spread> spreads{{3, 0, 0}, {0, 2, 0}, {0, 0, 3}, {2.3, 2, 1.5}};

}  // namespace

TEST_CASE("the reference gives the known intercepts of a tube", "[statistical][trough]") {
  // Rim 90 degrees, concentration C = W / (pi d), small angles; another quadrature, with scipy.
  const double sigma = 1e-5;
  for (const auto& [sigma_c, expected] :
       std::vector<std::pair<double, double>>{{.10, .99988}, {.20, .97394}, {.30, .88476}, {.50, .67267}}) {
    const double radius_m = 2 * rim_m(90) / (2 * pi * (sigma_c / sigma));
    CHECK(tube_intercept(0, 90, radius_m, sigma) == Approx(expected).margin(6e-6));
  }
}

TEST_CASE("trough with a tube: Gaussian spreads add in quadrature", "[statistical][trough]") {
  for (const double rim_deg : {45.0, 70.0, 90.0}) {
    for (const Spread& spread : spreads) {
      INFO("rim " << rim_deg << ", " << spread.text());
      const double sigma = spread.total_rad(), radius_m = 2.2 * sigma * focal_m;
      const auto got = traced(trough(rim_deg, spread.sun(), spread.mirror(), tube(radius_m)));
      const double expected = tube_intercept(inner_m, rim_deg, radius_m, sigma);
      CHECK_THAT(got.intercept_factor, WithinSigmas(expected, 5));
      CHECK_THAT(got.intercept_factor, !WithinSigmas(tube_intercept(inner_m, rim_deg, radius_m, 1.03 * sigma), 5));
      CHECK_THAT(term(got, Term::shading), WithinSigmas(0, 5));
    }
  }
}

TEST_CASE("trough: slope errors across it count twice, along it not at all", "[statistical][trough]") {
  // A normal that turns about the trough's own y, [2, 0] mrad, turns its rays by twice that in the transverse plane.
  // One that leans along y sends them along the tube: what it adds across is of second order, a hundredth of the
  // radius.
  for (const double rim_deg : {45.0, 70.0, 90.0}) {
    INFO("rim " << rim_deg);
    const double sigma = 4e-3, radius_m = 2.2 * sigma * focal_m;
    const auto across = traced(trough(rim_deg, point_sun, "slope_error_mrad = [2, 0]", tube(radius_m)));
    CHECK_THAT(across.intercept_factor, WithinSigmas(tube_intercept(inner_m, rim_deg, radius_m, sigma), 5));
    CHECK_THAT(across.intercept_factor, !WithinSigmas(tube_intercept(inner_m, rim_deg, radius_m, 1.03 * sigma), 5));
    const auto along = traced(trough(rim_deg, point_sun, "slope_error_mrad = [0, 2]", tube(radius_m)));
    CHECK(along.intercept_factor.value == 1);
  }
}

TEST_CASE("trough with a flat strip", "[statistical][trough]") {
  for (const double rim_deg : {30.0, 45.0, 60.0}) {
    for (const Spread& spread : spreads) {
      INFO("rim " << rim_deg << ", " << spread.text());
      const double sigma = spread.total_rad(), half_m = 2 * sigma * focal_m;
      const auto got = traced(trough(rim_deg, spread.sun(), spread.mirror(), strip(half_m)));
      const double expected = strip_intercept(inner_m, rim_deg, half_m, sigma);
      CHECK_THAT(got.intercept_factor, WithinSigmas(expected, 5));
      CHECK_THAT(got.intercept_factor, !WithinSigmas(strip_intercept(inner_m, rim_deg, half_m, 1.03 * sigma), 5));
    }
  }
}

TEST_CASE("trough under an even disc", "[statistical][trough]") {
  for (const double rim_deg : {45.0, 90.0}) {
    INFO("rim " << rim_deg);
    const double full_m = (focal_m + rim_m(rim_deg) * rim_m(rim_deg) / (4 * focal_m)) * std::sin(sun_rad);
    for (const double share : {0.4, 0.7}) {
      const auto expected_for = [&](double radius_m) {
        return wing_mean(inner_m, rim_deg, [&](double rho, double) { return disc_within(std::asin(radius_m / rho)); });
      };
      const auto got = traced(trough(rim_deg, disc_sun, "", tube(share * full_m)));
      CHECK_THAT(got.intercept_factor, WithinSigmas(expected_for(share * full_m), 5));
      CHECK_THAT(got.intercept_factor, !WithinSigmas(expected_for(1.02 * share * full_m), 5));
    }
    // The tube that just catches all: its concentration W / (2 pi r) is sin(rim) / (pi sin T) for a whole mirror.
    CHECK(2 * rim_m(rim_deg) / (2 * pi * full_m) ==
          Approx(std::sin(rim_deg * degree_rad) / (pi * std::sin(sun_rad))).epsilon(1e-12));
    CHECK(traced(trough(rim_deg, disc_sun, "", tube(1.0001 * full_m))).intercept_factor.value == 1);
    CHECK(traced(trough(rim_deg, disc_sun, "", tube(0.97 * full_m))).intercept_factor.value < 1);
  }
}

TEST_CASE("peak on the focal plane of a perfect trough", "[statistical][trough]") {
  // Light comes to the line's middle evenly spread over psi with 2 DNI / (pi T) a radian, the semicircle's top, and
  // cos(psi) of it falls on the plane: 4 sin(rim) / (pi T), 237.13 for a rim of 60 degrees. Less what the gap lacks.
  // Averaged over +- 0.02 of the image's half-width the semicircle has lost 7e-5.
  const double whole = 4 * std::sin(60 * degree_rad) / (pi * std::sin(sun_rad));
  CHECK(whole == Approx(237.13).margin(0.01));
  const double expected = whole - 4 * std::sin(2 * std::atan(inner_m / 2 / focal_m)) / (pi * std::sin(sun_rad));
  const auto got = traced(trough(60, disc_sun, "", strip(0.02 * focal_m * sun_rad)), 1 << 21);
  const double lit_share = length_m / receiver_length_m;
  CHECK_THAT(got.receivers[0].mean_concentration, WithinSigmas(lit_share * expected * (1 - 7e-5), 5));
  CHECK_THAT(got.receivers[0].mean_concentration, !WithinSigmas(1.03 * lit_share * expected, 5));
}

TEST_CASE("trough: ends lose light when the sun stands along it", "[statistical][trough]") {
  // A ray from y lands rho tan(th) further on, less the tube's radius: with a tube as long as the mirror the mean loss
  // is (mean rho - r) tan(th) / L, mean rho = f + mean x^2 / 4f. For a thin tube and a whole mirror that is Rabl's (f /
  // L) tan(th) (1 + W^2 / 48 f^2).
  constexpr double radius_m = 0.02;
  const double outer_m = rim_m(80);
  const double mean_square_m2 = (std::pow(outer_m, 3) - std::pow(inner_m, 3)) / (3 * (outer_m - inner_m));
  for (const double tilt_deg : {10.0, 30.0, 60.0}) {
    INFO("incidence angle " << tilt_deg);
    const auto got = traced(trough(80, point_sun, "", tube(radius_m, length_m), {180, 90 - tilt_deg}));
    const double mean_path_m = focal_m + mean_square_m2 / (4 * focal_m) - radius_m;
    const double loss = mean_path_m * std::tan(tilt_deg * degree_rad) / length_m;
    CHECK_THAT(got.intercept_factor, WithinSigmas(1 - loss, 5));
    CHECK_THAT(got.intercept_factor, !WithinSigmas(1 - 1.03 * loss, 5));
    const double full_W = 1000 * got.aperture_area_m2;
    CHECK(term(got, Term::cosine).value == Approx(full_W * (1 - std::cos(tilt_deg * degree_rad))).epsilon(1e-12));
    CHECK(got.aperture_area_m2 == Approx(2 * (outer_m - inner_m) * length_m).epsilon(1e-12));
  }
}
