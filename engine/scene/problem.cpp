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

constexpr std::size_t most_characters = 160;  // of a quoted line
constexpr int before_caret = 60;              // of them, where the line is longer

struct Quote {
  std::string line;
  int caret;
};

/// The line, or what stands round the place where it is long: a message is read at a glance, and a file of one line
/// must not be printed once a problem.
Quote quoted(std::string_view line, int column) {
  std::vector<std::size_t> begins;  // of characters near the place
  std::size_t characters = 0;
  const auto first = static_cast<std::size_t>(std::max(0, column - 1 - before_caret));
  for (std::size_t at = 0; at < line.size() && characters <= first + most_characters; ++at) {
    if (!starts_character(line[at])) continue;
    if (characters >= first) begins.push_back(at);
    ++characters;
  }
  if (characters <= most_characters) return {std::string(line), column};
  if (begins.empty()) return {std::string(line.substr(0, most_characters)), column};  // a place beyond the line's end
  const bool more = begins.size() > most_characters;
  const std::size_t end = more ? begins[most_characters] : line.size();
  const std::string_view dots = first > 0 ? "..." : "";
  return {fmt::format("{}{}{}", dots, line.substr(begins.front(), end - begins.front()), more ? "..." : ""),
          column - static_cast<int>(first) + static_cast<int>(dots.size())};
}

std::string counted(std::size_t number, std::string_view thing) {
  return fmt::format("{} {}{}", number, thing, number == 1 ? "" : "s");
}

}  // namespace

std::string located(const std::string& path, Place place, const std::string& message) {
  return place.line > 0 ? fmt::format("{}:{}:{}: {}", path, place.line, place.column, message) : message;
}

std::string Problem::text() const {
  std::string out = path;
  if (place.line > 0) out += fmt::format(":{}:{}", place.line, place.column);
  out += fmt::format(": {}: {}", severity == Severity::error ? "error" : "warning", message);
  if (!source_line.empty()) {
    const auto characters = static_cast<int>(std::ranges::count_if(source_line, starts_character));
    const int width = std::max(1, std::min(place.width, characters - caret + 1));
    // What stands in no file has no line number.
    const std::string number = place.line > 0 ? std::to_string(place.line) : std::string();
    out += fmt::format("\n{:>5} | {}\n      | {}{}", number, source_line, blanks_up_to(source_line, caret),
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
  if (is_full()) {
    ++beyond_;
    return;
  }
  const auto index = static_cast<std::size_t>(place.line);
  Quote quote{{}, place.column};
  if (place.line > 0 && index <= lines_.size()) quote = quoted(lines_[index - 1], place.column);
  found_.push_back({severity, path_, place, std::move(message), std::move(quote.line), std::move(notes), quote.caret});
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
  left_out_ = beyond_;
  if (found_.size() > most_said) {
    left_out_ += found_.size() - most_said;
    std::ranges::stable_sort(found_, {}, &Problem::severity);
    found_.resize(most_said);
    std::ranges::stable_sort(found_, {}, key);
  }
  errors_ = beyond_ = 0;
  return std::exchange(found_, {});
}

std::string text_of(std::span<const Problem> problems, std::size_t left_out) {
  std::string out;
  for (const auto& problem : problems) out += problem.text() + "\n";
  if (left_out > 0) return out + fmt::format("and {} more\n", left_out);
  if (problems.size() < 2) return out;
  const auto errors = static_cast<std::size_t>(std::ranges::count(problems, Severity::error, &Problem::severity));
  const std::size_t warnings = problems.size() - errors;
  if (errors > 0) out += counted(errors, "error") + (warnings > 0 ? ", " : "\n");
  if (warnings > 0) out += counted(warnings, "warning") + "\n";
  return out;
}

}  // namespace catoptra
