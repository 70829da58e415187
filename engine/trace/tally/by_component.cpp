#include "trace/tally/by_component.h"

#include "geometry/area.h"
#include "trace/tally/unseen.h"

namespace catoptra {

Wide total_of(const Ledger& ledger, const LedgerLayout& layout, Term term) {
  Wide sum = 0;
  for (int c = 0; c < layout.components; ++c) sum += ledger[layout.term(c, term)];
  return sum;
}

std::vector<ComponentPowers> powers_by_component(const Plan& plan, const LedgerLayout& layout,
                                                 const std::vector<Ledger>& replicates, double watts) {
  // What falls on a component's aperture seen along its axis, less what is known of its incident power.
  std::vector<double> not_known_W(static_cast<std::size_t>(layout.components), 0.0);
  for (const int index : plan.entries.components) {
    const ComponentPlan& component = plan.components[index];
    not_known_W[layout.owner[index]] +=
        plan.dni_W_m2 * aperture_area_m2(component.surface, component.outline) * component.copies -
        component.incident_known_W;
  }
  std::vector<ComponentPowers> out(not_known_W.size());
  const auto possible = possible_terms(plan, layout);
  const double one_sample_W = watts / static_cast<double>(replicates.size());
  std::vector<double> values;
  for (int c = 0; c < layout.components; ++c) {
    for (std::size_t t = 0; t < term_count; ++t) {
      const auto term = static_cast<Term>(t);
      values.clear();
      for (const Ledger& ledger : replicates) {
        const double counted_W = watts * from_fixed(ledger[layout.term(c, term)]);
        values.push_back(term == Term::cosine ? not_known_W[c] - counted_W : counted_W);
      }
      out[c].terms[t] = mean_of(values);
      if (possible[static_cast<std::size_t>(c)][t]) out[c].terms[t] = with_unseen(out[c].terms[t], one_sample_W);
    }
  }
  return out;
}

}  // namespace catoptra
