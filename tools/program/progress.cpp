#include "progress.h"

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <fmt/format.h>
#include <string_view>
#include <unistd.h>

#include "streams.h"

namespace catoptra {
namespace {

std::string time_text(double seconds) {
  const auto whole = std::lround(seconds);
  if (whole < 60) return fmt::format("{} s", whole);
  if (whole < 3600) return fmt::format("{}:{:02} min", whole / 60, whole % 60);
  return fmt::format("{}:{:02} h", whole / 3600, whole / 60 % 60);
}

double share_done(const Progress& progress) {
  if (progress.samples_expected == 0) return 0;
  return std::min(1.0, static_cast<double>(progress.samples_done) / static_cast<double>(progress.samples_expected));
}

std::string words(const Progress& progress) {
  const double share = share_done(progress);
  std::string text = fmt::format("{:3.0f} %", 100 * share);
  if (progress.seconds > 0)
    text += fmt::format("  {:.3g} Msample/s", static_cast<double>(progress.samples_done) / progress.seconds * 1e-6);
  if (share > 0) text += fmt::format("  {} left", time_text(progress.seconds * (1 - share) / share));
  if (progress.relative_error) text += fmt::format("  error {:.2g} %", 100 * *progress.relative_error);
  return text;
}

std::string bar(double share) {
  constexpr int width = 24;
  const auto full = static_cast<std::size_t>(share * width);
  return std::string(full, '#') + std::string(width - full, '.');
}

}  // namespace

Display display_for_stderr(bool quiet) {
  const auto variable = [](const char* name) {
    const char* value = std::getenv(name);
    return std::string_view(value ? value : "");
  };
  if (quiet) return Display::none;
  if (!isatty(STDERR_FILENO) || variable("TERM") == "dumb") return Display::lines;
  return variable("NO_COLOR").empty() ? Display::coloured_bar : Display::bar;
}

void ProgressDisplay::show(const Progress& progress) {
  show(share_done(progress), progress.seconds, words(progress));
}

void ProgressDisplay::show(const CountProgress& progress) {
  const double share = static_cast<double>(progress.done) / static_cast<double>(progress.expected);
  std::string text = fmt::format("{} of {}", progress.done, progress.expected);
  if (progress.done > 0) text += fmt::format("  {:.3g} s each", progress.seconds / static_cast<double>(progress.done));
  if (share > 0) text += fmt::format("  {} left", time_text(progress.seconds * (1 - share) / share));
  show(share, progress.seconds, text);
}

void ProgressDisplay::show(double share, double seconds, const std::string& words) {
  if (display_ == Display::none || seconds < next_s_) return;
  if (display_ == Display::lines) {
    if (next_s_ > 0) tell("catoptra: {}\n", words);
    next_s_ = seconds + std::clamp(seconds, 5.0, 60.0);  // short runs stay silent
    return;
  }
  const bool coloured = display_ == Display::coloured_bar;
  draw_err(fmt::format("\r{}{}{}{}\x1b[K", coloured ? "\x1b[33m" : "", bar(share), coloured ? "\x1b[0m " : " ", words));
  drawn_ = true;
  next_s_ = seconds + std::clamp(0.01 * seconds, 0.1, 1.0);
}

void ProgressDisplay::clear() {
  if (!drawn_) return;
  draw_err("\r\x1b[K");
  drawn_ = false;
}

void CountDisplay::show(std::size_t done, std::size_t expected) {
  const std::chrono::duration<double> passed = std::chrono::steady_clock::now() - began_;
  display_.show(CountProgress{.done = done, .expected = expected, .seconds = passed.count()});
}

}  // namespace catoptra
