#include "trace/summary.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <numeric>

#include "trace/tally/by_component.h"
#include "trace/tally/peak.h"
#include "trace/tally/unseen.h"

namespace catoptra {

namespace {

/// One count of every replicate, times a factor.
void put_across(const std::vector<Ledger>& replicates, std::int64_t place, double factor, std::vector<double>& out) {
  out.clear();
  for (const Ledger& ledger : replicates) out.push_back(factor * from_fixed(ledger[place]));
}
std::vector<double> across(const std::vector<Ledger>& replicates, std::int64_t place, double factor) {
  std::vector<double> out;
  put_across(replicates, place, factor, out);
  return out;
}

/// Whether any replicate has counted in the tile that begins here.
bool is_touched(const std::vector<Ledger>& replicates, std::int64_t place) {
  return std::ranges::any_of(replicates, [&](const Ledger& ledger) { return ledger.touches(place); });
}

void fill_budget(TraceResult& out, const Plan& plan, const LedgerLayout& layout, const std::vector<Ledger>& replicates,
                 double watts) {
  const double full_power_W = plan.dni_W_m2 * plan.aperture_area_m2;
  std::vector<double> left_over;
  for (const Ledger& ledger : replicates) {
    std::array<double, term_count> terms{};
    const double incident_W =
        plan.incident_known_W + watts * from_fixed(total_of(ledger, layout, LedgerLayout::incident));
    terms[static_cast<std::size_t>(Term::cosine)] = full_power_W - incident_W;
    for (auto t = static_cast<std::size_t>(Term::shading); t < term_count; ++t) {
      terms[t] = watts * from_fixed(total_of(ledger, layout, static_cast<Term>(t)));
    }
    out.budget_by_replicate.push_back(terms);
    left_over.push_back(full_power_W - std::accumulate(terms.begin(), terms.end(), 0.0));
  }
  out.closure = mean_of(left_over);
  // Weights are counted in whole steps. This rounding is of no account, unless nothing else varies. And where a sample
  // first chooses a mirror, the odds may lie close to a whole number of samples. Then all replicates may choose alike,
  // and agree on a number that is a little wrong: by 3 samples at most, by the rule of three.
  constexpr double most_counts = 100, unseen = 3;
  const bool chooses =
      plan.entries.components.size() > 1 || plan.components[plan.entries.components.front()].copies > 1;
  const double floor = most_counts / fixed_steps_per_unit + (chooses ? unseen / static_cast<double>(out.samples) : 0);
  out.closure.standard_error = std::hypot(out.closure.standard_error, floor * plan.reference_power_W());
  const auto possible = possible_terms(plan, layout);
  const double one_sample_W = plan.reference_power_W() / static_cast<double>(out.samples);
  for (std::size_t t = 0; t < term_count; ++t) {
    std::vector<double> values;
    for (const auto& terms : out.budget_by_replicate) values.push_back(terms[t]);
    out.budget[t] = mean_of(values);
    if (std::ranges::any_of(possible, [&](const PossibleTerms& terms) { return terms[t]; }))
      out.budget[t] = with_unseen(out.budget[t], one_sample_W);
  }
  out.incident_power_W = full_power_W - out.budget[static_cast<std::size_t>(Term::cosine)].value;
  const Estimate& absorbed = out.budget[static_cast<std::size_t>(Term::absorbed)];
  out.optical_efficiency = {absorbed.value / full_power_W, absorbed.standard_error / full_power_W};
}

/// What arrives on all receivers, and what leaves the last mirror unblocked, by replicate; in counts.
struct Reaching {
  std::vector<double> arriving, leaving;

  /// Of what leaves the last mirror: the share that arrives, by replicate in `part`.
  Estimate share(const std::vector<double>& part) const {
    return with_unseen(ratio_of(part, leaving), 1 / std::accumulate(leaving.begin(), leaving.end(), 0.0));
  }
};
Reaching reaching(const std::vector<Ledger>& replicates, const LedgerLayout& layout) {
  Reaching out;
  for (const Ledger& ledger : replicates) {
    Wide sum = 0;
    for (const auto& place : layout.receivers) sum += ledger[place.scalars + LedgerLayout::arriving];
    out.arriving.push_back(from_fixed(sum));
    out.leaving.push_back(from_fixed(sum + total_of(ledger, layout, Term::spillage)));
  }
  return out;
}

void fill_flux(ReceiverResult& out, const BlankReceiver& blank, const std::vector<Ledger>& replicates,
               std::int64_t first_bin, double watts_per_copy, double dni_W_m2) {
  out.flux = blank.flux;
  FluxMap& map = out.flux;
  const std::vector<int>& host = blank.host;
  map.flux_W_m2.assign(host.size(), std::nan(""));
  map.standard_error_W_m2 = map.flux_W_m2;
  auto guest = blank.guests.begin();
  std::vector<double> values, more;
  bool touched = false;
  for (int b = 0; b < static_cast<int>(host.size()); ++b) {
    if (b % static_cast<int>(tile_counts) == 0) touched = is_touched(replicates, first_bin + b);
    if (!(map.area_m2[b] > 0) || host[b] != b) continue;
    const auto first_guest = guest;
    double area_m2 = map.area_m2[b];
    for (; guest != blank.guests.end() && guest->first == b; ++guest) area_m2 += map.area_m2[guest->second];
    if (!touched && first_guest == guest) {  // most bins of a wide map
      map.flux_W_m2[b] = map.standard_error_W_m2[b] = 0;
      continue;
    }
    put_across(replicates, first_bin + b, watts_per_copy / area_m2, values);
    for (auto g = first_guest; g != guest; ++g) {
      put_across(replicates, first_bin + g->second, watts_per_copy / area_m2, more);
      for (std::size_t r = 0; r < values.size(); ++r) values[r] += more[r];
    }
    const Estimate flux = mean_of(values);
    const auto set = [&](int bin) {
      map.flux_W_m2[bin] = flux.value;
      map.standard_error_W_m2[bin] = flux.standard_error;
    };
    set(b);
    for (auto g = first_guest; g != guest; ++g) set(g->second);
  }
  const Peak peak = peak_of(map, host, replicates, first_bin, watts_per_copy);
  const double one_sample_W_m2 = watts_per_copy / static_cast<double>(replicates.size()) / map.area_m2[peak.bin];
  out.peak_concentration = times(with_unseen(peak.flux_W_m2, one_sample_W_m2), 1 / dni_W_m2);
  const std::size_t columns = map.second.edges.size() - 1;
  const auto middle = [](const FluxAxis& axis, std::size_t i) { return (axis.edges[i] + axis.edges[i + 1]) / 2; };
  out.peak_at = {middle(map.first, peak.bin / columns), middle(map.second, peak.bin % columns)};
}

EnclosedPower enclosed_power(const FluxGrid& grid, const BlankReceiver& blank, const std::vector<Ledger>& replicates,
                             std::int64_t first_bin) {
  EnclosedPower out;
  out.about =
      grid.is_unrolled() ? "distance along the axis from the receiver's middle" : "radius about the receiver's middle";
  out.radius_m = blank.radius_m;
  std::vector<double> within(replicates.size(), 0), all;
  for (const Ledger& ledger : replicates) {
    Wide sum = 0;
    for (int k = 0; k < radius_bins; ++k) sum += ledger[first_bin + k];
    all.push_back(from_fixed(sum));
  }
  for (int k = 0; k <= radius_bins; ++k) {
    const Estimate share = ratio_of(within, all);
    out.fraction.push_back(share.value);
    out.standard_error.push_back(share.standard_error);
    for (std::size_t r = 0; r < replicates.size() && k < radius_bins; ++r) {
      within[r] += from_fixed(replicates[r][first_bin + k]);
    }
  }
  return out;
}

void warn_of_rare_events(TraceResult& out, const std::vector<Ledger>& replicates) {
  const auto total = [&](std::int64_t place) {
    return std::accumulate(replicates.begin(), replicates.end(), Wide{0},
                           [&](Wide sum, const Ledger& ledger) { return sum + ledger[place]; });
  };
  if (const Wide trapped = total(LedgerLayout::rare_trapped); trapped > 0) {
    out.warnings.push_back(
        fmt::format("{} rays were still between mirrors after {} contacts; their power is in the budget's spillage",
                    static_cast<std::uint64_t>(trapped), most_bounces));
  }
  if (const Wide heavy = total(LedgerLayout::rare_heavy); heavy > 0) {
    out.warnings.push_back(
        fmt::format("{} samples at the equator of a curved primary were cut to {} times the mean weight; keep its "
                    "aperture short of the equator",
                    static_cast<std::uint64_t>(heavy), largest_weight));
  }
}

/// From few replicates the error itself is uncertain. By Student's t, false alarms stay as rare as beyond five errors
/// of 32 replicates.
void warn_of_open_budget(TraceResult& out) {
  const double errors = std::fabs(out.closure.value) / out.closure.standard_error;
  if (!(errors > std::fmax(5, student_t_factor(1 - 1e-5, out.replicates)))) return;
  out.warnings.push_back(fmt::format(
      "the budget does not close: {:.4g} W of DNI x aperture area are in none of its terms, or in two, {:.1f} "
      "standard errors; treat this result with care, and please report it with its scene",
      out.closure.value, errors));
}

}  // namespace

Estimate intercept_factor(const std::vector<Ledger>& replicates, const LedgerLayout& layout) {
  const Reaching r = reaching(replicates, layout);
  return r.share(r.arriving);
}

BlankResult blank_result(const Plan& plan, const Scene& scene, const LedgerLayout& layout) {
  BlankResult out;
  for (const Component& component : scene.components) out.components.push_back(component.name);
  for (std::size_t r = 0; r < plan.receivers.size(); ++r) {
    const auto index = static_cast<std::size_t>(plan.receivers[r]);
    const FluxGrid& grid = layout.grids[r];
    BlankReceiver blank{.name = scene.components[index].name, .flux = grid.blank_map()};
    blank.host = grid.hosts(blank.flux.area_m2);
    for (int b = 0; b < grid.bins(); ++b) {
      if (blank.host[b] != b) blank.guests.emplace_back(blank.host[b], b);
    }
    std::ranges::sort(blank.guests);
    for (const double area : blank.flux.area_m2) blank.area_m2 += area * plan.components[index].copies;
    blank.radius_m = grid.radius_edges_m();
    out.receivers.push_back(std::move(blank));
  }
  return out;
}

TraceResult summarise(const Plan& plan, const BlankResult& blank, const LedgerLayout& layout,
                      const std::vector<Ledger>& replicates, SampleCounts counts) {
  TraceResult out;
  out.replicates = static_cast<int>(replicates.size());
  out.samples = counts.by_primaries * replicates.size();
  out.dni_W_m2 = plan.dni_W_m2;
  out.aperture_area_m2 = plan.aperture_area_m2;
  out.to_sun = plan.sun.toward;

  const double watts = plan.reference_power_W() / static_cast<double>(counts.by_primaries);
  const double direct_watts =
      counts.direct == 0 ? 0 : plan.direct_reference_power_W() / static_cast<double>(counts.direct);
  fill_budget(out, plan, layout, replicates, watts);
  out.by_component = powers_by_component(plan, layout, replicates, watts);
  for (std::size_t c = 0; c < out.by_component.size(); ++c) out.by_component[c].name = blank.components[c];
  const Reaching all = reaching(replicates, layout);
  out.intercept_factor = all.share(all.arriving);

  for (std::size_t r = 0; r < plan.receivers.size(); ++r) {
    const ComponentPlan& component = plan.components[plan.receivers[r]];
    const auto& place = layout.receivers[r];
    ReceiverResult receiver;
    receiver.name = blank.receivers[r].name;
    receiver.area_m2 = blank.receivers[r].area_m2;
    // A count's mean, times what one of weight 1 stands for in a replicate.
    const auto scalar = [&](int which, double factor) {
      return with_unseen(mean_of(across(replicates, place.scalars + which, factor)),
                         factor / static_cast<double>(replicates.size()));
    };
    receiver.intercept_factor = all.share(across(replicates, place.scalars + LedgerLayout::arriving, 1));
    receiver.arriving_power_W = scalar(LedgerLayout::arriving, watts);
    receiver.absorbed_power_W = scalar(LedgerLayout::absorbed, watts);
    receiver.direct_power_W = scalar(LedgerLayout::direct, direct_watts);
    fill_flux(receiver, blank.receivers[r], replicates, place.flux, watts / component.copies, plan.dni_W_m2);
    receiver.mean_concentration = scalar(LedgerLayout::on_front, watts / (receiver.area_m2 * plan.dni_W_m2));
    receiver.enclosed = enclosed_power(layout.grids[r], blank.receivers[r], replicates, place.radii);
    out.receivers.push_back(std::move(receiver));
  }
  warn_of_rare_events(out, replicates);
  warn_of_open_budget(out);
  return out;
}

}  // namespace catoptra
