#pragma once
// Where a result comes from, beyond its scene: program, machine, time, command.
#include <string>
#include <vector>

namespace catoptra {

/// Of the files that this program writes, and of the oldest that it reads: docs/result-schema.md.
inline constexpr int result_schema_version = 2, oldest_schema_version = 1;

struct Provenance {
  std::string generator;                // "Catoptra 0.1.0"
  std::string compiler;                 // "GCC 12.2.0"
  std::string instruction_set;          // "AVX2": the lanes this build computes with
  std::string created_utc;              // ISO 8601, "2026-06-21T11:30:00Z"
  std::string command;                  // as typed, quoted for a POSIX shell
  bool reproducible = false;            // SOURCE_DATE_EPOCH was set: no clock may show in the output
  std::vector<std::string> settings{};  // values that were set over those of the scene's file, as typed
};

/// This program, now. Where the environment sets SOURCE_DATE_EPOCH (seconds since 1970, as reproducible builds use it)
/// that is the time, and results then say a wall time of 0, so that equal runs give equal bytes. Throws
/// std::runtime_error where that variable is not a number of seconds.
Provenance provenance_now(std::string command);

/// One command line out of its words; what a POSIX shell would take apart is put in single quotes.
std::string shell_line(int count, const char* const* words);

}  // namespace catoptra
