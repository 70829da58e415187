#include "scene/read_file.h"

#include <algorithm>
#include <array>
#include <cerrno>
#include <charconv>
#include <cmath>
#include <filesystem>
#include <fmt/format.h>
#include <fstream>
#include <linux/magic.h>
#include <stdexcept>
#include <sys/vfs.h>
#include <system_error>

namespace catoptra {
namespace {

std::string_view trimmed(std::string_view text) {
  const auto first = text.find_first_not_of(" \t\r");
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(" \t\r") - first + 1);
}

struct Cell {
  std::string_view text;
  int column;  // counted from 1
};

std::vector<Cell> cells_of(std::string_view line) {
  std::vector<Cell> out;
  for (std::size_t begin = 0; begin <= line.size();) {
    const std::size_t end = std::min(line.find(',', begin), line.size());
    const auto cell = trimmed(line.substr(begin, end - begin));
    const auto lead = cell.empty() ? 0 : static_cast<std::size_t>(cell.data() - (line.data() + begin));
    out.push_back({cell, static_cast<int>(begin + lead) + 1});
    begin = end + 1;
  }
  return out;
}

/// Regular files by their kind, but made up by the kernel: some have no end, some wait for ever, none is a scene.
bool is_of_the_kernel(const std::string& path) {
  struct statfs found {};
  if (statfs(path.c_str(), &found) != 0) return false;
  static constexpr std::array<unsigned long, 7> kernels{PROC_SUPER_MAGIC,   SYSFS_MAGIC,      DEBUGFS_MAGIC,
                                                        TRACEFS_MAGIC,      SECURITYFS_MAGIC, CGROUP_SUPER_MAGIC,
                                                        CGROUP2_SUPER_MAGIC};
  return std::ranges::find(kernels, static_cast<unsigned long>(found.f_type)) != kernels.end();
}

}  // namespace

std::string read_whole_file(const std::string& path) {
  std::error_code fault;
  const auto status = std::filesystem::status(path, fault);
  if (!std::filesystem::exists(status)) throw std::runtime_error("no such file");
  if (!std::filesystem::is_regular_file(status)) throw std::runtime_error("not a regular file");
  if (is_of_the_kernel(path)) throw std::runtime_error("not a file on a disk: the system makes it up when it is read");
  if (std::filesystem::file_size(path, fault) > most_scene_bytes) throw std::runtime_error(too_large_words);
  errno = 0;
  std::ifstream in(path, std::ios::binary);
  std::string out;
  std::array<char, 1 << 16> block;
  while (in) {
    in.read(block.data(), block.size());
    out.append(block.data(), static_cast<std::size_t>(in.gcount()));
    if (out.size() > most_scene_bytes) throw std::runtime_error(too_large_words);  // it grew, or never told its size
  }
  if (!in.is_open() || in.bad()) throw std::runtime_error(std::generic_category().message(errno != 0 ? errno : EIO));
  return out;
}

std::optional<std::vector<std::vector<double>>> read_csv(std::string_view text,
                                                         std::span<const std::string_view> columns,
                                                         Problems& problems) {
  const std::size_t errors_before = problems.error_count();
  const std::string header = fmt::format("{}", fmt::join(columns, ","));
  std::vector<std::vector<double>> rows;
  int number = 0;
  for (std::size_t begin = 0; begin < text.size() || number == 0;) {
    const std::size_t end = std::min(text.find('\n', begin), text.size());
    const auto line = text.substr(begin, end - begin);
    begin = end + 1;
    ++number;
    const auto cells = cells_of(line);
    if (number == 1) {
      if (!std::ranges::equal(cells, columns, {}, &Cell::text)) {
        problems.error({1, 1, 10000}, "the first line must name the columns", {"allowed: " + header});
        return std::nullopt;
      }
      continue;
    }
    if (trimmed(line).empty()) continue;
    if (cells.size() != columns.size()) {
      problems.error({number, 1, 10000}, fmt::format("{} values instead of {}", cells.size(), columns.size()),
                     {"allowed: one number for each of " + header});
      continue;
    }
    auto& row = rows.emplace_back();
    for (const auto& [cell, column] : cells) {
      double x = NAN;
      const auto [stop, fault] = std::from_chars(cell.data(), cell.data() + cell.size(), x);
      if (fault != std::errc() || stop != cell.data() + cell.size() || !std::isfinite(x)) {
        problems.error({number, column, std::max(1, static_cast<int>(cell.size()))}, "not a number",
                       {"allowed: a finite number, as 12.5 or -3e-2"});
      }
      row.push_back(x);
    }
  }
  if (problems.error_count() != errors_before) return std::nullopt;
  if (rows.empty()) {
    problems.error({number, 1, 1}, "no rows after the names of the columns", {"allowed: one row or more"});
    return std::nullopt;
  }
  return rows;
}

}  // namespace catoptra
