#include "trace/tally/unseen.h"

#include <algorithm>
#include <variant>

namespace catoptra {

namespace {

bool is_one(const AngleCurve& curve) {
  return std::ranges::all_of(curve.rows, [](const Vec2& row) { return row.y == 1; });
}

bool is_dark(const AnyFinish& finish) {
  return std::visit([]<class F>(const F&) { return StopsAllLight<F>; }, finish);
}

/// Sends all light on: not even an error turns a grazing ray into it.
bool is_perfect_mirror(const ComponentPlan& component, const AnyFinish& finish) {
  const auto* mirror = std::get_if<Mirror>(&finish);
  return mirror != nullptr && is_one(mirror->reflectance) && mirror->slope_error_rad.is_zero() &&
         mirror->specularity_error_rad.is_zero() && component.jitter_rad.is_zero();
}

/// Whether light may stay on a side that is not dark, and whether light may leave it.
bool keeps_light(const ComponentPlan& component, const AnyFinish& finish) {
  return !is_dark(finish) && !is_perfect_mirror(component, finish);
}
bool sends_light(const AnyFinish& finish) {
  const auto* absorber = std::get_if<Absorber>(&finish);
  return !is_dark(finish) && !(absorber != nullptr && is_one(absorber->absorptance));
}

bool has_known_cosine(const Plan& plan, const ComponentPlan& component) {
  const auto first = plan.instances.begin() + component.first;
  return std::all_of(first, first + component.copies,
                     [](const Instance& instance) { return instance.incident == Incident::known; });
}

PossibleTerms possible_at(const Plan& plan, const ComponentPlan& component) {
  const auto either = [&](const auto& holds) { return holds(component.front) || holds(component.back); };
  const bool keeps = either([&](const AnyFinish& finish) { return keeps_light(component, finish); });
  const bool sends = component.is_entrance || either([](const AnyFinish& finish) { return sends_light(finish); });
  const Role role = component.role;
  PossibleTerms out{};
  const auto at = [&](Term term) -> bool& { return out[static_cast<std::size_t>(term)]; };
  at(Term::shading) = role != Role::cover && plan.instances.size() > 1;
  at(Term::blocking) = !component.is_entrance && (either(is_dark) || (role == Role::obstacle && keeps));
  at(Term::primary_absorption) = role == Role::primary && keeps;
  at(Term::secondary_absorption) = role == Role::secondary && keeps;
  at(Term::cover_loss) = role == Role::cover;
  at(Term::spillage) = role != Role::receiver && sends;
  at(Term::receiver_reflection) = role == Role::receiver && sends;
  at(Term::absorbed) = role == Role::receiver && keeps;
  return out;
}

}  // namespace

std::vector<PossibleTerms> possible_terms(const Plan& plan, const LedgerLayout& layout) {
  std::vector<PossibleTerms> out(static_cast<std::size_t>(layout.components));
  for (std::size_t i = 0; i < plan.components.size(); ++i) {
    PossibleTerms& all = out[static_cast<std::size_t>(layout.owner[i])];
    const PossibleTerms here = possible_at(plan, plan.components[i]);
    for (std::size_t t = 0; t < term_count; ++t) all[t] = all[t] || here[t];
  }
  for (const int entry : plan.entries.components) {
    bool& cosine = out[static_cast<std::size_t>(layout.owner[static_cast<std::size_t>(entry)])]
                      [static_cast<std::size_t>(Term::cosine)];
    cosine = cosine || !has_known_cosine(plan, plan.components[static_cast<std::size_t>(entry)]);
  }
  return out;
}

}  // namespace catoptra
