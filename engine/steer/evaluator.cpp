#include "steer/evaluator.h"

#include <algorithm>
#include <fmt/format.h>
#include <utility>

#include "numeric/expects.h"

namespace catoptra {

PreparedPool search_pool(const Scene& scene, Objective objective) {
  return PreparedPool(with_bins(scene, objective == Objective::peak ? 24 : 1));
}

Evaluator::Evaluator(const Scene& scene, const Freedom& freedom, const Clearance& clearance, PreparedPool& pool,
                     const EvaluatorOptions& options)
    : scene_(scene), from_(scene), freedom_(freedom), clearance_(clearance), pool_(pool), options_(options) {
  trace_options_.samples = options.samples;
  trace_options_.seed = options.seed;
  trace_options_.replicates = 2;           // no error is asked for here, and each replicate is a bundle at least
  trace_options_.workers = &pool.alone();  // the solver's workers try poses side by side
  trace_options_.paths = 0;
  if (options.memory == nullptr) return;
  const SearchMemory::Key text = key_of(scene.text);
  question_ = fmt::format("objective {} of {} {}", static_cast<int>(options.objective), text[0], text[1]);
}

void Evaluator::count_travel_from(std::span<const double> coordinates) {
  freedom_.apply(coordinates, from_);
  counts_travel_ = options_.travel_cost_per_m > 0;
}

double Evaluator::operator()(std::span<const double> coordinates) {
  CATOPTRA_EXPECTS(coordinates.size() == freedom_.size());
  freedom_.apply(coordinates, scene_);
  Layout layout = place(scene_, scene_.sun.toward);
  const double shortfall_m = clearance_.shortfall_m(layout);
  if (shortfall_m > 0) return -shortfall_m;
  const double value = traced_value(std::move(layout));
  if (!counts_travel_) return value;
  return value * std::max(0.0, 1 - options_.travel_cost_per_m * travel_between_m(from_, scene_, freedom_));
}

double Evaluator::traced_value(Layout layout) const {
  const auto traced = [&] {
    return value_of(options_.objective, pool_.trace({std::move(layout), scene_.sun.dni_W_m2}, trace_options_));
  };
  if (options_.memory == nullptr) return traced();
  return remembered_numbers(options_.memory, trace_key(scene_, trace_options_, question_),
                            [&] { return std::vector{traced()}; })
      .at(0);
}

}  // namespace catoptra
