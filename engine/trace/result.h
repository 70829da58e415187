#pragma once
// What a trace finds: plain numbers, SI, ready for the writers of files/ and for tests.
#include <array>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "numeric/statistics.h"
#include "numeric/vec.h"

namespace catoptra {

/// Where each watt went. The order is that of the light; `cosine` stands before incident power.
enum class Term {
  cosine,
  shading,
  primary_absorption,
  blocking,
  secondary_absorption,
  cover_loss,
  spillage,
  receiver_reflection,
  absorbed
};

/// What outputs call a term, and what it means.
struct TermWords {
  Term term;
  std::string_view name, meaning;
};
inline constexpr std::array budget_terms{
    TermWords{Term::cosine, "cosine", "lost because mirrors do not face the sun"},
    TermWords{Term::shading, "shading", "did not reach the primaries: something stood in the sun"},
    TermWords{Term::primary_absorption, "primary_absorption", "absorbed by the primaries"},
    TermWords{Term::blocking, "blocking", "met something dark between mirrors and receiver"},
    TermWords{Term::secondary_absorption, "secondary_absorption", "absorbed by the secondaries"},
    TermWords{Term::cover_loss, "cover_loss", "lost at covers"},
    TermWords{Term::spillage, "spillage", "missed the receivers"},
    TermWords{Term::receiver_reflection, "receiver_reflection", "thrown back by the receivers"},
    TermWords{Term::absorbed, "absorbed", "absorbed by the receivers"},
};
inline constexpr std::size_t term_count = budget_terms.size();
static_assert(
    [] {
      for (std::size_t i = 0; i < term_count; ++i)
        if (static_cast<std::size_t>(budget_terms[i].term) != i) return false;
      return true;
    }(),
    "budget_terms keeps the order of Term");
inline constexpr auto term_names = [] {
  std::array<std::string_view, term_count> names{};
  for (std::size_t i = 0; i < term_count; ++i) names[i] = budget_terms[i].name;
  return names;
}();

struct FluxAxis {
  std::string name;  // "x_m", "azimuth_rad", "height_m"
  std::string unit;  // "m", "rad"
  std::string long_name;
  std::vector<double> edges;  // bins + 1
};

/// Irradiance that arrives on a receiver's front, bin by bin: [first.bins][second.bins], second fastest. Averaged over
/// the copies where the receiver stands in an array. Bins that the outline leaves without area hold NaN.
struct FluxMap {
  FluxAxis first, second;
  std::vector<double> flux_W_m2, standard_error_W_m2, area_m2;
};

/// Share of the arriving power that lands within a distance: above an outline a radius about the outline's middle, on
/// a tube, cone or ball a distance along the axis from the middle.
struct EnclosedPower {
  std::string about;  // what the radius is measured from, in words
  std::vector<double> radius_m, fraction, standard_error;
};

struct ReceiverResult {
  std::string name;
  double area_m2 = 0;         // of the front, all copies together
  Estimate intercept_factor;  // power that reaches this receiver / power that leaves the last mirror unblocked
  Estimate arriving_power_W;  // on the front, first arrivals
  Estimate absorbed_power_W;
  Estimate direct_power_W;                          // absorbed, of light that met no primary first; apart
  Estimate peak_concentration, mean_concentration;  // arriving irradiance / DNI; the peak is that of a bin
  std::array<double, 2> peak_at{};                  // the peak bin's centre, on the flux map's axes
  FluxMap flux;
  EnclosedPower enclosed;
};

/// The budget's term that took most of a ray.
using Fate = Term;

/// A sampled ray from the sun to where most of its weight ended.
struct RayPath {
  std::vector<Vec> vertices_m;
  double power_W = 0;  // at the end
  Fate fate = Fate::absorbed;
};

/// The budget's terms as far as one component had the light last: the body that stood nearest in the sun's way
/// (shading), whose dark the light met (blocking), which absorbed it, which sent it to where nothing is (spillage), or
/// threw it back.
struct ComponentPowers {
  std::string name;
  std::array<Estimate, term_count> terms;  // W
};

struct TraceResult {
  std::uint64_t seed = 0, samples = 0;
  int replicates = 0;
  double wall_time_s = 0;
  double dni_W_m2 = 0, aperture_area_m2 = 0, incident_power_W = 0;
  Vec to_sun{0, 0, 1};
  std::array<Estimate, term_count> budget;                          // W
  std::vector<std::array<double, term_count>> budget_by_replicate;  // W; lets runs be merged
  std::vector<ComponentPowers> by_component;                        // in the scene's order; they add to the budget
  Estimate closure;  // W; DNI x aperture area less all terms: 0 within its error, or something is wrong
  Estimate optical_efficiency;
  Estimate intercept_factor;  // all receivers together
  std::vector<ReceiverResult> receivers;
  std::vector<RayPath> paths;
  std::vector<std::string> warnings;
  std::string search;             // what found the hits: "each instance in turn", ...
  bool precision_reached = true;  // false: --max-samples came first
  bool interrupted = false;
};

}  // namespace catoptra
