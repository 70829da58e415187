// Shadow rays through glass: they meet covers apart, and go straight on, less what the glass takes. See
// docs/theory/covers.md.
#include "optics/dielectric.h"
#include "trace/cover_work.h"
#include "trace/tracer.h"

namespace catoptra {

namespace {

/// Crossings of one shadow ray that are looked at: more panes than any scene stacks.
constexpr int most_crossings = 64;

/// Takes the listed rays to where they meet copies of a component, and dims them there.
template <class Surface>
void cross_listed(const Surface& surface, const Plan& plan, int component, const Pane& pane, int count, bool innermost,
                  CoverWork& work) {
  constexpr int width = static_cast<int>(lanes<Pack>);
  RayBlock& rays = work.rays;
  for_packs(count, [&](int first) {
    const int* const i = &work.list[first];
    alignas(64) std::array<double, width> instance, left, x, y, z;
    gather(work.hits.instance.data(), i).store_aligned(instance.data());
    const FramePack frame = gather_frames(plan, instance.data());
    const Vec3<Pack> d = rays.directions(i), at = point_along(rays.points(i), d, gather(work.hits.distance.data(), i));
    const Pack cosine = absolute(dot(frame.direction_to_local(d), surface.normal(frame.point_to_local(at))));
    shares_of(pane, cosine).transmitted.store_aligned(left.data());
    at.x.store_aligned(x.data()), at.y.store_aligned(y.data()), at.z.store_aligned(z.data());
    for (int l = 0; l < width && first + l < count; ++l) {
      const int ray = i[l];
      work.left[rays.tag[ray].sample] *= left[l];
      work.crossings.push_back({rays.tag[ray].sample, component, left[l], innermost});
      rays.px[ray] = x[l], rays.py[ray] = y[l], rays.pz[ray] = z[l];
      rays.from[ray] = instance[l];
    }
  });
}

}  // namespace

// Follows the lit samples' shadow rays from cover to cover. What the glass takes on the way is taken off the samples'
// weights and, of the primaries' light, counted.
void Tracer::dim_by_covers() {
  CoverWork& work = *cover_work_;
  RayBlock& rays = work.rays;
  rays.clear();
  for (int k = 0; k < kept_count_; ++k) {
    copy_ray(*rays_, kept_[k], rays, k);
    rays.tag[k].sample = static_cast<std::uint16_t>(kept_[k]);
    work.left[kept_[k]] = 1;
    work.outside[kept_[k]] = 1;
  }
  rays.count = kept_count_;
  work.crossings.clear();
  for (int crossing = 0; crossing < most_crossings && rays.count > 0; ++crossing) {
    searches_.covers->nearest(rays, work.hits);
    for (const int c : plan_.covers) {
      int listed = 0;
      for (int i = 0; i < rays.count; ++i) {
        const int instance = static_cast<int>(work.hits.instance[i]);
        work.list[listed] = i;
        listed += instance >= 0 && plan_.component_of[instance] == c ? 1 : 0;
      }
      if (listed == 0) continue;
      // The last pack's spare lanes gather something that is there.
      for (int k = 0; k < static_cast<int>(lanes<Pack>); ++k) work.list[listed + k] = work.list[0];
      const Pane pane = *pane_of(plan_.components[c].front);
      std::visit([&](const auto& surface) { cross_listed(surface, plan_, c, pane, listed, crossing == 0, work); },
                 plan_.components[c].surface);
    }
    int on = 0;
    for (int i = 0; i < rays.count; ++i) {
      if (work.hits.instance[i] < 0) continue;
      if (on != i) copy_ray(rays, i, rays, on);
      ++on;
    }
    rays.count = on;
  }
  if (light_ == Light::by_primaries) count_covers();
  for (int k = 0; k < kept_count_; ++k) contacts_.weight[kept_[k]] *= work.left[kept_[k]];
}

// Light meets the outermost cover first, and the next has what that one leaves. Each contact's losses add to the count
// of its whole loss, to the last step.
void Tracer::count_covers() {
  CoverWork& work = *cover_work_;
  for (auto crossing = work.crossings.rbegin(); crossing != work.crossings.rend(); ++crossing) {
    const int contact = crossing->contact;
    const auto lost = [&](double left) {
      return to_fixed(contacts_.weight[contact] - contacts_.weight[contact] * left);
    };
    double& left = work.outside[contact];
    const std::int64_t before = lost(left);
    left = crossing->innermost ? work.left[contact] : left * crossing->left;
    count(crossing->component, Term::cover_loss) += lost(left) - before;
  }
}

}  // namespace catoptra
