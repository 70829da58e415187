// The only file that sees Embree.
#include <algorithm>
#include <array>
#include <cmath>
#include <embree3/rtcore.h>
#include <fmt/format.h>
#include <memory>
#include <numeric>
#include <stdexcept>
#include <type_traits>

#include "trace/search.h"

namespace catoptra {

namespace {

constexpr int packet = 16;

// What a callback needs beyond Embree's float packet: the rays in doubles, and the best hits so far.
struct Query {
  RTCIntersectContext context;  // first, so that the pointer that Embree passes on is ours
  const RayBlock* rays;
  HitBlock* hits;
};

struct ComponentGeometry {
  const Plan* plan;
  const ComponentPlan* component;
};

// Embree's rays and boxes are floats: each coordinate is off by up to 2^-24 of its size, and so is each direction's
// part, over the whole distance. Boxes grow by far more than both, and a true hit is never culled.
void bounds(const RTCBoundsFunctionArguments* args) {
  const auto& geometry = *static_cast<const ComponentGeometry*>(args->geometryUserPtr);
  const Plan& plan = *geometry.plan;
  const Box& box = plan.instances[geometry.component->first + static_cast<int>(args->primID)].box_m;
  const double margin = 1e-6 * plan.extent_m;
  const auto low = [&](double x) { return static_cast<float>(x - margin); };
  const auto high = [&](double x) { return static_cast<float>(x + margin); };
  *args->bounds_o = {low(box.low.x),   low(box.low.y),   low(box.low.z),   0,
                     high(box.high.x), high(box.high.y), high(box.high.z), 0};
}

/// Solves one instance for the valid rays of a packet of N, exactly, and calls found(k, place, t) for each hit.
template <class Found>
void solve(const ComponentGeometry& geometry, unsigned primitive, const Query& query, const int* valid, unsigned N,
           const RTCRayN* packet_rays, Found&& found) {
  const Plan& plan = *geometry.plan;
  const int number = geometry.component->first + static_cast<int>(primitive);
  const Frame& frame = plan.instances[number].frame;
  const RayBlock& rays = *query.rays;
  constexpr unsigned width = lanes<Pack>;

  std::array<unsigned, packet> lane{}, place{};  // what is left over at the end is solved and not looked at
  unsigned count = 0;
  for (unsigned k = 0; k < N; ++k) {
    if (valid[k] == 0) continue;
    lane[count] = k;
    place[count++] = RTCRayN_id(const_cast<RTCRayN*>(packet_rays), N, k);  // NOLINT: Embree's accessor takes no const
  }
  std::visit(
      [&](const auto& surface, const auto& outline) {
        for (unsigned first = 0; first < count; first += width) {
          const unsigned* const i = &place[first];
          const Mask<Pack> own = gather(rays.from.data(), i) == Pack(static_cast<double>(number));
          alignas(64) std::array<double, width> t;
          hit_distance_m(surface, outline, frame.point_to_local(rays.points(i)),
                         frame.direction_to_local(rays.directions(i)), own)
              .store_aligned(t.data());
          for (unsigned l = 0; l < width && first + l < count; ++l) {
            if (t[l] < infinity) found(lane[first + l], place[first + l], t[l], number);
          }
        }
      },
      geometry.component->surface, geometry.component->outline);
}

void intersect(const RTCIntersectFunctionNArguments* args) {
  const auto& query = *reinterpret_cast<const Query*>(args->context);
  RTCRayN* const rays = RTCRayHitN_RayN(args->rayhit, args->N);
  RTCHitN* const hit = RTCRayHitN_HitN(args->rayhit, args->N);
  HitBlock& hits = *query.hits;
  const Plan& plan = *static_cast<const ComponentGeometry*>(args->geometryUserPtr)->plan;
  solve(*static_cast<const ComponentGeometry*>(args->geometryUserPtr), args->primID, query, args->valid, args->N, rays,
        [&](unsigned k, unsigned place, double t, int number) {
          // At equal distance the lower rank wins, so the result does not depend on the order of traversal.
          if (t > hits.distance[place]) return;
          if (t == hits.distance[place] &&
              plan.instances[number].rank > plan.instances[static_cast<int>(hits.instance[place])].rank) {
            return;
          }
          hits.distance[place] = t;
          hits.instance[place] = number;
          // A float's step beyond t, so that a nearer hit that rounds to the same float is still looked at.
          RTCRayN_tfar(rays, args->N, k) = std::nextafter(static_cast<float>(t), std::numeric_limits<float>::max());
          RTCHitN_geomID(hit, args->N, k) = args->geomID;
          RTCHitN_primID(hit, args->N, k) = args->primID;
        });
}

void occlude(const RTCOccludedFunctionNArguments* args) {
  const auto& query = *reinterpret_cast<const Query*>(args->context);
  solve(*static_cast<const ComponentGeometry*>(args->geometryUserPtr), args->primID, query, args->valid, args->N,
        args->ray, [&](unsigned k, unsigned place, double, int) {
          query.hits->distance[place] = 0;
          RTCRayN_tfar(args->ray, args->N, k) = -std::numeric_limits<float>::infinity();
        });
}

void check(RTCDevice device) {
  const RTCError error = rtcGetDeviceError(device);
  if (error != RTC_ERROR_NONE) throw std::runtime_error(fmt::format("Embree: error {}", static_cast<int>(error)));
}

template <auto release>
struct Release {
  template <class Handle>
  void operator()(Handle* handle) const {
    release(handle);
  }
};
using Device = std::unique_ptr<std::remove_pointer_t<RTCDevice>, Release<rtcReleaseDevice>>;
using Tree = std::unique_ptr<std::remove_pointer_t<RTCScene>, Release<rtcReleaseScene>>;

/// Without "threads=n": Embree would make it a limit for every user of oneTBB in the process.
Device new_device() {
  Device out(rtcNewDevice("set_affinity=0"));
  if (out == nullptr) throw std::runtime_error("Embree can't start on this machine");
  return out;
}

class EmbreeSearch final : public PartSearch {
 public:
  EmbreeSearch(const Plan& plan, Met met) {
    tree_.reset(rtcNewScene(device_.get()));
    rtcSetSceneBuildQuality(tree_.get(), RTC_BUILD_QUALITY_HIGH);
    geometries_.reserve(plan.components.size());  // Embree keeps their addresses
    for (const ComponentPlan& component : plan.components) {
      if (component.copies == 0 || !is_met(component, met)) continue;
      geometries_.push_back({&plan, &component});
      RTCGeometry geometry = rtcNewGeometry(device_.get(), RTC_GEOMETRY_TYPE_USER);
      rtcSetGeometryUserPrimitiveCount(geometry, static_cast<unsigned>(component.copies));
      rtcSetGeometryUserData(geometry, &geometries_.back());
      rtcSetGeometryBoundsFunction(geometry, bounds, nullptr);
      rtcSetGeometryIntersectFunction(geometry, intersect);
      rtcSetGeometryOccludedFunction(geometry, occlude);
      rtcCommitGeometry(geometry);
      rtcAttachGeometry(tree_.get(), geometry);
      rtcReleaseGeometry(geometry);
    }
    commit();
  }
  EmbreeSearch(const EmbreeSearch&) = delete;
  EmbreeSearch& operator=(const EmbreeSearch&) = delete;

  void refit(const Moved& moved) override {
    bool any = false;
    for (unsigned id = 0; id < geometries_.size(); ++id) {
      const ComponentGeometry& geometry = geometries_[id];
      // The boxes' margin hangs on the extent of everything.
      const auto index = static_cast<std::size_t>(geometry.component - geometry.plan->components.data());
      if (!moved.extent && moved.components[index] == 0) continue;
      rtcCommitGeometry(rtcGetGeometry(tree_.get(), id));
      any = true;
    }
    if (any) commit();
  }

  void nearest(const RayBlock& rays, HitBlock& hits) const override { nearest_of(rays, all_of(rays), hits); }
  void occluded(const RayBlock& rays, HitBlock& hits) const override { occluded_of(rays, all_of(rays), hits); }

  void nearest_of(const RayBlock& rays, std::span<const int> which, HitBlock& hits) const override {
    for (const int i : which) {
      hits.distance[i] = infinity;
      hits.instance[i] = -1;
    }
    Query query{{}, &rays, &hits};
    rtcInitIntersectContext(&query.context);
    query.context.flags = RTC_INTERSECT_CONTEXT_FLAG_INCOHERENT;
    for (std::size_t first = 0; first < which.size(); first += packet) {
      alignas(64) RTCRayHit16 packet_rays;
      alignas(64) std::array<int, packet> valid;
      fill(rays, which.subspan(first), packet_rays.ray, valid);
      for (unsigned& id : packet_rays.hit.geomID) id = RTC_INVALID_GEOMETRY_ID;
      rtcIntersect16(valid.data(), tree_.get(), &query.context, &packet_rays);
    }
  }

  void occluded_of(const RayBlock& rays, std::span<const int> which, HitBlock& hits) const override {
    for (const int i : which) hits.distance[i] = infinity;
    Query query{{}, &rays, &hits};
    rtcInitIntersectContext(&query.context);
    query.context.flags = RTC_INTERSECT_CONTEXT_FLAG_INCOHERENT;
    for (std::size_t first = 0; first < which.size(); first += packet) {
      alignas(64) RTCRay16 packet_rays;
      alignas(64) std::array<int, packet> valid;
      fill(rays, which.subspan(first), packet_rays, valid);
      rtcOccluded16(valid.data(), tree_.get(), &query.context, &packet_rays);
    }
  }

  std::string name() const override {
    const auto version = rtcGetDeviceProperty(device_.get(), RTC_DEVICE_PROPERTY_VERSION);
    return fmt::format("Embree {}.{}.{}", version / 10000, version / 100 % 100, version % 100);
  }

 private:
  /// On the workers that the caller is inside of. (rtcJoinCommitScene would take all of the machine's.)
  void commit() {
    rtcCommitScene(tree_.get());
    check(device_.get());
  }

  static std::span<const int> all_of(const RayBlock& rays) {
    static const auto numbers = [] {
      std::array<int, block_room> out;
      std::iota(out.begin(), out.end(), 0);
      return out;
    }();
    return std::span(numbers).first(rays.count);
  }

  static void fill(const RayBlock& rays, std::span<const int> which, RTCRay16& out, std::array<int, packet>& valid) {
    for (int k = 0; k < packet; ++k) {
      const bool here = k < static_cast<int>(which.size());
      const int i = here ? which[k] : which.front();
      valid[k] = here ? -1 : 0;
      out.org_x[k] = static_cast<float>(rays.px[i]);
      out.org_y[k] = static_cast<float>(rays.py[i]);
      out.org_z[k] = static_cast<float>(rays.pz[i]);
      out.dir_x[k] = static_cast<float>(rays.dx[i]);
      out.dir_y[k] = static_cast<float>(rays.dy[i]);
      out.dir_z[k] = static_cast<float>(rays.dz[i]);
      out.tnear[k] = 0;
      out.tfar[k] = std::numeric_limits<float>::infinity();
      out.time[k] = 0;
      out.mask[k] = ~0u;
      out.id[k] = static_cast<unsigned>(i);
      out.flags[k] = 0;
    }
  }

  Device device_ = new_device();
  Tree tree_;
  std::vector<ComponentGeometry> geometries_;
};

}  // namespace

std::unique_ptr<PartSearch> make_embree_search(const Plan& plan, Met met) {
  return std::make_unique<EmbreeSearch>(plan, met);
}

}  // namespace catoptra
