#include "steer/spoilt_tracer.h"

#include <iterator>
#include <optional>
#include <utility>

namespace catoptra {
namespace {

double term_W(const std::array<double, term_count>& terms, Term term) {
  return terms[static_cast<std::size_t>(term)];
}

}  // namespace

SpoiltTracer::SpoiltTracer(const Scene& scene, const Schedule& schedule, Options options) : options_(options) {
  for (std::size_t row = 0; row < schedule.rows.size(); ++row) {
    scenes_.push_back(held(scene_at(scene, schedule, row)));
    for (Component& component : scenes_.back().components) component.flux_bins = {1, 1};
  }
}

SpoiltPowers SpoiltTracer::operator()(const std::string& name, const std::function<void(Scene&)>& spoil) const {
  if (options_.memory == nullptr) return traced(spoil);
  const auto key = trace_key(scenes_.front(),
                             {.samples = options_.samples, .seed = options_.seed, .replicates = options_.replicates},
                             "all suns: " + name + " of " + scenes_.front().text);
  const auto n = static_cast<std::ptrdiff_t>(options_.replicates);
  if (const auto known = options_.memory->numbers(key); known && std::ssize(*known) == 3 * n) {
    const auto at = known->begin();
    return {{at, at + n}, {at + n, at + 2 * n}, {at + 2 * n, at + 3 * n}};
  }
  SpoiltPowers out = traced(spoil);
  std::vector<double> all = out.absorbed;
  all.insert(all.end(), out.arriving.begin(), out.arriving.end());
  all.insert(all.end(), out.leaving.begin(), out.leaving.end());
  options_.memory->keep(key, std::move(all));
  return out;
}

SpoiltPowers SpoiltTracer::traced(const std::function<void(Scene&)>& spoil) const {
  const auto replicates = static_cast<std::size_t>(options_.replicates);
  SpoiltPowers out{std::vector<double>(replicates), std::vector<double>(replicates), std::vector<double>(replicates)};
  Workers alone(1);
  std::optional<PreparedScene> prepared;  // an error changes shapes and finishes alike for all suns, and moves the rest
  for (std::size_t sun = 0; sun < scenes_.size(); ++sun) {
    Scene scene = scenes_[sun];
    if (is_asked(options_.stop)) throw Stopped();
    spoil(scene);
    const Stand stand = stand_of(scene);
    if (prepared)
      prepared->move(stand);
    else
      prepared.emplace(scene, stand);
    const TraceResult result = trace(*prepared, {.samples = options_.samples,
                                                 .seed = sun_seed(options_.seed, sun),
                                                 .replicates = options_.replicates,
                                                 .workers = &alone,
                                                 .paths = 0});
    for (std::size_t r = 0; r < replicates; ++r) {
      const auto& terms = result.budget_by_replicate[r];
      const double arriving = term_W(terms, Term::absorbed) + term_W(terms, Term::receiver_reflection);
      out.absorbed[r] += term_W(terms, Term::absorbed);
      out.arriving[r] += arriving;
      out.leaving[r] += arriving + term_W(terms, Term::spillage);
    }
  }
  return out;
}

}  // namespace catoptra
