#include "trace/footprint.h"

#include <algorithm>
#include <thread>

#include "trace/pass.h"
#include "trace/tally/counts.h"
#include "trace/tally/flux_grid.h"

namespace catoptra {

namespace {

constexpr double number_B = sizeof(double);
constexpr double table_entry_B = 4, tile_B = number_B * static_cast<double>(tile_counts) + table_entry_B;
// Measured: a scene of one component; a component or a copy more, with all that is prepared for it.
constexpr double program_B = 30e6, component_B = 10e3, copy_B = 1e3;
constexpr double blank_bin_B = number_B + sizeof(int);  // a bin's area and its host, which are made ready

}  // namespace

Footprint footprint_of(const Scene& scene, const TraceOptions& options) {
  Footprint out;
  out.scene_B = program_B;
  double flux_tiles = 0, radius_tiles = 0;
  for (const Component& component : scene.components) {
    out.scene_B += component_B + copy_B * static_cast<double>(component.copies());
    if (component.role != Role::receiver) continue;
    const std::int64_t bins = std::int64_t{1} * component.flux_bins[0] * component.flux_bins[1];
    ++out.receivers;
    out.bins += bins;
    // Flux, error and area of a bin; distance, share and error of a step.
    const double map_B = 3 * number_B * (static_cast<double>(bins) + radius_bins + 1);
    out.maps_B += map_B;
    out.largest_map_B = std::max(out.largest_map_B, map_B);
    out.scene_B += blank_bin_B * static_cast<double>(bins);
    flux_tiles += static_cast<double>(bins) / static_cast<double>(tile_counts) + 2;
    radius_tiles += static_cast<double>(radius_bins) / static_cast<double>(tile_counts);
  }
  const double replicates = options.replicates;
  const double threads =
      options.workers != nullptr ? options.workers->count() : std::max(1u, std::thread::hardware_concurrency());
  const double of_replicate =
      static_cast<double>(options.precision > 0 ? options.max_samples : options.samples) / replicates;
  const double of_chunk = static_cast<double>(chunk_bundles) * bundle_size;
  const auto pass_chunks = static_cast<double>(largest_pass_chunks(static_cast<int>(threads), options.replicates));
  const double of_pass = std::clamp(of_replicate / 2, of_chunk, pass_chunks * of_chunk);
  // Where each sample meets a tile of its own, as long as there are any.
  const auto tiles = [&](double samples) { return std::min(samples, flux_tiles) + std::min(samples, radius_tiles); };
  out.counts_B = replicates * tile_B * (tiles(of_replicate) + tiles(of_pass)) + threads * tile_B * tiles(of_chunk) +
                 (2 * replicates + threads) * table_entry_B * (flux_tiles + radius_tiles);
  return out;
}

}  // namespace catoptra
