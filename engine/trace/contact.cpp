// What a surface does to the rays that meet it, and what is counted there. The finish decides where light goes and how
// much of it (optics/kinds/); here is the rest, in this order: arrivals are counted, the finish parts the weights, what
// it keeps is counted, roulette ends weak rays, and those that are left go into the next block.
#include <algorithm>

#include "numeric/expects.h"
#include "trace/sky.h"
#include "trace/tracer.h"

namespace catoptra {

namespace {

DrawnPair<Pack> at(const UniformPair& from, int i) {
  if (from.u == nullptr) return {};
  return {true, load<Pack>(from.u + i), load<Pack>(from.v + i)};
}

template <std::size_t... place>
std::array<DrawnPair<Pack>, sizeof...(place)> at(const std::array<UniformPair, sizeof...(place)>& from,
                                                 [[maybe_unused]] int i, std::index_sequence<place...>) {
  return {at(from[place], i)...};
}

/// What a finish is told of a pack of contacts; the mount's error is the tracer's to add.
Arrival<Pack> arrival_of(const ContactBlock& contacts, int i, bool front, bool round) {
  const Vec3<Pack> d = contacts.direction(i), n = contacts.normal(i);
  return {.direction = d,
          .normal = n,
          .turned_normal = n,
          .cosine = -dot(d, n),
          .weight = load<Pack>(&contacts.weight[i]),
          .from_front = front,
          .round = round};
}

/// What a finish may count on: directions and normals of unit length, and a ray that comes to the side it meets.
/// Samples without weight are carried along with the others: the point drawn for them may look away from the sun.
[[maybe_unused]] bool are_arrivals(const ContactBlock& at) {
  for (int i = 0; i < at.count; ++i) {
    const Vec d{at.dx[i], at.dy[i], at.dz[i]}, n{at.nx[i], at.ny[i], at.nz[i]};
    if (!(is_unit(d) && is_unit(n) && (dot(d, n) < 1e-9 || at.weight[i] == 0))) return false;
  }
  return true;
}

}  // namespace

void Tracer::interact(const ComponentPlan& component, bool front, ContactBlock& contacts) {
  if (contacts.count == 0) return;
  if (component.is_entrance) {
    choose_kept(contacts);
    send_on(component, contacts);
    return;
  }
  std::visit([&](const auto& finish) { act(component, finish, front, contacts); },
             front ? component.front : component.back);
}

template <class Finish>
void Tracer::act(const ComponentPlan& component, const Finish& finish, bool front, ContactBlock& contacts) {
  if constexpr (ActsThroughAnother<Finish>) {
    act(component, finish.acts_as(), front, contacts);
  } else if constexpr (StopsAllLight<Finish>) {
    std::copy_n(contacts.weight.begin(), contacts.count, absorbed_.begin());
    tally_absorption(component, true, contacts);
  } else {
    if (component.receiver >= 0) tally_arrivals(component, front, contacts);
    if constexpr (SendsOn<Finish>) {
      part_and_direct(component, finish, front, contacts);
      tally_absorption(component, false, contacts);
      choose_kept(contacts);
    } else {
      static_assert(SendsLittleOn<Finish>);
      part(finish, front, contacts);
      tally_absorption(component, false, contacts);
      choose_kept(contacts);
      keep_only(contacts);  // few: what follows is for them alone
      direct(component, finish, front, contacts);
    }
    send_on(component, contacts);
  }
}

// Leaves in `contacts` the outgoing direction and the weight that goes on, in absorbed_ what stays.
template <class Finish>
void Tracer::part_and_direct(const ComponentPlan& component, const Finish& finish, bool front, ContactBlock& contacts) {
  constexpr auto every_draw = std::make_index_sequence<Finish::draws.size()>();
  CATOPTRA_EXPECTS(are_arrivals(contacts));
  const bool round = std::holds_alternative<Whole>(component.outline);
  bool shakes = false;
  UniformPair jitter;
  if constexpr (requires { requires Finish::turns_with_mount; }) {
    shakes = !component.jitter_rad.is_zero() && !component.jitter_turns_sun;
    if (shakes) jitter = pair(contacts, Draw::jitter, work_.back());
  }
  const auto drawn = draws_of(finish, contacts);
  for_packs(contacts.count, [&](int i) {
    Arrival<Pack> in = arrival_of(contacts, i, front, round);
    if (shakes) in.turned_normal = turned(in.normal, at(jitter, i), component.jitter_rad);
    const Departure<Pack> out = finish.depart(in, at(drawn, i, every_draw));
    const Vec3<Pack>& r = out.direction;
    store(out.shares.onward, &contacts.weight[i]);
    store(out.shares.kept, &absorbed_[i]);
    store(r.x, &contacts.dx[i]), store(r.y, &contacts.dy[i]), store(r.z, &contacts.dz[i]);
  });
}

// Splits each weight into what is kept and what goes on.
template <class Finish>
void Tracer::part(const Finish& finish, bool front, ContactBlock& contacts) {
  for_packs(contacts.count, [&](int i) {
    const Shares<Pack> shares = finish.part(arrival_of(contacts, i, front, false));
    store(shares.kept, &absorbed_[i]);
    store(shares.onward, &contacts.weight[i]);
  });
}

template <class Finish>
void Tracer::direct(const ComponentPlan& component, const Finish& finish, bool front, ContactBlock& contacts) {
  if (contacts.count == 0) return;
  constexpr auto every_draw = std::make_index_sequence<Finish::draws.size()>();
  const bool round = std::holds_alternative<Whole>(component.outline);
  const auto drawn = draws_of(finish, contacts);
  for_packs(contacts.count, [&](int i) {
    const Vec3<Pack> r = finish.direction(arrival_of(contacts, i, front, round), at(drawn, i, every_draw));
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
    first += contacts.tag[i].reached == Reached::no ? w : 0;
    contacts.tag[i].reached = contacts.tag[i].reached == Reached::no ? Reached::first_time : Reached::again;
    if (!front) continue;
    total += w;
    ledger[place.flux + static_cast<int>(bin[i])] += w;
    ledger[place.radii + static_cast<int>(radius_bin[i])] += w;
  }
  ledger[place.scalars + LedgerLayout::arriving] += first;
  ledger[place.scalars + LedgerLayout::on_front] += total;
}

// Names the loss of what absorbed_ holds. What a receiver does not absorb is counted as its reflection at once. If some
// of it comes back and is absorbed, this part moves from one term to the other. So nothing that other surfaces do to
// such light needs a count, and roulette on it can't upset the budget.
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
    const Reached reached = contacts.tag[i].reached;
    taken += on_receiver || reached == Reached::no ? w : 0;
    if (on_receiver) sent_back += reached == Reached::first_time ? to_fixed(contacts.weight[i]) : -w;
    if (paths_ != nullptr && paths_->follows(contacts.tag[i].sample)) {
      const bool returned = reached != Reached::no && !on_receiver;
      paths_->end(contacts.tag[i].sample, returned ? Fate::receiver_reflection : fate, absorbed_[i]);
    }
  }
  ChunkLedger& ledger = *ledger_;
  if (light_ == Light::direct) {
    if (on_receiver) ledger[layout_.receivers[component.receiver].scalars + LedgerLayout::direct] += taken;
    return;
  }
  const int number = number_of(component);
  count(number, term) += taken;
  if (on_receiver) {
    count(number, Term::receiver_reflection) += sent_back;
    ledger[layout_.receivers[component.receiver].scalars + LedgerLayout::absorbed] += taken;
  }
}

// Lists the contacts that go on. Rays too weak to matter end, or are lifted so that the mean is kept.
void Tracer::choose_kept(ContactBlock& contacts) {
  int kept = 0;
  for (int i = 0; i < contacts.count; ++i) {
    const double weight = contacts.weight[i];
    const double threshold = contacts.tag[i].reached != Reached::no ? roulette_weight_after_receiver : roulette_weight;
    bool goes_on = true;
    if (weight < threshold) {
      goes_on = uniforms_.luck(contacts.tag[i].sample, bounce_) * threshold < weight;
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
    to.from[at] = contacts.instance[i];
    copy_state(contacts, i, to, at);
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
UniformPair Tracer::columns(const ContactBlock& contacts, int dimension, WorkPair& work) {
  const LaneArray& u = uniforms_(static_cast<Dim>(dimension));
  const LaneArray& v = uniforms_(static_cast<Dim>(dimension + 1));
  if (contacts.count == bundle_size && bounce_ == 0) return {u.data(), v.data()};
  for (int i = 0; i < contacts.count; ++i) {
    work[0][i] = u[contacts.tag[i].sample];
    work[1][i] = v[contacts.tag[i].sample];
  }
  return {work[0].data(), work[1].data()};
}

// Two uniforms for each contact: Sobol's on the first bounces, Philox's afterwards.
UniformPair Tracer::pair(const ContactBlock& contacts, Draw draw, WorkPair& work) {
  const DrawSource source = source_of(draw);
  if (bounce_ < source.sobol_bounces) return columns(contacts, source.dimension_at(bounce_), work);
  for (int i = 0; i < contacts.count; ++i) {
    const auto both = uniforms_.later(contacts.tag[i].sample, bounce_, source.philox_use);
    work[0][i] = both[0];
    work[1][i] = both[1];
  }
  return {work[0].data(), work[1].data()};
}

// What a finish draws at these contacts, in the order of its list; nothing where it wants none.
template <class Finish>
std::array<UniformPair, Finish::draws.size()> Tracer::draws_of(const Finish& finish, const ContactBlock& contacts) {
  std::array<UniformPair, Finish::draws.size()> out;
  static_assert(out.size() < std::tuple_size_v<decltype(work_)>, "the last is for the mount's error");
  for (std::size_t k = 0; k < out.size(); ++k) {
    if (finish.wants(Finish::draws[k])) out[k] = pair(contacts, Finish::draws[k], work_[k]);
  }
  return out;
}

}  // namespace catoptra
