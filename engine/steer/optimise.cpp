#include "steer/optimise.h"

#include <algorithm>
#include <cmath>
#include <exception>
#include <nlopt.hpp>

namespace catoptra {
namespace {

/// Hands a Merit to NLopt; an exception stops the run and is thrown again outside of it.
struct Tried {
  const Merit& merit;
  nlopt::opt& run;
  std::vector<Optimum> points{};
  std::exception_ptr fault{};

  static double call(const std::vector<double>& at, std::vector<double>&, void* self) {
    auto& tried = *static_cast<Tried*>(self);
    if (tried.fault) return 0;
    try {
      tried.points.push_back({at, tried.merit(at)});
      return tried.points.back().value;
    } catch (...) {
      tried.fault = std::current_exception();
      tried.run.force_stop();
      return 0;
    }
  }
};

std::vector<Optimum> run(nlopt::algorithm method, const Merit& merit, std::vector<double> start, double step,
                         double tolerance, int most) {
  nlopt::opt optimiser(method, static_cast<unsigned>(start.size()));
  Tried tried{merit, optimiser};
  optimiser.set_lower_bounds(-1);
  optimiser.set_upper_bounds(1);
  optimiser.set_max_objective(Tried::call, &tried);
  optimiser.set_maxeval(most);
  if (step > 0) optimiser.set_initial_step(step);
  if (tolerance > 0) optimiser.set_xtol_abs(tolerance);
  double best = 0;
  try {
    optimiser.optimize(start, best);
  } catch (const nlopt::forced_stop&) {
    if (!tried.fault) throw;
  } catch (const nlopt::roundoff_limited&) {
    // A step too small to matter: what was tried so far holds.
  }
  if (tried.fault) std::rethrow_exception(tried.fault);
  return std::move(tried.points);
}

}  // namespace

Optimum climb(const Merit& merit, const Optimum& start, double step, double tolerance, int most) {
  Optimum best = start;
  for (auto& point : run(nlopt::LN_NELDERMEAD, merit, start.at, step, tolerance, most))
    if (point.value > best.value) best = std::move(point);
  return best;
}

std::vector<Optimum> survey(const Merit& merit, std::size_t size, int most, std::size_t count, double apart) {
  auto points = run(nlopt::GN_DIRECT_L, merit, std::vector<double>(size, 0.0), 0, 0, most);
  std::ranges::stable_sort(points, std::ranges::greater(), &Optimum::value);
  std::vector<Optimum> out;
  for (auto& point : points) {
    const auto is_near = [&](const Optimum& other) {
      for (std::size_t i = 0; i < size; ++i)
        if (std::fabs(point.at[i] - other.at[i]) > apart) return false;
      return true;
    };
    if (out.size() < count && std::ranges::none_of(out, is_near)) out.push_back(std::move(point));
  }
  return out;
}

}  // namespace catoptra
