// The peak of a map whose truth is known, from counts drawn about it.
#include "trace/tally/peak.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <numeric>
#include <random>

namespace catoptra {

namespace {

constexpr int replicates = 32;

struct DrawnMap {
  FluxMap map;
  std::vector<Ledger> ledgers;
};

/// Counts of bins of area 1 m2 with these means, whose map's standard errors are `error` of each mean.
DrawnMap drawn(const std::vector<double>& truth, double error, std::mt19937_64& random) {
  DrawnMap out{.map = {}, .ledgers = empty_ledgers(replicates, truth.size())};
  for (std::size_t b = 0; b < truth.size(); ++b) {
    std::normal_distribution<double> about(truth[b], error * std::sqrt(truth[b] * truth[0] * replicates));
    std::vector<double> values;
    for (Ledger& ledger : out.ledgers) {
      ledger.add(b, to_fixed(about(random)));
      values.push_back(from_fixed(ledger[b]));
    }
    const Estimate mean = mean_of(values);
    out.map.area_m2.push_back(1);
    out.map.flux_W_m2.push_back(mean.value);
    out.map.standard_error_W_m2.push_back(mean.standard_error);
  }
  return out;
}

/// No bin is counted with another.
std::vector<int> alone(const DrawnMap& data) {
  std::vector<int> out(data.map.area_m2.size());
  std::iota(out.begin(), out.end(), 0);
  return out;
}

struct Coverage {
  double mean = 0, mean_error = 0, within_two = 0;
  double largest_mean = 0;  // of the fullest bins, as a naive peak would have it
};

Coverage cover(const std::vector<double>& truth, double error) {
  constexpr int runs = 400;
  std::mt19937_64 random(20260621);
  Coverage out;
  std::vector<double> values;
  for (int run = 0; run < runs; ++run) {
    const DrawnMap data = drawn(truth, error, random);
    const Peak peak = peak_of(data.map, alone(data), data.ledgers, 0, 1);
    values.push_back(peak.flux_W_m2.value);
    out.within_two +=
        std::fabs(peak.flux_W_m2.value - truth[0]) < 2.04 * peak.flux_W_m2.standard_error ? 1.0 / runs : 0;
    out.largest_mean += data.map.flux_W_m2[peak.bin] / runs;
  }
  const Estimate mean = mean_of(values);
  out.mean = mean.value;
  out.mean_error = mean.standard_error;
  return out;
}

}  // namespace

TEST_CASE("the peak of equal bins has no bias, and its error covers", "[trace][peak]") {
  const Coverage got = cover(std::vector<double>(200, 50.0), 0.04);
  CHECK(std::fabs(got.mean - 50) < 5 * got.mean_error);
  CHECK(got.mean_error < 0.1);
  CHECK(got.within_two > 0.95 - 5 * std::sqrt(0.95 * 0.05 / 400));
  CHECK(got.largest_mean > 1.08 * 50);  // the largest of 200 noisy numbers stands 2.75 of their errors above
}

TEST_CASE("a peak that stands out is found", "[trace][peak]") {
  std::vector<double> truth(200, 20.0);
  truth[0] = 50;
  const Coverage got = cover(truth, 0.04);
  CHECK(std::fabs(got.mean - 50) < 5 * got.mean_error);
  CHECK(std::fabs(got.mean - 1.02 * 50) > 5 * got.mean_error);
  CHECK(got.within_two > 0.95 - 5 * std::sqrt(0.95 * 0.05 / 400));
  CHECK(got.within_two < 1);  // an error twice as large would cover always
}

TEST_CASE("near a smooth peak the estimate stands a little low, within its error", "[trace][peak]") {
  std::vector<double> truth;  // a Gaussian spot; the bin of its centre first
  for (int i = -15; i <= 15; ++i) {
    for (int j = -15; j <= 15; ++j) truth.push_back(50 * std::exp(-(i * i + j * j) / 200.0));
  }
  std::swap(truth[0], truth[15 * 31 + 15]);
  const Coverage got = cover(truth, 0.04);
  CHECK(got.mean < 50);
  CHECK(got.mean > 50 - 0.04 * 50);  // one error
  CHECK(got.within_two > 0.95 - 5 * std::sqrt(0.95 * 0.05 / 400));
  CHECK(got.largest_mean > 50 + 0.04 * 50);
}

TEST_CASE("two and three replicates, bins without area, maps without light", "[trace][peak]") {
  std::mt19937_64 random(3);
  for (const std::size_t few : {2, 3}) {
    DrawnMap data = drawn({50, 10, 10}, 0.01, random);
    data.ledgers.erase(data.ledgers.begin() + static_cast<int>(few), data.ledgers.end());
    const Peak peak = peak_of(data.map, alone(data), data.ledgers, 0, 2);
    CHECK(peak.bin == 0);
    CHECK(std::fabs(peak.flux_W_m2.value - 100) < 20);
  }
  DrawnMap data = drawn({50, 10, 90}, 0.01, random);
  data.map.area_m2[0] = 0.01;  // a sliver: its flux would be 5000
  data.map.flux_W_m2[0] *= 100;
  data.map.area_m2[2] = 0;
  data.map.flux_W_m2[2] = std::nan("");
  CHECK(peak_of(data.map, alone(data), data.ledgers, 0, 1).bin == 1);
  for (Ledger& ledger : data.ledgers) ledger.clear();
  data.map.flux_W_m2[1] = data.map.standard_error_W_m2[1] = 0;
  CHECK(peak_of(data.map, alone(data), data.ledgers, 0, 1).flux_W_m2.value == 0);
}

}  // namespace catoptra
