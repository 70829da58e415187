#pragma once
// The tables of docs/result-schema.md.
#include <catch2/catch.hpp>
#include <fstream>
#include <set>
#include <string>

#include "source_dir.h"

namespace catoptra::test {

using Rows = std::set<std::string>;  // a row's cells, joined by " | "

/// The rows of the table under the heading `## title`, without its two head lines.
inline Rows documented(const std::string& title) {
  // Not by __FILE__, which is a relative path where the compiler cache rewrites paths.
  std::ifstream in(CATOPTRA_SOURCE_DIR "/docs/result-schema.md");
  Rows rows;
  int table_line = 0;
  bool inside = false;
  for (std::string line; std::getline(in, line);) {
    if (line.starts_with("## ")) inside = line == "## " + title;
    if (!inside || !line.starts_with("| ") || ++table_line <= 1) continue;
    std::erase(line, '`');
    rows.insert(line.substr(2, line.size() - 4));
  }
  return rows;
}

/// Catch shows both sets whole; the differences alone are what a person wants.
inline void check_same(const Rows& in_docs, const Rows& in_file) {
  for (const auto& row : in_docs)
    if (!in_file.contains(row)) FAIL_CHECK("only in docs: " << row);
  for (const auto& row : in_file)
    if (!in_docs.contains(row)) FAIL_CHECK("only in the file: " << row);
}

}  // namespace catoptra::test
