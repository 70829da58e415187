#pragma once
// A line of a table as RFC 4180 has it.
#include <cmath>
#include <fmt/format.h>
#include <string>

#include "numeric/statistics.h"
#include "numeric/vec.h"

namespace catoptra {

class CsvLine {
 public:
  /// Quoted where a comma, a quote or a line's end stands in it.
  CsvLine& operator<<(std::string text) {
    if (!fresh_) line_ += ',';
    fresh_ = false;
    if (text.find_first_of(",\"\r\n") != text.npos) {
      for (auto at = text.find('"'); at != text.npos; at = text.find('"', at + 2)) text.insert(at, 1, '"');
      text = '"' + text + '"';
    }
    line_ += text;
    return *this;
  }
  /// The shortest digits that read back to the same double; empty for what is no number.
  CsvLine& operator<<(double x) { return *this << (std::isfinite(x) ? fmt::format("{}", x) : std::string()); }
  CsvLine& operator<<(const Vec& v) { return *this << v.x << v.y << v.z; }
  CsvLine& operator<<(const Estimate& e) { return *this << e.value << e.standard_error; }
  std::string text() const { return line_ + "\n"; }

 private:
  std::string line_;
  bool fresh_ = true;  // a first cell may be empty
};

}  // namespace catoptra
