#include "words/sun_means.h"

#include <cmath>
#include <set>

namespace catoptra {
namespace {

bool are_apart(const std::vector<std::uint64_t>& seeds) {
  return std::set(seeds.begin(), seeds.end()).size() == seeds.size();
}

}  // namespace

Estimate mean_over_suns(std::span<const Estimate> suns, bool samples_apart) {
  double sum = 0, errors = 0, squares = 0;
  for (const auto& [value, error] : suns) {
    sum += value;
    errors += error;
    squares += error * error;
  }
  const auto n = static_cast<double>(suns.size());
  return {sum / n, (samples_apart ? std::sqrt(squares) : errors) / n};
}

bool samples_are_apart(const Schedule& schedule) {
  std::vector<std::uint64_t> seeds;
  for (const ScheduleRow& row : schedule.rows) seeds.push_back(row.result.seed);
  return are_apart(seeds);
}

bool samples_are_apart(const StoredFile& schedule) {
  const auto* seeds = schedule.values<std::uint64_t>("/sun/seed");
  return seeds != nullptr && are_apart(*seeds);
}

std::vector<Estimate> means_over_suns(const StoredFile& schedule, const StoredSet& set) {
  std::vector<Estimate> out;
  const auto* values = std::get_if<std::vector<double>>(&set.values);
  if (values == nullptr || set.over.empty() || set.over.front() != "/time" || set.scale || values->empty()) return out;
  const bool apart = samples_are_apart(schedule);
  const auto* errors = schedule.errors(set.path);
  const std::size_t suns = set.shape.front(), others = values->size() / suns;
  for (std::size_t k = 0; k < others; ++k) {
    std::vector<Estimate> of_suns;
    for (std::size_t at = k; at < values->size(); at += others)
      of_suns.push_back({(*values)[at], errors != nullptr && at < errors->size() ? (*errors)[at] : 0});
    out.push_back(mean_over_suns(of_suns, apart));
  }
  return out;
}

}  // namespace catoptra
