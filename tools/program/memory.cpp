#include "memory.h"

#include <algorithm>
#include <filesystem>
#include <fmt/format.h>
#include <fstream>
#include <new>
#include <sys/resource.h>
#include <unistd.h>

#include "arguments.h"
#include "files/write_result.h"
#include "streams.h"
#include "trace/footprint.h"

namespace catoptra {
namespace {

namespace fs = std::filesystem;

struct Needs {
  Footprint traced;
  double file_B = 0;  // of a result, which is made in memory

  double about_B() const { return std::max(traced.traced_B(), sure_B()); }
  /// What no other place of the light and no shorter run would save.
  double sure_B() const { return traced.scene_B + traced.maps_B + file_B; }
};

Needs needs_of(const Scene& scene, const TraceOptions& options, bool writes_maps) {
  return {footprint_of(scene, options), writes_maps ? result_size_B(scene, options) : 0};
}

/// The smallest limit of the control groups that this process is in (Linux, version 2); none: infinity.
double group_limit_B() {
  double least = infinity;
  std::ifstream own("/proc/self/cgroup");
  for (std::string line; std::getline(own, line);) {
    if (!line.starts_with("0::/")) continue;
    const fs::path root = "/sys/fs/cgroup";
    for (fs::path group = root / line.substr(4); group.string().size() >= root.string().size();
         group = group.parent_path()) {
      double limit_B = 0;
      if (std::ifstream(group / "memory.max") >> limit_B) least = std::min(least, limit_B);  // or the word "max"
    }
  }
  return least;
}

double machine_B() {
  double least = group_limit_B();
  const long pages = ::sysconf(_SC_PHYS_PAGES), page_B = ::sysconf(_SC_PAGESIZE);
  if (pages > 0 && page_B > 0) least = std::min(least, static_cast<double>(pages) * static_cast<double>(page_B));
  rlimit limit{};
  if (::getrlimit(RLIMIT_AS, &limit) == 0 && limit.rlim_cur != RLIM_INFINITY)
    least = std::min(least, static_cast<double>(limit.rlim_cur));
  return least;
}

std::string largest_map_words(const Scene& scene) {
  const Component* largest = nullptr;
  const auto bins = [](const Component& c) { return std::int64_t{1} * c.flux_bins[0] * c.flux_bins[1]; };
  for (const Component& c : scene.components) {
    if (c.role == Role::receiver && (largest == nullptr || bins(c) > bins(*largest))) largest = &c;
  }
  if (largest == nullptr) return "";
  return fmt::format("the largest of {} x {} bins, on '{}'", largest->flux_bins[0], largest->flux_bins[1],
                     largest->name);
}

}  // namespace

std::string bytes_text(double bytes) {
  if (bytes >= 99.5e9) return fmt::format("{:.0f} GB", bytes / 1e9);
  if (bytes >= 0.9995e9) return fmt::format("{:.1f} GB", bytes / 1e9);
  if (bytes >= 0.995e6) return fmt::format("{:.0f} MB", bytes / 1e6);
  return fmt::format("{:.0f} kB", bytes / 1e3);
}

Foretold foretold_of(const Scene& scene) {
  const Needs needs = needs_of(scene, {}, true);
  return {needs.about_B(), needs.file_B};
}

std::string foretold_words(const Foretold& foretold) {
  return fmt::format("trace with its default options: about {} of memory, a file of {}\n",
                     bytes_text(foretold.memory_B), bytes_text(foretold.file_B));
}

void require_memory(const Scene& scene, const TraceOptions& options, bool writes_maps) {
  const Needs needs = needs_of(scene, options, writes_maps);
  const double there_B = machine_B();
  const Footprint& traced = needs.traced;
  const std::string parts = fmt::format(
      "  flux maps: {}, for {} {} with {} bins in all, {}{}\n", bytes_text(traced.maps_B), traced.receivers,
      traced.receivers == 1 ? "receiver" : "receivers", traced.bins, largest_map_words(scene),
      writes_maps ? fmt::format("\n  the result file, which is made in memory: {}", bytes_text(needs.file_B)) : "");
  constexpr const char* remedy = "flux = { bins = [n, m] } with smaller numbers, fewer receivers, or more memory";
  if (needs.sure_B() > there_B)
    throw UsageError(fmt::format("{}: this takes {} of memory at least, and there are {}\n{}  allowed: {}", scene.path,
                                 bytes_text(needs.sure_B()), bytes_text(there_B), parts, remedy));
  if (needs.about_B() > there_B)
    tell(
        "catoptra: warning: {}: this may take {} of memory, and there are {}\n{}  counts, where light lands: up to {}\n"
        "  where that is too much: {}, or fewer --replicates\n",
        scene.path, bytes_text(needs.about_B()), bytes_text(there_B), parts, bytes_text(traced.counts_B), remedy);
}

std::string words_of_fault(const std::exception& fault) {
  if (dynamic_cast<const std::bad_alloc*>(&fault) == nullptr) return fault.what();
  return "the system gives no more memory\n"
         "  allowed: smaller flux = { bins = [n, m] }, fewer receivers, --replicates or --threads; 'catoptra check'\n"
         "  says what a trace takes";
}

}  // namespace catoptra
