// Tracking errors: jitter averaged over rays, and bias built into the pose.
#include <boost/math/quadrature/gauss_kronrod.hpp>

#include "statistical/dish_image.h"
#include "statistical/estimates.h"

using namespace catoptra;
using namespace catoptra::test;

TEST_CASE("a dish that carries its receiver: jitter widens the sun", "[statistical][tracking]") {
  // The whole collector turns, so to it only the sun moves: Gaussians of the sun and of the jitter add in quadrature.
  const double focal_m = 5, rim_deg = 50, hole_m = 0.2, sun_sigma = 2.5e-3, jitter_sigma = 2e-3;
  const double r = 0.012 * focal_m;
  const auto got = traced(
      head("kind = \"gaussian\", sigma_mrad = 2.5", "reflectance = 1", {130, 42}) +
      component("primary", "dish",
                fmt::format("shape = {{ kind = \"paraboloid\", focal_length_m = {} }}\n"
                            "aperture = {{ kind = \"annulus\", outer_diameter_m = {}, inner_diameter_m = {} }}\n"
                            "finish = \"silver\"\nmount = {{ kind = \"two_axis\", jitter_mrad = 2 }}",
                            focal_m, 4 * focal_m * std::tan(rim_deg * degree_rad / 2), 2 * hole_m)) +
      component(
          "receiver", "target",
          fmt::format("shape = {{ kind = \"disc\", diameter_m = {} }}\nfinish = \"black\"\n"
                      "mount = {{ kind = \"carried\", by = \"dish\", position_m = [0, 0, {}], axis = [0, 0, -1] }}",
                      2 * r, focal_m)));
  const auto expected = [&](double sigma) {
    return reference::dish_intercept(rim_deg * degree_rad, focal_m, hole_m, r, reference::Stray::gaussian_sun, sigma);
  };
  CHECK_THAT(got.intercept_factor, WithinSigmas(expected(std::hypot(sun_sigma, jitter_sigma)), 5));
  CHECK_THAT(got.intercept_factor, !WithinSigmas(expected(sun_sigma), 5));
  CHECK_THAT(got.intercept_factor,
             !WithinSigmas(expected(std::hypot(sun_sigma, 2 * jitter_sigma)), 5));  // as slopes do
  CHECK_THAT(got.intercept_factor, !WithinSigmas(expected(1.02 * std::hypot(sun_sigma, jitter_sigma)), 5));
}

TEST_CASE("a trough that carries its tube: jitter widens the sun", "[statistical][tracking]") {
  const double inner_m = 0.15, outer_m = 1.6, radius_m = 0.009;
  const auto got = traced(
      head("kind = \"gaussian\", sigma_mrad = 2.5", "reflectance = 1", {90, 50}) +
      component("primary", "wing",
                fmt::format("shape = {{ kind = \"parabolic_trough\", focal_length_m = 1 }}\n"
                            "aperture = {{ kind = \"rectangle\", width_m = {}, length_m = 10, center_m = [{}, 0] }}\n"
                            "finish = \"silver\"\nmount = {{ kind = \"single_axis\", jitter_mrad = 3 }}",
                            outer_m - inner_m, (outer_m + inner_m) / 2)) +
      component("receiver", "tube",
                fmt::format("shape = {{ kind = \"cylinder\", radius_m = {}, length_m = 12 }}\nfinish = \"black\"\n"
                            "mount = {{ kind = \"carried\", by = \"wing\", position_m = [0, 0, 1], axis = [0, 1, 0] }}",
                            radius_m)));
  const auto expected = [&](double sigma) {
    const auto share = [&](double x) {
      return std::erf(std::asin(radius_m / (1 + x * x / 4)) / (sigma * std::sqrt(2.0)));
    };
    return boost::math::quadrature::gauss_kronrod<double, 31>::integrate(share, inner_m, outer_m) / (outer_m - inner_m);
  };
  CHECK_THAT(got.intercept_factor, WithinSigmas(expected(std::hypot(2.5e-3, 3e-3)), 5));
  CHECK_THAT(got.intercept_factor, !WithinSigmas(expected(std::hypot(2.5e-3, 6e-3)), 5));
  CHECK_THAT(got.intercept_factor, !WithinSigmas(expected(1.02 * std::hypot(2.5e-3, 3e-3)), 5));
}

TEST_CASE("a mirror's jitter turns its beam by twice itself, across the plane less", "[statistical][tracking]") {
  // The sun stands 30 degrees high in the south, the target 30 degrees high in the north: the mirror lies flat and i =
  // 60 degrees. A turn about x stays in the plane of incidence: 2 a. A turn about y moves the beam across: 2 b cos(i).
  const double distance_m = 100, sigma = 2e-3, side_m = 0.01;
  const Vec toward{0, std::cos(30 * degree_rad), std::sin(30 * degree_rad)};
  const std::string mount = GENERATE("kind = \"heliostat\", aim = \"target\"",
                                     "kind = \"steered\", home_m = [0, 0, 0], home_axis = [0, 0, 1]");
  INFO(mount);
  const auto strip = [&](double width_m, double length_m) {
    const auto text = head(point_sun, "reflectance = 1", {180, 30}) +
                      component("primary", "h",
                                fmt::format("shape = {{ kind = \"plane\" }}\nfinish = \"silver\"\n"
                                            "aperture = {{ kind = \"rectangle\", width_m = {}, length_m = {} }}\n"
                                            "mount = {{ {}, jitter_mrad = {} }}",
                                            side_m, side_m, mount, 1e3 * sigma)) +
                      component("receiver", "target",
                                fmt::format("shape = {{ kind = \"plane\" }}\nfinish = \"black\"\n"
                                            "aperture = {{ kind = \"rectangle\", width_m = {}, length_m = {} }}\n"
                                            "mount = {{ kind = \"fixed\", position_m = {}, axis = {} }}",
                                            width_m, length_m, text_of(distance_m * toward), text_of(-toward)));
    return traced(text).intercept_factor;
  };
  // The mirror's own width adds its variance, s^2 / 12.
  const auto within = [&](double half_m, double beam_sigma, double width_m) {
    const double total = std::hypot(distance_m * beam_sigma, width_m / std::sqrt(12.0));
    return std::erf(half_m / (total * std::sqrt(2.0)));
  };
  const Estimate in_plane = strip(20, 2 * 0.4), across = strip(2 * 0.2, 20);
  CHECK_THAT(in_plane, WithinSigmas(within(0.4, 2 * sigma, side_m / 2), 5));
  CHECK_THAT(across, WithinSigmas(within(0.2, sigma, side_m), 5));
  CHECK_THAT(in_plane, !WithinSigmas(within(0.4, 1.02 * 2 * sigma, side_m / 2), 5));
  CHECK_THAT(across, !WithinSigmas(within(0.2, 2 * sigma, side_m), 5));
}

TEST_CASE("a heliostat's bias moves the spot by twice itself", "[statistical][tracking]") {
  // Sun overhead, target 100 m above: turned by b about x the beam leaves at 2 b toward -y. A receiver that begins in
  // the middle of where the spot falls takes half of it, exactly by symmetry.
  const double bias = 5e-3, distance_m = 100;
  const auto share_beyond = [&](double edge_m) {
    return traced(head(point_sun) +
                  component("primary", "h",
                            fmt::format("shape = {{ kind = \"plane\" }}\nfinish = \"silver\"\n"
                                        "aperture = {{ kind = \"rectangle\", width_m = 0.1, length_m = 0.1 }}\n"
                                        "mount = {{ kind = \"heliostat\", aim_m = [0, 0, {}], bias_mrad = [{}, 0] }}",
                                        distance_m, 1e3 * bias)) +
                  component("receiver", "target",
                            fmt::format("shape = {{ kind = \"plane\" }}\nfinish = \"black\"\n"
                                        "aperture = {{ kind = \"rectangle\", width_m = 2, length_m = 0.8 }}\n"
                                        "mount = {{ kind = \"fixed\", position_m = [0, {}, {}], axis = [0, 0, -1] }}",
                                        edge_m - 0.4, distance_m)))
        .intercept_factor;
  };
  const double shift_m = -distance_m * std::tan(2 * bias);
  CHECK_THAT(share_beyond(shift_m), WithinSigmas(0.5, 5));
  CHECK_THAT(share_beyond(1.01 * shift_m), !WithinSigmas(0.5, 5));
  CHECK(share_beyond(1.1 * shift_m).value == 0);
  CHECK(share_beyond(0.9 * shift_m).value == 1);
}

TEST_CASE("a dish's bias moves its spot: by f b in its own frame, by 2 f b in the world", "[statistical][tracking]") {
  // Small aperture (f / 10), so coma, 3/16 (D / f)^2 = 0.2 % of the shift, stays inside the 2 % looked at. The dish
  // turns about its vertex; its axis swings by b and the image lies f tan(b) off that axis, f tan(2 b) from the old
  // one.
  const double bias = 0.02, focal_m = 10;
  const auto share_beyond = [&](const std::string& mount, double edge_m) {
    return traced(head(point_sun) +
                      component(
                          "primary", "dish",
                          fmt::format("shape = {{ kind = \"paraboloid\", focal_length_m = {} }}\nfinish = \"silver\"\n"
                                      "aperture = {{ kind = \"circle\", diameter_m = 1 }}\n"
                                      "mount = {{ kind = \"two_axis\", bias_mrad = [{}, 0] }}",
                                      focal_m, 1e3 * bias)) +
                      component("receiver", "target",
                                fmt::format("shape = {{ kind = \"plane\" }}\nfinish = \"black\"\n"
                                            "aperture = {{ kind = \"rectangle\", width_m = 0.4, length_m = 0.4 }}\n"
                                            "mount = {{ {}, position_m = [0, {}, {}], axis = [0, 0, -1] }}",
                                            mount, edge_m - 0.2, focal_m)),
                  1 << 16)
        .intercept_factor.value;
  };
  const double carried_m = -focal_m * std::tan(bias), fixed_m = -focal_m * std::tan(2 * bias);
  CHECK(share_beyond("kind = \"carried\", by = \"dish\"", 0.98 * carried_m) == 1);
  CHECK(share_beyond("kind = \"carried\", by = \"dish\"", 1.02 * carried_m) == 0);
  CHECK(share_beyond("kind = \"fixed\"", 0.98 * fixed_m) == 1);
  CHECK(share_beyond("kind = \"fixed\"", 1.02 * fixed_m) == 0);
}
