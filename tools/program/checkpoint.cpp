#include "checkpoint.h"

#include <CLI/CLI.hpp>
#include <exception>
#include <fmt/format.h>
#include <fstream>
#include <iterator>

#include "arguments.h"
#include "files/whole_file.h"
#include "memory.h"
#include "numeric/sha256.h"
#include "streams.h"

namespace catoptra {
namespace {

namespace fs = std::filesystem;

// First line, the run's identity, the digest of the rest, the rest.
constexpr std::string_view first_line = "Catoptra checkpoint 1\n";
constexpr std::size_t digits = 64, head_size = first_line.size() + 2 * (digits + 1);

fs::path beside(const fs::path& output) {
  constexpr std::size_t longest_name = 255;
  std::string name = output.filename().string();
  constexpr std::string_view ending = ".checkpoint", old = ".old";
  if (name.size() + ending.size() + old.size() > longest_name) name = hex(sha256(name));
  return output.parent_path() / (name.append(ending));
}

/// Every text has its length before it, so that none can pass for the next.
std::string identity_of(const Scene& scene, std::string_view run) {
  std::string all;
  const auto add = [&](std::string_view text) {
    all += std::to_string(text.size()) + ":";
    all.append(text);
  };
  add(CATOPTRA_VERSION);
  add(run);
  add(scene.text);
  for (const auto& pulled : scene.pulled_in) {
    add(pulled.path);
    add(pulled.text);
  }
  return hex(sha256(all));
}

}  // namespace

Checkpoint::Checkpoint(const fs::path& output, const Scene& scene, std::string_view run, double every_s)
    : place_(beside(output).string()), identity_(identity_of(scene, run)), every_s_(every_s) {}

std::optional<std::string> Checkpoint::load() {
  if (!is_on()) return std::nullopt;
  std::error_code unknown;
  if (!fs::is_regular_file(place_, unknown)) return std::nullopt;
  std::ifstream file(place_, std::ios::binary);
  std::string text{std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
  foreign_ = true;
  if (text.size() < head_size || !text.starts_with(first_line)) {
    tell("catoptra: '{}' is no checkpoint that this program reads: not used\n", place_);
    return std::nullopt;
  }
  const std::string_view view(text), identity = view.substr(first_line.size(), digits);
  const std::string_view digest = view.substr(first_line.size() + digits + 1, digits);
  if (identity != identity_) {
    tell("catoptra: '{}' is of another run, whose scene, options or program differ: not used\n", place_);
    return std::nullopt;
  }
  if (digest != hex(sha256(view.substr(head_size)))) {
    tell("catoptra: '{}' is damaged: not used\n", place_);
    return std::nullopt;
  }
  foreign_ = false;
  return text.substr(head_size);
}

bool Checkpoint::is_due() const {
  const std::chrono::duration<double> passed = std::chrono::steady_clock::now() - saved_.load();
  return is_on() && passed.count() >= every_s_;
}

void Checkpoint::keep(const std::function<std::string()>& state, bool now) {
  if (!is_on() || (!now && !is_due())) return;
  std::unique_lock guard(lock_, std::defer_lock);
  if (now)
    guard.lock();
  else if (!guard.try_lock() || !is_due())
    return;
  save(state());
}

void Checkpoint::save(std::string_view state) noexcept {
  try {
    if (foreign_) fs::rename(place_, place_ + ".old");
    foreign_ = false;
    std::string text(first_line);
    text.append(identity_).append("\n").append(hex(sha256(state))).append("\n").append(state);
    write_whole_file(place_, text);
  } catch (const std::exception& fault) {
    if (!told_) tell("catoptra: no checkpoint is kept: {}\n", words_of_fault(fault));
    told_ = true;
  }
  saved_ = std::chrono::steady_clock::now();
}

void Checkpoint::remove() noexcept {
  std::error_code ignored;
  if (is_on() && !foreign_) fs::remove(place_, ignored);
}

void add_checkpoint_option(CLI::App& command, std::string& typed) {
  add_text_option(command, "--checkpoint", typed, "TIME",
                  "How often to keep what is done, for the same command to go on from; or off [5min]");
}

double every_s_of(std::string_view typed) {
  if (typed.empty()) return 300;
  if (typed == "off") return 0;
  return duration_s_of("--checkpoint", typed, 1e-3, 86400);
}

double checkpoint_every_s(std::string_view typed, bool is_kept) {
  const double every_s = every_s_of(typed);
  if (!is_kept && !typed.empty() && every_s > 0)
    throw UsageError(
        fmt::format("--checkpoint is '{}', and with --output none there is no file to keep it beside\n"
                    "  allowed: an output file, or --checkpoint off",
                    typed));
  return is_kept ? every_s : 0;
}

}  // namespace catoptra
