#include "bare_tower.h"

#include <algorithm>
#include <array>
#include <chrono>
#include <cmath>
#include <embree3/rtcore.h>
#include <stdexcept>
#include <vector>

namespace catoptra::benchmark {

namespace {

constexpr int packet = 16, flux_bins = 64;
// The scene of tower.toml.
constexpr double sun_half_angle = 4.6505e-3, slope_error = 1.5e-3, reflectance = 0.94, absorptance = 0.95;

/// xorshift64* without the star (Marsaglia, J. Stat. Softw. 8 (2003) no. 14).
struct Random {
  std::uint64_t state;
  double operator()() {
    state ^= state << 13;
    state ^= state >> 7;
    state ^= state << 17;
    return (static_cast<double>(state >> 12) + 0.5) * 0x1p-52;
  }
};

struct Quads {
  RTCDevice device = rtcNewDevice("threads=1,set_affinity=0");
  RTCScene scene = nullptr;

  explicit Quads(const Plan& plan) {
    if (device == nullptr) throw std::runtime_error("Embree can't start on this machine");
    scene = rtcNewScene(device);
    rtcSetSceneBuildQuality(scene, RTC_BUILD_QUALITY_HIGH);
    RTCGeometry geometry = rtcNewGeometry(device, RTC_GEOMETRY_TYPE_QUAD);
    const std::size_t n = plan.instances.size();
    auto* vertices = static_cast<float*>(
        rtcSetNewGeometryBuffer(geometry, RTC_BUFFER_TYPE_VERTEX, 0, RTC_FORMAT_FLOAT3, 3 * sizeof(float), 4 * n));
    auto* corners = static_cast<unsigned*>(
        rtcSetNewGeometryBuffer(geometry, RTC_BUFFER_TYPE_INDEX, 0, RTC_FORMAT_UINT4, 4 * sizeof(unsigned), n));
    for (std::size_t i = 0; i < n; ++i) {
      const Instance& instance = plan.instances[i];
      const auto& outline = std::get<Rectangle>(plan.components[instance.component].outline);
      for (int k = 0; k < 4; ++k) {
        const double x = (k == 0 || k == 3 ? -1 : 1) * outline.half_width_m,
                     y = (k < 2 ? -1 : 1) * outline.half_length_m;
        const Vec at = instance.frame.point_to_world(Vec{x, y, 0});
        for (const double coordinate : {at.x, at.y, at.z}) *vertices++ = static_cast<float>(coordinate);
        *corners++ = static_cast<unsigned>(4 * i) + k;
      }
    }
    rtcCommitGeometry(geometry);
    rtcAttachGeometry(scene, geometry);
    rtcReleaseGeometry(geometry);
    rtcCommitScene(scene);
  }
  ~Quads() {
    rtcReleaseScene(scene);
    rtcReleaseDevice(device);
  }
  Quads(const Quads&) = delete;
  Quads& operator=(const Quads&) = delete;
};

void set_ray(RTCRay16& rays, int k, const Vec& from, const Vec& toward) {
  rays.org_x[k] = static_cast<float>(from.x);
  rays.org_y[k] = static_cast<float>(from.y);
  rays.org_z[k] = static_cast<float>(from.z);
  rays.dir_x[k] = static_cast<float>(toward.x);
  rays.dir_y[k] = static_cast<float>(toward.y);
  rays.dir_z[k] = static_cast<float>(toward.z);
  rays.tnear[k] = 1e-2F;  // clear of the mirror that it leaves
  rays.tfar[k] = std::numeric_limits<float>::infinity();
  rays.time[k] = 0;
  rays.mask[k] = ~0u;
  rays.flags[k] = 0;
}

}  // namespace

BareTowerResult bare_tower(const Plan& plan, std::uint64_t samples, std::uint64_t seed) {
  const Quads quads(plan);
  const ComponentPlan& mirrors = plan.components[plan.entries.components.front()];
  const int receiver = plan.components[plan.receivers.front()].first;
  const auto& mirror_outline = std::get<Rectangle>(mirrors.outline);
  const auto& receiver_outline = std::get<Rectangle>(plan.components[plan.receivers.front()].outline);
  const double sine_limit = std::sin(sun_half_angle);
  const std::uint64_t per_mirror = packet * static_cast<std::uint64_t>(mirrors.copies);
  const std::uint64_t rounds = (samples + per_mirror - 1) / per_mirror;

  Random random{seed * 0x9e3779b97f4a7c15u};
  RTCIntersectContext context;
  rtcInitIntersectContext(&context);
  context.flags = RTC_INTERSECT_CONTEXT_FLAG_COHERENT;
  alignas(64) std::array<int, packet> valid;
  alignas(64) RTCRay16 shadow;
  alignas(64) RTCRayHit16 onward;
  std::array<Vec, packet> point, sun;
  std::vector<double> flux(flux_bins * flux_bins);
  double arriving = 0, missed = 0;

  const auto began = std::chrono::steady_clock::now();
  for (std::uint64_t round = 0; round < rounds; ++round) {
    for (int mirror = 0; mirror < mirrors.copies; ++mirror) {
      const Frame& frame = plan.instances[mirrors.first + mirror].frame;
      for (int k = 0; k < packet; ++k) {
        point[k] = frame.point_to_world(Vec{(2 * random() - 1) * mirror_outline.half_width_m,
                                            (2 * random() - 1) * mirror_outline.half_length_m, 0});
        const double sine = sine_limit * std::sqrt(random()), turn = 2 * pi * random();
        sun[k] = std::sqrt(1 - sine * sine) * plan.sun.toward + (sine * std::cos(turn)) * plan.sun.across_x +
                 (sine * std::sin(turn)) * plan.sun.across_y;
        set_ray(shadow, k, point[k], sun[k]);
        valid[k] = -1;
      }
      rtcOccluded16(valid.data(), quads.scene, &context, &shadow);
      std::array<double, packet> weight;
      for (int k = 0; k < packet; ++k) {
        weight[k] = shadow.tfar[k] < 0 ? 0 : reflectance * dot(sun[k], frame.ez) / dot(sun[k], plan.sun.toward);
        const double radius = slope_error * std::sqrt(-2 * std::log(random())), turn = 2 * pi * random();
        const Vec n = unit(frame.ez + (radius * std::cos(turn)) * frame.ex + (radius * std::sin(turn)) * frame.ey);
        set_ray(onward.ray, k, point[k], 2 * dot(sun[k], n) * n - sun[k]);
        onward.hit.geomID[k] = RTC_INVALID_GEOMETRY_ID;
        valid[k] = weight[k] > 0 ? -1 : 0;
      }
      rtcIntersect16(valid.data(), quads.scene, &context, &onward);
      for (int k = 0; k < packet; ++k) {
        if (valid[k] == 0) continue;
        if (onward.hit.geomID[k] == RTC_INVALID_GEOMETRY_ID) {
          missed += weight[k];
        } else if (onward.hit.primID[k] == static_cast<unsigned>(receiver)) {
          const auto bin = [](double share) {
            return std::clamp(static_cast<int>(share * flux_bins), 0, flux_bins - 1);
          };
          const Frame& target = plan.instances[receiver].frame;
          const double t = onward.ray.tfar[k];
          const Vec at = target.point_to_local(Vec{onward.ray.org_x[k] + t * onward.ray.dir_x[k],
                                                   onward.ray.org_y[k] + t * onward.ray.dir_y[k],
                                                   onward.ray.org_z[k] + t * onward.ray.dir_z[k]});
          flux[bin(0.5 + 0.5 * at.x / receiver_outline.half_width_m) * flux_bins +
               bin(0.5 + 0.5 * at.y / receiver_outline.half_length_m)] += weight[k];
          arriving += weight[k];
        }
      }
    }
  }
  BareTowerResult out;
  out.samples = rounds * per_mirror;
  out.seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - began).count();
  out.optical_efficiency = absorptance * arriving / static_cast<double>(out.samples);
  out.intercept_factor = arriving / (arriving + missed);
  out.peak_share = *std::max_element(flux.begin(), flux.end()) / arriving;
  return out;
}

}  // namespace catoptra::benchmark
