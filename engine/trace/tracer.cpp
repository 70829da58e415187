#include "trace/tracer.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "geometry/entry.h"
#include "trace/cover_work.h"
#include "trace/sky.h"

namespace catoptra {

Tracer::Tracer(const Plan& plan, Searches searches, const LedgerLayout& layout)
    : plan_(plan),
      searches_(searches),
      layout_(layout),
      meeting_(plan.components.size() * block_room),
      meeting_count_(plan.components.size()) {
  if (searches.covers != nullptr) cover_work_ = std::make_unique<CoverWork>();
}
Tracer::~Tracer() = default;
Tracer::Tracer(Tracer&&) noexcept = default;

void Tracer::run(Light light, std::uint64_t replicate_seed, SampleRange samples, ChunkLedger& ledger,
                 PathRecorder* paths) {
  light_ = light;
  ledger_ = &ledger;
  paths_ = paths;
  bounce_ = 0;
  uniforms_.start(replicate_seed, samples);
  next_->clear();
  light_weight_ = bundle_size * std::fmax(roulette_weight, roulette_weight_after_receiver);
  start(light == Light::by_primaries ? plan_.entries : plan_.direct);
  for (bounce_ = 1; next_->count > 0; ++bounce_) {
    std::swap(rays_, next_);
    next_->clear();
    ledger_->expect(light_weight_);
    follow();
  }
}

// Chooses the copy on which each sample starts, and starts them component by component.
void Tracer::start(const EntrySet& entries) {
  const bool one_component = entries.components.size() == 1;
  const bool one_copy = one_component && plan_.components[entries.components.front()].copies == 1;
  const LaneArray* chosen = one_copy ? nullptr : &uniforms_(Dim::component);
  std::array<double, bundle_size> copy{};
  std::array<int, bundle_size> entry{};
  for (int i = 0; i < bundle_size && !one_copy; ++i) {
    const double u = (*chosen)[i];
    std::size_t e = entries.components.size() - 1;
    while (e > 0 && u < entries.share_below[e]) --e;
    const int copies = plan_.components[entries.components[e]].copies;
    const double within = (u - entries.share_below[e]) / entries.share[e];
    copy[i] = std::min(copies - 1, static_cast<int>(within * copies));
    entry[i] = static_cast<int>(e);
  }
  for (std::size_t e = 0; e < entries.components.size(); ++e) {
    const ComponentPlan& component = plan_.components[entries.components[e]];
    contacts_.count = 0;
    for (int i = 0; i < bundle_size; ++i) {
      if (entry[i] != static_cast<int>(e)) continue;
      const int k = contacts_.count++;
      contacts_.begin(k, i);
      contacts_.instance[k] = component.first + copy[i];
    }
    if (contacts_.count == 0) continue;
    std::visit([&](const auto& s, const auto& o) { start_on(s, o, component); }, component.surface, component.outline);
    keep_lit(component);
    interact(component, true, contacts_);
  }
}

// Fills the contacts' places, normals and weights, and in rays_ the shadow rays toward the sun. A weight below 0: the
// sun is behind.
template <class Surface, class Outline>
void Tracer::start_on(const Surface& surface, const Outline& outline, const ComponentPlan& component) {
  const int n = contacts_.count;
  const auto pick = [&](const LaneArray& column, int i) {
    if (n == bundle_size) return load<Pack>(&column[i]);  // every sample is here, in its order
    const RayTag* tag = &contacts_.tag[i];
    return join_lanes(column[tag[0].sample], column[tag[1].sample], column[tag[2].sample], column[tag[3].sample]);
  };
  const LaneArray& point_u = uniforms_(Dim::point_u);
  const LaneArray& point_v = uniforms_(Dim::point_v);
  const bool wide_sun = !plan_.sun_sampler.is_point();
  const LaneArray& sun_u = wide_sun ? uniforms_(Dim::sun_u) : point_u;
  const LaneArray& sun_v = wide_sun ? uniforms_(Dim::sun_v) : point_v;
  const bool turns = component.jitter_turns_sun && !component.jitter_rad.is_zero();
  const LaneArray& jitter_u = turns ? uniforms_(Dim::jitter_u) : point_u;
  const LaneArray& jitter_v = turns ? uniforms_(Dim::jitter_v) : point_v;
  Frames frames(plan_, component);
  const double per_area = 1 / component.entry_area_m2;
  Pack all_weights(0.0);

  for_packs(n, [&](int i) {
    const FramePack& frame = frames.at(&contacts_.instance[i]);
    const auto entry = entry_point(surface, outline, pick(point_u, i), pick(point_v, i));
    const SunRay<Pack> sun = sun_ray(plan_, pick(sun_u, i), pick(sun_v, i));
    Vec3<Pack> toward = frame.direction_to_local(sun.toward);
    if (turns) {
      const auto tilt = gaussian_pair(pick(jitter_u, i), pick(jitter_v, i));
      toward =
          unit(turned(toward, Pack(-component.jitter_rad.x * tilt.first), Pack(-component.jitter_rad.y * tilt.second)));
    }
    const Pack weight = (per_area * entry.measure_m2) * dot(toward, entry.normal) / sun.cosine;
    const Vec3<Pack> p = entry.point_m, w = frame.point_to_world(p), s = frame.direction_to_world(toward);
    store(p.x, &contacts_.px[i]), store(p.y, &contacts_.py[i]), store(p.z, &contacts_.pz[i]);
    store(-toward.x, &contacts_.dx[i]), store(-toward.y, &contacts_.dy[i]), store(-toward.z, &contacts_.dz[i]);
    store(entry.normal.x, &contacts_.nx[i]), store(entry.normal.y, &contacts_.ny[i]);
    store(entry.normal.z, &contacts_.nz[i]);
    store(w.x, &contacts_.wx[i]), store(w.y, &contacts_.wy[i]), store(w.z, &contacts_.wz[i]);
    store(weight, &contacts_.weight[i]);
    all_weights = all_weights + smaller(absolute(weight), Pack(largest_weight));
    store(w.x, &rays_->px[i]), store(w.y, &rays_->py[i]), store(w.z, &rays_->pz[i]);
    store(s.x, &rays_->dx[i]), store(s.y, &rays_->dy[i]), store(s.z, &rays_->dz[i]);
    store(load<Pack>(&contacts_.instance[i]), &rays_->from[i]);
  });
  alignas(64) std::array<double, lanes<Pack>> weights;
  store(all_weights, weights.data());
  // The sum holds spare lanes too. It is cut to the most that the samples themselves can weigh.
  light_weight_ += std::fmin(std::accumulate(weights.begin(), weights.end(), 0.0), n * largest_weight);
  ledger_->expect(light_weight_);
  rays_->clear();
  rays_->count = n;
  if (component.copies == 1) rays_->add_stretch({static_cast<double>(component.first), 0, n});
}

// Samples in shadow and those on the far side weigh nothing. Light that the body's own rim stops falls on the body
// elsewhere, where other samples count it.
void Tracer::keep_lit(const ComponentPlan& component) {
  searches_.shadow.occluded(*rays_, hits_);
  if (light_ == Light::by_primaries) count_shading(component);
  if (paths_ != nullptr) begin_paths();
  Pack heaviest(0.0);
  for_packs(contacts_.count, [&](int i) {
    const Pack weight = load<Pack>(&contacts_.weight[i]);
    const Pack lit = select(load<Pack>(&hits_.distance[i]) == infinity, larger(weight, Pack(0.0)), Pack(0.0));
    heaviest = larger(heaviest, lit);
    store(lit, &contacts_.weight[i]);
  });
  kept_count_ = 0;
  for (int i = 0; i < contacts_.count; ++i) {
    kept_[kept_count_] = i;
    kept_count_ += contacts_.weight[i] > 0 ? 1 : 0;
  }
  if (any(heaviest > largest_weight)) cut_heavy();
  if (searches_.covers != nullptr) dim_by_covers();
  // To carry on a few samples of weight 0 costs less than to move the others. A path must not be carried on: it has
  // ended.
  if (4 * kept_count_ < 3 * contacts_.count || paths_ != nullptr) keep_only(contacts_);
}

// A grazing equator's weights have no bound: they are cut, counted and reported.
void Tracer::cut_heavy() {
  for (int i = 0; i < contacts_.count; ++i) {
    if (contacts_.weight[i] <= largest_weight) continue;
    contacts_.weight[i] = largest_weight;
    ++(*ledger_)[LedgerLayout::rare_heavy];
  }
}

void Tracer::begin_paths() {
  HitBlock stops;  // a shadow ray tells that something stops the light, not where
  searches_.shadow.nearest(*rays_, stops);
  for (int i = 0; i < contacts_.count; ++i) {
    const int place = contacts_.tag[i].sample;
    if (!paths_->follows(place)) continue;
    // From a little way up toward the sun, so that a picture shows where the ray comes from.
    const Vec at{rays_->px[i], rays_->py[i], rays_->pz[i]}, to{rays_->dx[i], rays_->dy[i], rays_->dz[i]};
    const bool in_shadow = hits_.distance[i] < infinity;
    const double stop_m = in_shadow && stops.distance[i] < plan_.extent_m ? stops.distance[i] : 0;
    paths_->visit(place, at + plan_.extent_m * to);
    paths_->visit(place, at + stop_m * to);
    if (in_shadow || !(contacts_.weight[i] > 0)) paths_->end(place, Fate::shading, contacts_.weight[i]);
  }
}

// Takes rays_ on to what they meet next.
void Tracer::follow() {
  if (bounce_ > most_bounces) {
    for (int i = 0; i < rays_->count; ++i) {
      ++(*ledger_)[LedgerLayout::rare_trapped];
      leave_scene(i);
    }
    return;
  }
  searches_.nearest.nearest(*rays_, hits_);
  sort_by_component();
  for (std::size_t c = 0; c < plan_.components.size(); ++c) {
    if (meeting_count_[c] == 0) continue;
    std::visit([&](const auto& s) { meet(s, static_cast<int>(c)); }, plan_.components[c].surface);
  }
}

// Lists the rays that meet each component. Rays that meet nothing end here.
// Neighbours mostly meet the same component, whose list then stays in registers.
void Tracer::sort_by_component() {
  std::fill(meeting_count_.begin(), meeting_count_.end(), 0);
  int last = -1;
  int* end = nullptr;  // of the list of `last`
  const auto keep_end = [&] {
    if (last >= 0) meeting_count_[last] = static_cast<int>(end - &meeting_[last * block_room]);
  };
  for (int i = 0; i < rays_->count; ++i) {
    const int instance = static_cast<int>(hits_.instance[i]);
    if (instance < 0) {
      leave_scene(i);
      continue;
    }
    const int c = plan_.component_of[instance];
    if (c != last) {
      keep_end();
      last = c;
      end = &meeting_[c * block_room] + meeting_count_[c];
    }
    *end++ = i;
  }
  keep_end();
}

void Tracer::leave_scene(int ray) {
  if (paths_ != nullptr && paths_->follows(rays_->tag[ray].sample)) {
    const Vec at{rays_->px[ray], rays_->py[ray], rays_->pz[ray]}, to{rays_->dx[ray], rays_->dy[ray], rays_->dz[ray]};
    paths_->visit(rays_->tag[ray].sample, at + plan_.extent_m * to);
    paths_->end(rays_->tag[ray].sample,
                rays_->tag[ray].reached != Reached::no ? Fate::receiver_reflection : Fate::spillage,
                rays_->weight[ray]);
  }
  if (light_ == Light::direct || rays_->tag[ray].reached != Reached::no) return;
  count(plan_.component_of[static_cast<int>(rays_->from[ray])], Term::spillage) += to_fixed(rays_->weight[ray]);
}

// The rays listed for this component meet it: works out where and on which side.
template <class Surface>
void Tracer::meet(const Surface& surface, int index) {
  const ComponentPlan& component = plan_.components[index];
  ContactBlock& all = contacts_;
  all.count = meeting_count_[index];
  const int* const list = &meeting_[index * block_room];
  for (int k = 0; k < all.count; ++k) {
    const int i = list[k];
    const double t = hits_.distance[i];
    all.wx[k] = rays_->px[i] + t * rays_->dx[i];
    all.wy[k] = rays_->py[i] + t * rays_->dy[i];
    all.wz[k] = rays_->pz[i] + t * rays_->dz[i];
    all.dx[k] = rays_->dx[i], all.dy[k] = rays_->dy[i], all.dz[k] = rays_->dz[i];
    all.instance[k] = hits_.instance[i];
    all.primitive[k] = hits_.primitive[i];
    copy_state(*rays_, i, all, k);
    visit_path(rays_->tag[i].sample, {all.wx[k], all.wy[k], all.wz[k]});
  }
  Frames frames(plan_, component);
  alignas(64) LaneArray facing;
  for_packs(all.count, [&](int i) {
    const FramePack& frame = frames.at(&all.instance[i]);
    const Vec3<Pack> w{load<Pack>(&all.wx[i]), load<Pack>(&all.wy[i]), load<Pack>(&all.wz[i])};
    const Vec3<Pack> p = frame.point_to_local(w), d = frame.direction_to_local(all.direction(i));
    const Vec3<Pack> n = surface.normal(p);
    const Pack cosine = -dot(d, n);
    store(cosine, &facing[i]);
    const Pack side = copy_sign(Pack(1.0), cosine);
    store(p.x, &all.px[i]), store(p.y, &all.py[i]), store(p.z, &all.pz[i]);
    store(d.x, &all.dx[i]), store(d.y, &all.dy[i]), store(d.z, &all.dz[i]);
    store(side * n.x, &all.nx[i]), store(side * n.y, &all.ny[i]), store(side * n.z, &all.nz[i]);
  });
  int front = 0, back = 0;
  for (int i = 0; i < all.count; ++i) {
    if (facing[i] < 0) {
      copy_contact(all, i, back_contacts_, back++);
    } else {
      if (front != i) copy_contact(all, i, all, front);
      ++front;
    }
  }
  all.count = front;
  back_contacts_.count = back;
  if (front > 0) interact(component, true, all);
  if (back > 0) interact(component, false, back_contacts_);
}

}  // namespace catoptra
