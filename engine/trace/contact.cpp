// What a surface does to the rays that meet it, and what is counted there.
#include <algorithm>

#include "optics/reflection.h"
#include "trace/sky.h"
#include "trace/tracer.h"

namespace catoptra {

namespace {

/// Below this weight a ray is either dropped or, with the odds that keep the mean, lifted back to it.
constexpr double roulette_weight = 1e-4;

/// Which pair of Philox's numbers a contact beyond Sobol's dimensions uses for what.
enum PhiloxUse { for_slope, for_specularity, for_jitter, for_rest, for_roulette };

Tangents<Pack> tangents_at(const ComponentPlan& component, const Vec3<Pack>& n) {
  return std::holds_alternative<Whole>(component.outline) ? tangents_round_axis(n) : tangents_above_outline(n);
}

}  // namespace

void Tracer::interact(const ComponentPlan& component, bool front, ContactBlock& contacts) {
  if (contacts.count == 0) return;
  const AnyFinish& finish = front ? component.front : component.back;
  const bool is_dark = std::holds_alternative<Dark>(finish);
  if (component.receiver >= 0 && !is_dark) tally_arrivals(component, front, contacts);
  if (const auto* mirror = std::get_if<Mirror>(&finish)) {
    reflect_as_mirror(component, *mirror, contacts);
  } else if (const auto* absorber = std::get_if<Absorber>(&finish)) {
    reflect_as_absorber(*absorber, contacts);
  } else {
    for_packs(contacts.count, [&](int i) {
      store(load<Pack>(&contacts.weight[i]), &absorbed_[i]);
      store(Pack(0.0), &contacts.weight[i]);
    });
  }
  tally_absorption(component, is_dark, contacts);
  if (!is_dark) send_on(component, contacts);
}

// Leaves in `contacts` the outgoing direction and the weight that goes on, in absorbed_ what stays.
void Tracer::reflect_as_mirror(const ComponentPlan& component, const Mirror& mirror, ContactBlock& contacts) {
  const auto gaussians = [&](Dim dim, PhiloxUse use) { pair(contacts, dim, use, u_, v_); };
  const auto drawn = [&](int i) { return gaussian_pair(load<Pack>(&u_[i]), load<Pack>(&v_[i])); };
  const auto put_normal = [&](int i, const Vec3<Pack>& m) {
    store(m.x, &mx_[i]), store(m.y, &my_[i]), store(m.z, &mz_[i]);
  };
  const auto worked_normal = [&](int i) {
    return Vec3<Pack>{load<Pack>(&mx_[i]), load<Pack>(&my_[i]), load<Pack>(&mz_[i])};
  };
  for_packs(contacts.count, [&](int i) { put_normal(i, contacts.normal(i)); });

  if (!component.jitter_rad.is_zero() && !component.jitter_turns_sun) {
    if (bounce_ == 0) {
      const LaneArray &u = uniforms_(Dim::jitter_u), &v = uniforms_(Dim::jitter_v);
      for (int i = 0; i < contacts.count; ++i) u_[i] = u[contacts.sample[i]], v_[i] = v[contacts.sample[i]];
    } else {
      later_pair(contacts, for_jitter, u_, v_);
    }
    for_packs(contacts.count, [&](int i) {
      const auto tilt = drawn(i);
      put_normal(i, turned(worked_normal(i), Pack(component.jitter_rad.x * tilt.first),
                           Pack(component.jitter_rad.y * tilt.second)));
    });
  }
  if (!mirror.slope_error_rad.is_zero()) {
    gaussians(Dim::slope_u, for_slope);
    for_packs(contacts.count, [&](int i) {
      const auto slope = drawn(i);
      const Vec3<Pack> n = contacts.normal(i);
      const auto t = tangents_at(component, n);
      const Vec3<Pack> m = worked_normal(i);
      put_normal(i, tilted(m, t, Pack(mirror.slope_error_rad.x * slope.first),
                           Pack(mirror.slope_error_rad.y * slope.second)));
    });
  }
  const bool scatters = !mirror.specularity_error_rad.is_zero();
  if (scatters) gaussians(Dim::specularity_u, for_specularity);
  for_packs(contacts.count, [&](int i) {
    const Vec3<Pack> d = contacts.direction(i), n = contacts.normal(i);
    Vec3<Pack> r = reflected(d, worked_normal(i));
    if (scatters) {
      const auto spread = drawn(i);
      const auto t = mirror.specularity_error_rad.x == mirror.specularity_error_rad.y ? any_tangents(r)
                                                                                      : tangents_at(component, r);
      r = unit(tilted(r, t, Pack(mirror.specularity_error_rad.x * spread.first),
                      Pack(mirror.specularity_error_rad.y * spread.second)));
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

void Tracer::reflect_as_absorber(const Absorber& absorber, ContactBlock& contacts) {
  const bool diffuse = absorber.rest.index == 0;
  const bool all_taken = absorber.absorptance.is_constant() && absorber.absorptance.rows.front().y == 1;
  if (diffuse && !all_taken) later_pair(contacts, for_rest, u_, v_);
  for_packs(contacts.count, [&](int i) {
    const Vec3<Pack> d = contacts.direction(i), n = contacts.normal(i);
    const Pack weight = load<Pack>(&contacts.weight[i]);
    const Pack taken = weight * value_at_cosine(absorber.absorptance, -dot(d, n));
    store(taken, &absorbed_[i]);
    store(weight - taken, &contacts.weight[i]);
    if (all_taken) return;
    const Vec3<Pack> r = diffuse ? lambertian(n, load<Pack>(&u_[i]), load<Pack>(&v_[i])) : reflected(d, n);
    store(r.x, &contacts.dx[i]), store(r.y, &contacts.dy[i]), store(r.z, &contacts.dz[i]);
  });
}

// Light comes onto a receiver's face: the flux map counts each time, "arriving" the first time only.
void Tracer::tally_arrivals(const ComponentPlan& component, bool front, ContactBlock& contacts) {
  if (light_ == Light::direct) return;
  const auto& place = layout_.receivers[component.receiver];
  const FluxGrid& grid = layout_.grids[component.receiver];
  ChunkLedger& ledger = *ledger_;
  for_packs(contacts.count, [&](int i) {
    const auto at = grid.places({load<Pack>(&contacts.px[i]), load<Pack>(&contacts.py[i]), load<Pack>(&contacts.pz[i])});
    store(at.bin, &u_[i]);
    store(at.radius_bin, &v_[i]);
  });
  std::int64_t first = 0, total = 0;
  for (int i = 0; i < contacts.count; ++i) {
    const std::int64_t w = to_fixed(contacts.weight[i]);
    if (contacts.reached[i] == 0) first += w;
    contacts.reached[i] = 1;
    if (!front) continue;
    total += w;
    ledger[place.flux + static_cast<int>(u_[i])] += w;
    ledger[place.radii + static_cast<int>(v_[i])] += w;
  }
  ledger[place.scalars + LedgerLayout::arriving] += first;
  ledger[place.scalars + LedgerLayout::on_front] += total;
}

// Names the loss of what absorbed_ holds. Once light has been on a receiver, what other surfaces take of it is light
// that the receiver reflected.
void Tracer::tally_absorption(const ComponentPlan& component, bool is_dark, const ContactBlock& contacts) {
  const bool on_receiver = component.receiver >= 0 && !is_dark;
  Term term = Term::blocking;
  Fate fate = Fate::blocked;
  if (on_receiver) {
    term = Term::absorbed;
    fate = Fate::absorbed;
  } else if (!is_dark && component.role == Role::primary) {
    term = Term::primary_absorption;
    fate = Fate::primary_absorption;
  } else if (!is_dark && component.role == Role::secondary) {
    term = Term::secondary_absorption;
    fate = Fate::secondary_absorption;
  }
  std::int64_t before = 0, after = 0;
  for (int i = 0; i < contacts.count; ++i) {
    (contacts.reached[i] != 0 ? after : before) += to_fixed(absorbed_[i]);
    if (paths_ != nullptr && paths_->follows(contacts.sample[i])) {
      const bool returned = contacts.reached[i] != 0 && !on_receiver;
      paths_->end(contacts.sample[i], returned ? Fate::receiver_reflection : fate, absorbed_[i]);
    }
  }
  ChunkLedger& ledger = *ledger_;
  if (light_ == Light::direct) {
    if (on_receiver) {
      ledger[layout_.receivers[component.receiver].scalars + LedgerLayout::direct] += before + after;
    }
    return;
  }
  if (on_receiver) {
    ledger[LedgerLayout::term(Term::absorbed)] += before + after;
    ledger[layout_.receivers[component.receiver].scalars + LedgerLayout::absorbed] += before + after;
  } else {
    ledger[LedgerLayout::term(term)] += before;
    ledger[LedgerLayout::term(Term::receiver_reflection)] += after;
  }
}

// Puts what goes on into next_.
void Tracer::send_on(const ComponentPlan& component, const ContactBlock& contacts) {
  const Frames frames(plan_, component);
  for_packs(contacts.count, [&](int i) {
    const Vec3<Pack> d = frames.at(&contacts.instance[i]).direction_to_world(contacts.direction(i));
    store(d.x, &mx_[i]), store(d.y, &my_[i]), store(d.z, &mz_[i]);
  });
  for (int i = 0; i < contacts.count; ++i) {
    double weight = contacts.weight[i];
    if (weight < roulette_weight) {
      if (weight <= 0) continue;
      const double luck = uniforms_.later(contacts.sample[i], bounce_, for_roulette)[0];
      if (luck * roulette_weight >= weight) continue;
      weight = roulette_weight;
    }
    const int k = next_.count++;
    next_.px[k] = contacts.wx[i], next_.py[k] = contacts.wy[i], next_.pz[k] = contacts.wz[i];
    next_.dx[k] = mx_[i], next_.dy[k] = my_[i], next_.dz[k] = mz_[i];
    next_.weight[k] = weight;
    next_.from[k] = contacts.instance[i];
    next_.sample[k] = contacts.sample[i];
    next_.reached[k] = contacts.reached[i];
  }
}

// Two uniforms for each contact: Sobol's on the first bounces, Philox's afterwards.
void Tracer::pair(const ContactBlock& contacts, Dim u, int use, LaneArray& out_u, LaneArray& out_v) {
  if (bounce_ >= sobol_bounces) {
    later_pair(contacts, use, out_u, out_v);
    return;
  }
  const LaneArray& from_u = uniforms_.at_bounce(u, bounce_);
  const LaneArray& from_v = uniforms_.at_bounce(static_cast<Dim>(static_cast<int>(u) + 1), bounce_);
  for (int i = 0; i < contacts.count; ++i) {
    out_u[i] = from_u[contacts.sample[i]];
    out_v[i] = from_v[contacts.sample[i]];
  }
}

void Tracer::later_pair(const ContactBlock& contacts, int use, LaneArray& out_u, LaneArray& out_v) const {
  for (int i = 0; i < contacts.count; ++i) {
    const auto both = uniforms_.later(contacts.sample[i], bounce_, use);
    out_u[i] = both[0];
    out_v[i] = both[1];
  }
}

}  // namespace catoptra
