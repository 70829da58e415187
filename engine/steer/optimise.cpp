#include "steer/optimise.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <exception>
#include <nlopt.hpp>

#include "numeric/sobol.h"

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
  for (double& x : start) x = std::clamp(x, -1.0, 1.0);  // its own points may lie an ulp outside, and it refuses such
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

Optimum best_tried(nlopt::algorithm method, const Merit& merit, const Optimum& start, double step, double tolerance,
                   int most) {
  Optimum best = start;
  for (auto& point : run(method, merit, start.at, step, tolerance, most))
    if (point.value > best.value) best = std::move(point);
  return best;
}

std::vector<Optimum> best_apart(std::vector<Optimum> points, std::size_t count, double apart) {
  std::ranges::stable_sort(points, std::ranges::greater(), &Optimum::value);
  std::vector<Optimum> out;
  for (auto& point : points) {
    const auto is_near = [&](const Optimum& other) {
      for (std::size_t i = 0; i < point.at.size(); ++i)
        if (std::fabs(point.at[i] - other.at[i]) > apart) return false;
      return true;
    };
    if (out.size() < count && std::ranges::none_of(out, is_near)) out.push_back(std::move(point));
  }
  return out;
}

}  // namespace

Optimum climb(const Merit& merit, const Optimum& start, double step, double tolerance, int most) {
  return best_tried(nlopt::LN_NELDERMEAD, merit, start, step, tolerance, most);
}

Optimum climb_by_model(const Merit& merit, const Optimum& start, double step, double tolerance, int most) {
  const bool has_model = start.at.size() > 1;  // the method needs two coordinates
  return best_tried(has_model ? nlopt::LN_BOBYQA : nlopt::LN_NELDERMEAD, merit, start, step, tolerance, most);
}

std::vector<Optimum> survey(const Merit& merit, std::size_t size, int most, std::size_t count, double apart) {
  auto points = run(nlopt::GN_DIRECT_L, merit, std::vector<double>(size, 0.0), 0, 0, most);
  return best_apart(std::move(points), count, apart);
}

std::vector<Optimum> scatter(const Merit& merit, std::size_t size, int most, std::size_t count, double apart,
                             std::uint64_t draw) {
  constexpr double beyond = 1.25;
  const std::size_t drawn = std::bit_ceil(static_cast<std::size_t>(std::max(most, 8)));
  std::vector<Optimum> points(drawn, {std::vector<double>(size), 0});
  std::vector<double> column(drawn);
  for (std::size_t i = 0; i < size; ++i) {
    scrambled_sobol(draw + i / sobol_dimensions, static_cast<int>(i % sobol_dimensions), {}, column);
    for (std::size_t k = 0; k < drawn; ++k) points[k].at[i] = std::clamp(beyond * (2 * column[k] - 1), -1.0, 1.0);
  }
  points.resize(static_cast<std::size_t>(most));
  for (Optimum& point : points) point.value = merit(point.at);
  return best_apart(std::move(points), count, apart);
}

}  // namespace catoptra
