#pragma once
// A text with changes in it that still knows where each byte came from, so that a message about the changed text points
// at what the user wrote.
#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "scene/place.h"

namespace catoptra {

class PatchedText {
 public:
  /// Where a byte was written: in the original text, or in one of the patches.
  struct Origin {
    int patch = -1;  // -1: the original
    std::size_t offset = 0;
    friend bool operator==(const Origin&, const Origin&) = default;
  };
  /// Bytes that are put in. `copied`: they stand as they are from the origin on; else all of them come from that one
  /// place.
  struct Piece {
    std::string text;
    Origin origin;
    bool copied = true;
  };

  explicit PatchedText(std::string original);

  const std::string& text() const { return text_; }

  /// Bytes `begin` to `end` make room for `pieces`.
  void replace(std::size_t begin, std::size_t end, const std::vector<Piece>& pieces);

  /// Of the byte at `offset` of text(); at its end, the end of what stands last.
  Origin origin(std::size_t offset) const;
  /// Whether anything is left in the text of what came from `patch`, from its byte `offset` on.
  bool has(int patch, std::size_t offset) const;

 private:
  struct Segment {
    std::size_t size;
    Origin origin;
    bool copied;
  };
  /// The number of the segment that begins at `offset`, after a cut there where none begins.
  std::size_t cut(std::size_t offset);

  std::string text_;
  std::vector<Segment> segments_;
};

/// Bytes and places of one text, which must live on.
class TextLines {
 public:
  explicit TextLines(std::string_view text);
  /// Bytes before a place, whose column counts characters.
  std::size_t offset(Place place) const;
  /// The place of a byte, one character wide.
  Place place(std::size_t offset) const;

 private:
  std::string_view text_;
  std::vector<std::size_t> begins_;  // of lines; a byte order mark is no character of the first
};

}  // namespace catoptra
