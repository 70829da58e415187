// Dishes whose receivers have nothing even about them: one against a second tracer, six against one, in every number of
// the result and bin by bin. What comes in more than one (copies, axes, sides of a bin) is there to be mixed up.
#include <algorithm>

#include "statistical/bare_dish.h"
#include "statistical/estimates.h"

using namespace catoptra;
using namespace catoptra::test;

namespace {

constexpr double dni_W_m2 = 1000, reflectance = 0.9, roll_deg = 25, tube_roll_deg = 70;
constexpr double plate_absorptance = 0.8, tube_absorptance = 0.7, aperture_m2 = pi * 9;

std::string scene_text(const std::string& array) {
  return head(point_sun, "reflectance = 0.9\nspecularity_error_mrad = [4, 0.2]", {150, 50}) + R"(
[finish.grey]
kind = "absorber"
absorptance = 0.8
rest = "specular"
[finish.dull]
kind = "absorber"
absorptance = 0.7
rest = "specular"
)" + component("primary", "dish", R"(
shape = { kind = "paraboloid", focal_length_m = 5 }
aperture = { kind = "circle", diameter_m = 6 }
finish = "silver"
mount = { kind = "two_axis", pivot_m = [3, -2, 4], offset_m = [0, 0, 0.5] }
)" + array) +
         component("receiver", "plate", R"(
shape = { kind = "plane" }
aperture = { kind = "rectangle", width_m = 0.08, length_m = 0.03 }
finish = "grey"
mount = { kind = "carried", by = "dish", position_m = [0.012, -0.006, 5], axis = [0, 0, -1], roll_deg = 25 }
flux = { bins = [40, 10] }
)") + component("receiver", "tube", R"(
shape = { kind = "cylinder", radius_m = 0.03, length_m = 0.2 }
finish = "dull"
mount = { kind = "carried", by = "dish", position_m = [-0.02, 0.01, 5.06], axis = [0.6, 0.8, 0], roll_deg = 70 }
flux = { bins = [24, 15] }
)");
}

const std::string six = "array = { kind = \"grid\", count = [3, 2], spacing_m = [40, 50] }\n";

reference::BareDish::Outcome bare(double roll_error_deg = 0, std::array<double, 2> scatter_rad = {4e-3, 0.2e-3}) {
  using reference::Stand;
  const reference::BareDish dish{
      5,    3,    scatter_rad, Stand({0.012, -0.006, 5}, {0, 0, -1}, (roll_deg + roll_error_deg) * degree_rad),
      0.08, 0.03, {40, 10},    Stand({-0.02, 0.01, 5.06}, {0.6, 0.8, 0}, tube_roll_deg * degree_rad),
      0.03, 0.2,  {24, 15}};
  return dish.run(2'000'000, 20260621);
}

/// Of n rays of `all`, each of the same power: the share is binomial.
Estimate share_of(double n, double all) {
  const double share = n / all;
  return {share, std::sqrt(share * (1 - share) / all)};
}

/// By so many standard errors of both together; a count of none has the error of one.
double sigmas_apart(const Estimate& a, const Estimate& b, double one = 0) {
  const double error = std::max(std::hypot(a.standard_error, b.standard_error), one);
  return std::fabs(a.value - b.value) / (error + 1e-12 * std::fabs(b.value) + 1e-300);
}
bool agree(const Estimate& a, const Estimate& b) {
  return sigmas_apart(a, b) <= 5;
}

/// The largest distance of two maps in any bin, in standard errors of both; `one` is the flux of one ray in a bin.
double farthest_bin(const FluxMap& map, const std::vector<Estimate>& expected, const std::vector<double>& one) {
  double worst = 0;
  for (std::size_t i = 0; i < expected.size(); ++i)
    worst = std::max(worst, sigmas_apart({map.flux_W_m2[i], map.standard_error_W_m2[i]}, expected[i], one[i]));
  return worst;
}

/// One receiver against the second tracer's counts of it.
void check_receiver(const TraceResult& got, std::size_t which, const reference::Counts& counts, double rays,
                    double absorptance, double area_m2) {
  const ReceiverResult& receiver = got.receivers[which];
  CAPTURE(receiver.name);
  const double sent_W = dni_W_m2 * aperture_m2 * reflectance;
  const Estimate arriving_W = times(share_of(counts.all, rays), sent_W);
  CHECK(agree(receiver.arriving_power_W, arriving_W));
  CHECK_FALSE(agree(times(receiver.arriving_power_W, 1.03), arriving_W));
  CHECK(agree(receiver.absorbed_power_W, times(arriving_W, absorptance)));
  CHECK(receiver.area_m2 == Approx(area_m2).epsilon(1e-12));
  CHECK(agree(receiver.mean_concentration, times(arriving_W, 1 / (area_m2 * dni_W_m2))));

  const double bin_m2 = area_m2 / static_cast<double>(counts.bin.size());
  std::vector<Estimate> flux;
  for (const double n : counts.bin) flux.push_back(times(share_of(n, rays), sent_W / bin_m2));
  const std::vector<double> one(flux.size(), sent_W / rays / bin_m2);
  REQUIRE(receiver.flux.flux_W_m2.size() == flux.size());
  for (const double area : receiver.flux.area_m2) CHECK(area == Approx(bin_m2).epsilon(1e-9));
  // Six rather than five: 760 bins, and in those of few rays the spread of 32 replicates knows its error badly.
  CHECK(farthest_bin(receiver.flux, flux, one) < 6);
  std::vector<Estimate> turned = flux;  // the twin: the map the other way round
  std::ranges::reverse(turned);
  CHECK(farthest_bin(receiver.flux, turned, one) > 20);

  // The peak lies in a bin that is none of the dimmer ones, by its place on the axes.
  const auto bin_of = [](const FluxAxis& axis, double x) {
    return std::ranges::upper_bound(axis.edges, x) - axis.edges.begin() - 1;
  };
  const auto peak = static_cast<std::size_t>(bin_of(receiver.flux.first, receiver.peak_at[0]) * counts.columns +
                                             bin_of(receiver.flux.second, receiver.peak_at[1]));
  REQUIRE(peak < flux.size());
  const auto brightest = std::ranges::max_element(flux, {}, &Estimate::value);
  CHECK(flux[peak].value > 0.9 * brightest->value);
  CHECK(std::fabs(receiver.peak_concentration.value * dni_W_m2 - brightest->value) < 0.1 * brightest->value);

  const auto within = [&](double radius_m) {
    return share_of(static_cast<double>(std::ranges::count_if(
                        counts.distances_m, [&](double distance_m) { return distance_m < radius_m; })),
                    counts.all);
  };
  for (const std::size_t k : {25, 75, 150, 230}) {
    const double edge_m = receiver.enclosed.radius_m[k];
    CAPTURE(edge_m);
    // What comes back to a receiver a second time, which the second tracer leaves out, is some ten-thousandth.
    const auto is_share = [&](double radius_m) {
      const Estimate expected = within(radius_m);
      return std::fabs(receiver.enclosed.fraction[k] - expected.value) <=
             5 * std::hypot(receiver.enclosed.standard_error[k], expected.standard_error) + 3e-4;
    };
    CHECK(is_share(edge_m));
    if (k == 75) CHECK_FALSE(is_share(0.9 * edge_m));
  }
}

}  // namespace

TEST_CASE("an uneven dish: every number and bin as a second tracer finds them", "[statistical][dishes]") {
  const auto got = traced(scene_text(""), 1 << 20);
  const auto ref = bare();
  const double full_W = dni_W_m2 * aperture_m2;
  CHECK(got.incident_power_W == Approx(full_W).epsilon(1e-9));
  CHECK(agree(term(got, Term::shading), times(share_of(ref.in_shadow, ref.rays), full_W)));
  CHECK(agree(term(got, Term::spillage), times(share_of(ref.spilt, ref.rays), full_W * reflectance)));
  CHECK(agree(term(got, Term::primary_absorption),
              times(share_of(ref.rays - ref.in_shadow, ref.rays), full_W * (1 - reflectance))));
  const double arrived = ref.plate.all + ref.tube.all;
  CHECK(agree(got.intercept_factor, share_of(arrived, arrived + ref.spilt)));
  for (const auto& receiver : got.receivers) {
    const double own = receiver.name == "plate" ? ref.plate.all : ref.tube.all;
    CHECK(agree(receiver.intercept_factor, share_of(own, arrived + ref.spilt)));
    CHECK(own > 0.05 * arrived);  // each is there to be seen
  }
  check_receiver(got, 0, ref.plate, ref.rays, plate_absorptance, 0.08 * 0.03);
  check_receiver(got, 1, ref.tube, ref.rays, tube_absorptance, 2 * pi * 0.03 * 0.2);
  // The sun itself on the tube's upper half: as much as its silhouette catches, none of it lies in the plate's shadow.
  const Estimate& direct_W = got.receivers[1].direct_power_W;
  CHECK(agree(direct_W, {tube_absorptance * dni_W_m2 * 2 * 0.03 * 0.2, 0}));
  CHECK(got.receivers[0].direct_power_W.value < 0.01 * direct_W.value);

  // Twins: the spread's axes the other way round, the roll forgotten.
  const auto swapped = bare(0, {0.2e-3, 4e-3}), unrolled = bare(-roll_deg);
  CHECK_FALSE(agree(got.receivers[0].intercept_factor,
                    share_of(swapped.plate.all, swapped.plate.all + swapped.tube.all + swapped.spilt)));
  CHECK_FALSE(agree(got.receivers[0].intercept_factor,
                    share_of(unrolled.plate.all, unrolled.plate.all + unrolled.tube.all + unrolled.spilt)));
}

TEST_CASE("six dishes with carried receivers: every number and bin as of one", "[statistical][dishes]") {
  const auto one = traced(scene_text(""), 1 << 20), all = traced(scene_text(six), 1 << 21, 2);
  // Powers of six; all that is a share, a density or a length is that of one.
  CHECK(all.aperture_area_m2 == Approx(6 * one.aperture_area_m2).epsilon(1e-12));
  CHECK(all.incident_power_W == Approx(6 * one.incident_power_W).epsilon(1e-12));
  for (std::size_t t = 1; t < term_count; ++t) {  // but for the cosine, which is none here
    CAPTURE(term_names[t]);
    CHECK(agree(all.budget[t], times(one.budget[t], 6)));
    CHECK((one.budget[t].value == 0 || !agree(times(all.budget[t], 5.0 / 6), times(one.budget[t], 6))));
  }
  CHECK(agree(all.optical_efficiency, one.optical_efficiency));
  CHECK(agree(all.intercept_factor, one.intercept_factor));
  REQUIRE(all.receivers.size() == 2);
  for (std::size_t r = 0; r < 2; ++r) {
    const ReceiverResult &of_six = all.receivers[r], &of_one = one.receivers[r];
    CAPTURE(of_one.name);
    CHECK(of_six.name == of_one.name);
    CHECK(of_six.area_m2 == Approx(6 * of_one.area_m2).epsilon(1e-12));
    CHECK(agree(of_six.arriving_power_W, times(of_one.arriving_power_W, 6)));
    CHECK(agree(of_six.absorbed_power_W, times(of_one.absorbed_power_W, 6)));
    CHECK(agree(of_six.direct_power_W, times(of_one.direct_power_W, 6)));
    CHECK(agree(of_six.intercept_factor, of_one.intercept_factor));
    CHECK(agree(of_six.mean_concentration, of_one.mean_concentration));
    CHECK(of_six.peak_concentration.value == Approx(of_one.peak_concentration.value).epsilon(0.1));
    CHECK(of_six.flux.first.edges == of_one.flux.first.edges);
    CHECK(of_six.flux.second.edges == of_one.flux.second.edges);
    CHECK(of_six.flux.area_m2 == of_one.flux.area_m2);
    CHECK(of_six.enclosed.radius_m == of_one.enclosed.radius_m);
    for (std::size_t k = 0; k < of_one.enclosed.fraction.size(); ++k)
      CHECK(agree({of_six.enclosed.fraction[k], of_six.enclosed.standard_error[k]},
                  {of_one.enclosed.fraction[k], of_one.enclosed.standard_error[k]}));
    std::vector<Estimate> flux;
    std::vector<double> ray;
    for (std::size_t i = 0; i < of_one.flux.flux_W_m2.size(); ++i) {
      flux.push_back({of_one.flux.flux_W_m2[i], of_one.flux.standard_error_W_m2[i]});
      ray.push_back(dni_W_m2 * aperture_m2 / (1 << 20) / of_one.flux.area_m2[i]);
    }
    CHECK(farthest_bin(of_six.flux, flux, ray) < 6);
    for (Estimate& bin : flux) bin = times(bin, 6);
    CHECK(farthest_bin(of_six.flux, flux, ray) > 20);
  }
}
