// catoptra: the command line. One file a verb; this one joins them.
#include <CLI/CLI.hpp>
#include <algorithm>
#include <array>
#include <exception>
#include <fmt/format.h>
#include <fmt/ranges.h>
#include <memory>
#include <sstream>
#include <string>
#include <string_view>
#include <vector>

#include "arguments.h"
#include "files/provenance.h"
#include "help.h"
#include "memory.h"
#include "streams.h"
#include "verb.h"

namespace {

using namespace catoptra;

/// The option names or verbs that `command` takes, as typed.
std::vector<std::string> option_names(const CLI::App& command) {
  std::vector<std::string> names;
  for (const CLI::Option* option : command.get_options()) {
    for (const auto& name : option->get_lnames()) names.push_back("--" + name);
    for (const auto& name : option->get_snames()) names.push_back("-" + name);
  }
  return names;
}

UsageError unknown(std::string_view what, std::string_view typed, const std::vector<std::string>& allowed) {
  const std::vector<std::string_view> views(allowed.begin(), allowed.end());
  return unknown_word(what, typed, views);
}

std::vector<std::string> names_of(const std::vector<Verb>& verbs) {
  std::vector<std::string> names;
  for (const auto& verb : verbs) names.push_back(verb.command->get_name());
  return names;
}

/// Options that have another name now, which no likeness of letters tells.
constexpr std::array<std::array<std::string_view, 2>, 1> renamed_options{{{"--year", "--twelve-days"}}};

UsageError unknown_option(const std::string& what, std::string_view typed, const std::vector<std::string>& allowed) {
  for (const auto& [before, now] : renamed_options)
    if (typed == before && std::ranges::find(allowed, now) != allowed.end())
      return UsageError(fmt::format("unknown {} '{}'\n  allowed: {}\n  did you mean '{}'?", what, typed,
                                    fmt::join(allowed, ", "), now));
  return unknown(what, typed, allowed);
}

/// CLI11 says only that something was unexpected; this says what would have been right.
UsageError explained(const CLI::App& app, const std::vector<Verb>& verbs, const CLI::ParseError& error) {
  const auto chosen = app.get_subcommands();
  const CLI::App& command = chosen.empty() ? app : *chosen.front();
  const auto left_over = app.remaining(true);
  const std::string_view words = error.what();
  if (error.get_exit_code() == static_cast<int>(CLI::ExitCodes::ArgumentMismatch))
    return UsageError(fmt::format("{} takes one value, once", words.substr(0, words.find(':'))));
  if (left_over.empty()) return UsageError(error.what());
  const std::string word = left_over.front().substr(0, left_over.front().find('='));
  if (word.starts_with('-'))
    return unknown_option(chosen.empty() ? "option" : fmt::format("option of {}", command.get_name()), word,
                          option_names(command));
  if (!chosen.empty()) return UsageError(fmt::format("'{}' is one word too many for {}", word, command.get_name()));
  return unknown("verb", word, names_of(verbs));
}

/// Verbs that the README promises, and what does part of their work today.
constexpr std::array<std::array<std::string_view, 2>, 2> planned_verbs{
    {{"sweep", "steer --free, which searches for the best value of a number"},
     {"year", "steer --twelve-days, which traces one day of each month"}}};

void refuse_planned(std::string_view word) {
  for (const auto& [verb, today] : planned_verbs)
    if (word == verb) throw UsageError(fmt::format("'{}' is planned, not built yet\n  allowed: {}", verb, today));
}

/// `help` is `--help`, `help VERB` is `VERB --help`.
std::vector<std::string> words_typed(int argc, char** argv, const std::vector<Verb>& verbs) {
  std::vector<std::string> words(argv + 1, argv + argc);
  if (words.empty() || words.front() != "help") return words;
  words.erase(words.begin());
  const auto names = names_of(verbs);
  if (!words.empty() && std::ranges::find(names, words.front()) == names.end()) {
    refuse_planned(words.front());
    throw unknown("verb", words.front(), names);
  }
  words.push_back("--help");
  return words;
}

int run(int argc, char** argv) {
  CLI::App app{
      "catoptra traces sunlight through solar concentrators: how much reaches the receiver, how\n"
      "concentrated, and where the rest went."};
  app.name("catoptra");
  app.formatter(std::make_shared<HelpFormatter>());
  app.set_version_flag("-v,-V,--version", "catoptra " CATOPTRA_VERSION, "Print the version and exit");
  app.set_help_flag("-h,--help", "Print this help and exit");
  app.require_subcommand(0, 1);
  app.footer(
      "Example:\n  catoptra check scenes/bowl.toml && catoptra trace scenes/bowl.toml\n\n"
      "'catoptra VERB --help' or 'catoptra help VERB' explains a verb. Exit codes: 0 done, 1 the run\n"
      "failed, 2 the command line or the scene has an error, 75 a signal stopped the run: what is done\n"
      "is kept, and the same command continues it.");

  std::vector<const char*> words{"catoptra"};  // provenance must not name the program's folder
  words.insert(words.end(), argv + 1, argv + argc);
  const std::string command_line = shell_line(argc, words.data());
  const std::vector<Verb> verbs{add_check(app),
                                add_trace(app, command_line),
                                add_steer(app, command_line),
                                add_report(app),
                                add_look(app),
                                add_compare(app),
                                add_export(app)};

  std::vector<std::string> typed = words_typed(argc, argv, verbs);
  if (!typed.empty()) refuse_planned(typed.front());
  std::ranges::reverse(typed);  // as CLI11 takes a vector
  try {
    app.parse(typed);
  } catch (const CLI::Success& help) {
    std::ostringstream out, none;
    const int code = app.exit(help, out, none);
    print_out(out.str());
    return code;
  } catch (const CLI::ParseError& error) {
    throw explained(app, verbs, error);
  }
  for (const auto& verb : verbs)
    if (verb.command->parsed()) return verb.run();
  print_out(app.help());
  return wrong_input;
}

}  // namespace

int main(int argc, char** argv) {
  prepare_streams();
  try {
    const int code = run(argc, argv);
    if (out_is_lost()) tell("catoptra: error: can't write to the standard output\n");
    return code == done && (out_is_lost() || err_is_lost()) ? failed : code;
  } catch (const UsageError& error) {
    tell("catoptra: error: {}\n", error.what());
    return wrong_input;
  } catch (const std::exception& error) {
    tell("catoptra: error: {}\n", words_of_fault(error));
    return failed;
  }
}
