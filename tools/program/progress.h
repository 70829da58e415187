#pragma once
// How far a trace is, on stderr: a bar on a terminal, plain lines elsewhere.
#include <chrono>
#include <string>

#include "trace/trace.h"

namespace catoptra {

enum class Display { none, lines, bar, coloured_bar };

/// `quiet` or not, as stderr and the environment (NO_COLOR, TERM) want it.
Display display_for_stderr(bool quiet);

/// How many of a known number of suns, rows or the like are done.
struct CountProgress {
  std::size_t done = 0, expected = 1;
  double seconds = 0;
};

class ProgressDisplay {
 public:
  explicit ProgressDisplay(Display display) : display_(display) {}
  ProgressDisplay(const ProgressDisplay&) = delete;
  ProgressDisplay& operator=(const ProgressDisplay&) = delete;
  ~ProgressDisplay() { clear(); }

  /// Shows `progress` if it is time to; ever more rarely, since a long run changes slowly.
  void show(const Progress& progress);
  void show(const CountProgress& progress);
  /// Takes the bar away, so that other text can follow.
  void clear();

 private:
  void show(double share, double seconds, const std::string& words);

  Display display_;
  double next_s_ = 0;
  bool drawn_ = false;
};

/// Counts what is done by its own clock.
class CountDisplay {
 public:
  explicit CountDisplay(bool quiet) : display_(display_for_stderr(quiet)) {}
  void show(std::size_t done, std::size_t expected);
  void clear() { display_.clear(); }

 private:
  ProgressDisplay display_;
  std::chrono::steady_clock::time_point began_ = std::chrono::steady_clock::now();
};

}  // namespace catoptra
