#pragma once
// What is wrong with a scene, and where. All problems of one reading are collected, so that a user mends them in one
// go.
#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace catoptra {

enum class Severity { error, warning };

/// A stretch of a file, counted from 1 in characters; line 0: the file as a whole.
struct Place {
  int line = 0, column = 0;
  int width = 1;  // characters that the caret marks

  friend bool operator==(const Place&, const Place&) = default;
};

struct Problem {
  Severity severity = Severity::error;
  std::string path;
  Place place;
  std::string message;
  std::string source_line;         // empty where the problem is in no line
  std::vector<std::string> notes;  // what was found, what is allowed, the nearest right word

  /// As a terminal shows it, without a final newline: `path:line:column: error: message`, the line, a caret, the notes.
  std::string text() const;
};

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
  /// Sorted by place; nothing said twice. Leaves none.
  std::vector<Problem> take();

 private:
  void add(Severity severity, Place place, std::string message, std::vector<std::string> notes);

  std::string path_;
  std::vector<std::string> lines_;
  std::vector<Problem> found_;
  std::size_t errors_ = 0;
};

}  // namespace catoptra
