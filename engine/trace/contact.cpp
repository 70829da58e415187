// What a surface does to the rays that meet it, and what is counted there.
#include <algorithm>

#include "optics/reflection.h"
#include "trace/sky.h"
#include "trace/tracer.h"

namespace catoptra {

namespace {

/// Below this weight a ray is either dropped or, with the odds that keep the mean, lifted back to it. Higher for light
/// that a receiver sent back: of that only what comes onto a receiver again is still to be found.
constexpr double roulette_weight = 0.01, roulette_weight_after_receiver = 0.5;

/// Which pair of Philox's numbers a contact beyond Sobol's dimensions uses for what.
enum PhiloxUse { for_slope, for_specularity, for_jitter, for_rest };

Tangents<Pack> tangents_at(bool round, const Vec3<Pack>& n) {
  return round ? tangents_round_axis(n) : tangents_above_outline(n);
}

/// A pack of Gaussian pairs, each number times its axis' rms.
std::pair<Pack, Pack> drawn(const UniformPair& from, int i, const PerAxis& rms) {
  const auto pair = gaussian_pair(load<Pack>(from.u + i), load<Pack>(from.v + i));
  return {rms.x * pair.first, rms.y * pair.second};
}

}  // namespace

void Tracer::interact(const ComponentPlan& component, bool front, ContactBlock& contacts) {
  if (contacts.count == 0) return;
  if (component.is_entrance) {
    choose_kept(contacts);
    send_on(component, contacts);
    return;
  }
  const AnyFinish& finish = front ? component.front : component.back;
  if (const auto* mirror = std::get_if<Mirror>(&finish)) {
    if (component.receiver >= 0) tally_arrivals(component, front, contacts);
    reflect_as_mirror(component, *mirror, contacts);
    tally_absorption(component, false, contacts);
    choose_kept(contacts);
    send_on(component, contacts);
  } else if (const auto* absorber = std::get_if<Absorber>(&finish)) {
    if (component.receiver >= 0) tally_arrivals(component, front, contacts);
    absorb(*absorber, contacts);
    tally_absorption(component, false, contacts);
    choose_kept(contacts);
    keep_only(contacts);  // few: what follows is for them alone
    send_back_rest(*absorber, contacts);
    send_on(component, contacts);
  } else if (const auto pane = pane_of(finish)) {
    cross(component, *pane, contacts);
  } else {
    std::copy_n(contacts.weight.begin(), contacts.count, absorbed_.begin());
    tally_absorption(component, true, contacts);
  }
}

// Leaves in `contacts` the outgoing direction and the weight that goes on, in absorbed_ what stays.
void Tracer::reflect_as_mirror(const ComponentPlan& component, const Mirror& mirror, ContactBlock& contacts) {
  const bool round = std::holds_alternative<Whole>(component.outline);
  const bool shakes = !component.jitter_rad.is_zero() && !component.jitter_turns_sun;
  const bool slopes = !mirror.slope_error_rad.is_zero();
  const bool scatters = !mirror.specularity_error_rad.is_zero();
  const bool scatters_evenly = mirror.specularity_error_rad.x == mirror.specularity_error_rad.y;
  UniformPair jitter, slope, specularity;
  if (shakes)
    jitter = bounce_ == 0 ? columns(contacts, Dim::jitter_u, work_[0]) : later_pair(contacts, for_jitter, work_[0]);
  if (slopes) slope = pair(contacts, Dim::slope_u, for_slope, work_[1]);
  if (scatters) specularity = pair(contacts, Dim::specularity_u, for_specularity, work_[2]);

  for_packs(contacts.count, [&](int i) {
    const Vec3<Pack> d = contacts.direction(i), n = contacts.normal(i);
    Vec3<Pack> m = n;
    if (shakes) {
      const auto [a, b] = drawn(jitter, i, component.jitter_rad);
      m = turned(m, a, b);
    }
    if (slopes) {
      const auto [a, b] = drawn(slope, i, mirror.slope_error_rad);
      m = tilted(m, tangents_at(round, n), a, b);
    }
    Vec3<Pack> r = reflected(d, m);
    if (scatters) {
      const auto [a, b] = drawn(specularity, i, mirror.specularity_error_rad);
      r = unit(tilted(r, scatters_evenly ? any_tangents(r) : tangents_at(round, r), a, b));
    }
    const Pack weight = load<Pack>(&contacts.weight[i]);
    const Pack reflectance = value_at_cosine(mirror.reflectance, -dot(d, n));
    // An error that turns a grazing ray into the mirror leaves it there.
    const Pack on = select(dot(r, n) > 0, weight * reflectance, Pack(0.0));
    store(on, &contacts.weight[i]);
    store(weight - on, &absorbed_[i]);
    store(r.x, &contacts.dx[i]), store(r.y, &contacts.dy[i]), store(r.z, &contacts.dz[i]);
  });
}

// Splits each weight into what is absorbed and what goes on.
void Tracer::absorb(const Absorber& absorber, ContactBlock& contacts) {
  for_packs(contacts.count, [&](int i) {
    const Pack weight = load<Pack>(&contacts.weight[i]);
    const Pack taken = weight * value_at_cosine(absorber.absorptance, -dot(contacts.direction(i), contacts.normal(i)));
    store(taken, &absorbed_[i]);
    store(weight - taken, &contacts.weight[i]);
  });
}

void Tracer::send_back_rest(const Absorber& absorber, ContactBlock& contacts) {
  if (contacts.count == 0) return;
  const bool diffuse = absorber.rest.index == 0;
  const UniformPair uniforms = diffuse ? later_pair(contacts, for_rest, work_[0]) : UniformPair{};
  for_packs(contacts.count, [&](int i) {
    const Vec3<Pack> d = contacts.direction(i), n = contacts.normal(i);
    const Vec3<Pack> r =
        diffuse ? lambertian(n, load<Pack>(uniforms.u + i), load<Pack>(uniforms.v + i)) : reflected(d, n);
    store(r.x, &contacts.dx[i]), store(r.y, &contacts.dy[i]), store(r.z, &contacts.dz[i]);
  });
}

// Light comes onto a receiver's face: the flux map counts each time, "arriving" the first time only.
void Tracer::tally_arrivals(const ComponentPlan& component, bool front, ContactBlock& contacts) {
  if (light_ == Light::direct) return;
  const auto& place = layout_.receivers[component.receiver];
  const FluxGrid& grid = layout_.grids[component.receiver];
  ChunkLedger& ledger = *ledger_;
  LaneArray &bin = work_[0][0], &radius_bin = work_[0][1];
  for_packs(contacts.count, [&](int i) {
    const auto at =
        grid.places({load<Pack>(&contacts.px[i]), load<Pack>(&contacts.py[i]), load<Pack>(&contacts.pz[i])});
    store(at.bin, &bin[i]);
    store(at.radius_bin, &radius_bin[i]);
  });
  std::int64_t first = 0, total = 0;
  for (int i = 0; i < contacts.count; ++i) {
    const std::int64_t w = to_fixed(contacts.weight[i]);
    first += contacts.reached[i] == Reached::no ? w : 0;
    contacts.reached[i] = contacts.reached[i] == Reached::no ? Reached::first_time : Reached::again;
    if (!front) continue;
    total += w;
    ledger[place.flux + static_cast<int>(bin[i])] += w;
    ledger[place.radii + static_cast<int>(radius_bin[i])] += w;
  }
  ledger[place.scalars + LedgerLayout::arriving] += first;
  ledger[place.scalars + LedgerLayout::on_front] += total;
}

// Names the loss of what absorbed_ holds. What a receiver does not absorb is booked as its reflection there and then;
// if some of it comes back and is absorbed, that is moved. So other surfaces' share of such light needs no count, and
// roulette on it can't upset the budget.
void Tracer::tally_absorption(const ComponentPlan& component, bool is_dark, const ContactBlock& contacts) {
  const bool on_receiver = component.receiver >= 0 && !is_dark;
  Term term = Term::blocking;
  Fate fate = Fate::blocking;
  if (on_receiver) {
    term = Term::absorbed;
    fate = Fate::absorbed;
  } else if (!is_dark && component.role == Role::primary) {
    term = Term::primary_absorption;
    fate = Fate::primary_absorption;
  } else if (!is_dark && component.role == Role::secondary) {
    term = Term::secondary_absorption;
    fate = Fate::secondary_absorption;
  } else if (component.role == Role::cover) {
    term = Term::cover_loss;
    fate = Fate::cover_loss;
  }
  std::int64_t taken = 0, sent_back = 0;
  for (int i = 0; i < contacts.count; ++i) {
    const std::int64_t w = to_fixed(absorbed_[i]);
    const Reached reached = contacts.reached[i];
    taken += on_receiver || reached == Reached::no ? w : 0;
    if (on_receiver) sent_back += reached == Reached::first_time ? to_fixed(contacts.weight[i]) : -w;
    if (paths_ != nullptr && paths_->follows(contacts.sample[i])) {
      const bool returned = reached != Reached::no && !on_receiver;
      paths_->end(contacts.sample[i], returned ? Fate::receiver_reflection : fate, absorbed_[i]);
    }
  }
  ChunkLedger& ledger = *ledger_;
  if (light_ == Light::direct) {
    if (on_receiver) ledger[layout_.receivers[component.receiver].scalars + LedgerLayout::direct] += taken;
    return;
  }
  ledger[LedgerLayout::term(term)] += taken;
  if (on_receiver) {
    ledger[LedgerLayout::term(Term::receiver_reflection)] += sent_back;
    ledger[layout_.receivers[component.receiver].scalars + LedgerLayout::absorbed] += taken;
  }
}

// Lists the contacts that go on. Rays too weak to matter end, or are lifted so that the mean is kept.
void Tracer::choose_kept(ContactBlock& contacts) {
  int kept = 0;
  for (int i = 0; i < contacts.count; ++i) {
    const double weight = contacts.weight[i];
    const double threshold = contacts.reached[i] != Reached::no ? roulette_weight_after_receiver : roulette_weight;
    bool goes_on = true;
    if (weight < threshold) {
      goes_on = uniforms_.luck(contacts.sample[i], bounce_) * threshold < weight;
      contacts.weight[i] = threshold;
    }
    kept_[kept] = i;
    kept += goes_on ? 1 : 0;
  }
  kept_count_ = kept;
}

// Moves the kept contacts to the front.
void Tracer::keep_only(ContactBlock& contacts) {
  for (int k = 0; k < kept_count_; ++k) {
    if (kept_[k] != k) copy_contact(contacts, kept_[k], contacts, k);
    kept_[k] = k;
  }
  contacts.count = kept_count_;
}

// Puts the kept contacts into next_.
void Tracer::send_on(const ComponentPlan& component, const ContactBlock& contacts) {
  RayBlock& to = *next_;
  const int first = to.count, n = kept_count_;
  for (int k = 0; k < n; ++k) {
    const int i = kept_[k], at = first + k;
    to.px[at] = contacts.wx[i], to.py[at] = contacts.wy[i], to.pz[at] = contacts.wz[i];
    to.dx[at] = contacts.dx[i], to.dy[at] = contacts.dy[i], to.dz[at] = contacts.dz[i];
    to.weight[at] = contacts.weight[i];
    to.from[at] = contacts.instance[i];
    to.sample[at] = contacts.sample[i];
    to.reached[at] = contacts.reached[i];
  }
  Frames frames(plan_, component);
  for_packs(n, [&](int k) {
    const int at = first + k;
    const Vec3<Pack> d = frames.at(&to.from[at]).direction_to_world(to.direction(at));
    store(d.x, &to.dx[at]), store(d.y, &to.dy[at]), store(d.z, &to.dz[at]);
  });
  to.count += n;
  if (component.copies == 1) to.add_stretch({static_cast<double>(component.first), first, to.count});
}

// A Sobol column and the one after it, for each contact; in place where every sample is there, in its order.
UniformPair Tracer::columns(const ContactBlock& contacts, Dim dim, WorkPair& work) {
  const LaneArray& u = uniforms_(dim);
  const LaneArray& v = uniforms_(static_cast<Dim>(static_cast<int>(dim) + 1));
  if (contacts.count == bundle_size && bounce_ == 0) return {u.data(), v.data()};
  for (int i = 0; i < contacts.count; ++i) {
    work[0][i] = u[contacts.sample[i]];
    work[1][i] = v[contacts.sample[i]];
  }
  return {work[0].data(), work[1].data()};
}

// Two uniforms for each contact: Sobol's on the first bounces, Philox's afterwards.
UniformPair Tracer::pair(const ContactBlock& contacts, Dim u, int use, WorkPair& work) {
  if (bounce_ >= sobol_bounces) return later_pair(contacts, use, work);
  return columns(contacts, static_cast<Dim>(static_cast<int>(u) + 4 * bounce_), work);
}

UniformPair Tracer::later_pair(const ContactBlock& contacts, int use, WorkPair& work) const {
  for (int i = 0; i < contacts.count; ++i) {
    const auto both = uniforms_.later(contacts.sample[i], bounce_, use);
    work[0][i] = both[0];
    work[1][i] = both[1];
  }
  return {work[0].data(), work[1].data()};
}

}  // namespace catoptra
