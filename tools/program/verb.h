#pragma once
// What main() knows of a verb.
#include <CLI/CLI.hpp>
#include <functional>
#include <string>

#include "files/read_file.h"

namespace catoptra {

/// What a verb returns to the shell. wrong_input: the user has to mend the scene or the options. failed: an external
/// error (disk, memory). stopped: by a signal; finished work is kept, the same command goes on (EX_TEMPFAIL,
/// sysexits.h).
enum ExitCode { done = 0, failed = 1, wrong_input = 2, stopped = 75 };

struct Verb {
  CLI::App* command;
  std::function<int()> run;  // an ExitCode
};

Verb add_check(CLI::App& app);
/// `command_line` goes into the result as provenance.
Verb add_trace(CLI::App& app, const std::string& command_line);

Verb add_steer(CLI::App& app, const std::string& command_line);

Verb add_report(CLI::App& app);
Verb add_look(CLI::App& app);
Verb add_compare(CLI::App& app);

Verb add_export(CLI::App& app);

/// Reads a result. Throws UsageError where `path` is none of ours.
StoredFile read_or_refuse(const std::string& path);

}  // namespace catoptra
