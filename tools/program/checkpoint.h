#pragma once
// What a long run has so far, beside its output: the same command goes on from there.
#include <atomic>
#include <chrono>
#include <filesystem>
#include <functional>
#include <mutex>
#include <optional>
#include <string>
#include <string_view>

#include "scene/model.h"

namespace CLI {
class App;
}

namespace catoptra {

class Checkpoint {
 public:
  /// Lies beside `output`. `run` is all that decides the run's numbers: program, verb, options; the scene's texts are
  /// added. `every_s` as every_s_of() has it.
  Checkpoint(const std::filesystem::path& output, const Scene& scene, std::string_view run, double every_s);

  /// What was kept of this run. Says on stderr when there is something that belongs to another run or is damaged, which
  /// is not used and stays until this run keeps something itself, then under a name with .old.
  std::optional<std::string> load();

  bool is_on() const { return every_s_ > 0; }
  /// Keeps what `state` gives, where it is time to or `now`. A fault is told once; the run goes on. From any thread:
  /// one that comes while another is at it goes on at once, unless it is `now`.
  void keep(const std::function<std::string()>& state, bool now);
  /// The run is over and its files are written.
  void remove() noexcept;

  const std::string& place() const { return place_; }

 private:
  bool is_due() const;
  void save(std::string_view state) noexcept;

  std::string place_, identity_;
  double every_s_;
  bool foreign_ = false, told_ = false;
  std::mutex lock_;
  std::atomic<std::chrono::steady_clock::time_point> saved_ = std::chrono::steady_clock::now();
};

/// --checkpoint, which every verb that may run for hours has.
void add_checkpoint_option(CLI::App& command, std::string& typed);
/// Seconds from one to the next; 0: off. Throws UsageError.
double every_s_of(std::string_view typed);
/// The same of a run that writes a file, or none, beside which nothing can be kept. Throws UsageError.
double checkpoint_every_s(std::string_view typed, bool is_kept);

}  // namespace catoptra
