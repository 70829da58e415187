#pragma once

namespace catoptra {

/// A stretch of a file, counted from 1 in characters; line 0: the file as a whole.
struct Place {
  int line = 0, column = 0;
  int width = 1;  // characters that the caret marks

  friend bool operator==(const Place&, const Place&) = default;
};

}  // namespace catoptra
