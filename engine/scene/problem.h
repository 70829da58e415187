#pragma once
// What is wrong with a scene, and where. All problems of one reading are collected, so that a user mends them in one
// go.
#include <cstddef>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "scene/place.h"

namespace catoptra {

enum class Severity { error, warning };

/// "path:line:column: message", as messages begin; the message alone for what has no place in a file.
std::string located(const std::string& path, Place place, const std::string& message);

struct Problem {
  Severity severity = Severity::error;
  std::string path;
  Place place;
  std::string message;
  std::string source_line;         // as a message shows it: cut where it is long; empty where the problem is in no line
  std::vector<std::string> notes;  // what was found, what is allowed, the nearest right word
  int caret = 1;                   // the character of source_line where the mark begins

  /// As a terminal shows it, without a final newline: `path:line:column: error: message`, the line, a caret, the notes.
  std::string text() const;
};

/// Problems as a terminal shows them, each with a newline. From two on a last line counts them: "2 errors, 1 warning",
/// or "and 4960 more", which `left_out` says.
std::string text_of(std::span<const Problem> problems, std::size_t left_out);

/// Collects the problems of one file.
class Problems {
 public:
  Problems(std::string path, std::string_view text);

  void error(Place place, std::string message, std::vector<std::string> notes = {});
  void warning(Place place, std::string message, std::vector<std::string> notes = {});
  /// Takes over what another file's reading found.
  void append(const std::vector<Problem>& others);
  /// From now on problems come without the line that they stand in.
  void hide_lines() { lines_.clear(); }

  std::size_t error_count() const { return errors_; }
  /// More have come than anyone reads: the next is counted, and nobody needs its notes.
  bool is_full() const { return found_.size() >= most_kept; }
  /// Sorted by place; nothing said twice; at most `most_said`, errors before warnings. Leaves none.
  std::vector<Problem> take();
  /// How many the last take() left out.
  std::size_t left_out() const { return left_out_; }

  static constexpr std::size_t most_said = 40, most_kept = 1000;

 private:
  void add(Severity severity, Place place, std::string message, std::vector<std::string> notes);

  std::string path_;
  std::vector<std::string> lines_;
  std::vector<Problem> found_;
  std::size_t errors_ = 0, beyond_ = 0, left_out_ = 0;
};

}  // namespace catoptra
