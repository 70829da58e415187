#include "scene/problem.h"

#include <algorithm>
#include <fmt/format.h>
#include <tuple>
#include <utility>

namespace catoptra {
namespace {

bool starts_character(char byte) {  // UTF-8: continuation bytes are 10xxxxxx
  return (static_cast<unsigned char>(byte) & 0xC0U) != 0x80U;
}

/// Blanks under the characters before the caret; tabs stay tabs, so that both lines agree.
std::string blanks_up_to(std::string_view line, int column) {
  std::string out;
  int characters = 0;
  for (const char byte : line) {
    if (!starts_character(byte)) continue;
    if (++characters >= column) break;
    out += byte == '\t' ? '\t' : ' ';
  }
  return out;
}

}  // namespace

std::string Problem::text() const {
  std::string out = path;
  if (place.line > 0) out += fmt::format(":{}:{}", place.line, place.column);
  out += fmt::format(": {}: {}", severity == Severity::error ? "error" : "warning", message);
  if (!source_line.empty()) {
    const auto characters = static_cast<int>(std::ranges::count_if(source_line, starts_character));
    const int width = std::max(1, std::min(place.width, characters - place.column + 1));
    out += fmt::format("\n{:5} | {}\n      | {}{}", place.line, source_line, blanks_up_to(source_line, place.column),
                       std::string(static_cast<std::size_t>(width), '^'));
  }
  for (const auto& note : notes) out += "\n  " + note;
  return out;
}

Problems::Problems(std::string path, std::string_view text) : path_(std::move(path)) {
  for (std::size_t begin = 0; begin <= text.size();) {
    const std::size_t end = std::min(text.find('\n', begin), text.size());
    std::string_view line = text.substr(begin, end - begin);
    if (line.ends_with('\r')) line.remove_suffix(1);
    lines_.emplace_back(line);
    begin = end + 1;
  }
}

void Problems::add(Severity severity, Place place, std::string message, std::vector<std::string> notes) {
  if (severity == Severity::error) ++errors_;
  const auto index = static_cast<std::size_t>(place.line);
  std::string line = place.line > 0 && index <= lines_.size() ? lines_[index - 1] : std::string();
  found_.push_back({severity, path_, place, std::move(message), std::move(line), std::move(notes)});
}

void Problems::error(Place place, std::string message, std::vector<std::string> notes) {
  add(Severity::error, place, std::move(message), std::move(notes));
}

void Problems::warning(Place place, std::string message, std::vector<std::string> notes) {
  add(Severity::warning, place, std::move(message), std::move(notes));
}

void Problems::append(const std::vector<Problem>& others) {
  for (const auto& problem : others) errors_ += problem.severity == Severity::error ? 1 : 0;
  found_.insert(found_.end(), others.begin(), others.end());
}

std::vector<Problem> Problems::take() {
  const auto key = [](const Problem& p) { return std::tie(p.path, p.place.line, p.place.column, p.message); };
  std::ranges::stable_sort(found_, {}, key);
  // Not std::ranges::unique: clang 14 can't compile it with GCC 12's library.
  const auto same = [&](const Problem& a, const Problem& b) { return key(a) == key(b); };
  found_.erase(std::unique(found_.begin(), found_.end(), same), found_.end());
  errors_ = 0;
  return std::exchange(found_, {});
}

}  // namespace catoptra
