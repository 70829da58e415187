// catoptra: the command line. One file a verb; this one joins them.
#include <CLI/CLI.hpp>
#include <algorithm>
#include <exception>
#include <fmt/format.h>
#include <memory>
#include <sstream>
#include <string_view>
#include <vector>

#include "arguments.h"
#include "help.h"
#include "results/provenance.h"
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
    return unknown(chosen.empty() ? "option" : fmt::format("option of {}", command.get_name()), word,
                   option_names(command));
  if (!chosen.empty()) return UsageError(fmt::format("'{}' is one word too many for {}", word, command.get_name()));
  std::vector<std::string> names;
  for (const auto& verb : verbs) names.push_back(verb.command->get_name());
  return unknown("verb", word, names);
}

int run(int argc, char** argv) {
  CLI::App app{
      "catoptra traces sunlight through solar concentrators: how much reaches the receiver, how\n"
      "concentrated, and where the rest went."};
  app.name("catoptra");
  app.formatter(std::make_shared<HelpFormatter>());
  app.set_version_flag("--version", "catoptra " CATOPTRA_VERSION, "Print the version and leave");
  app.set_help_flag("-h,--help", "Print this help and leave");
  app.require_subcommand(0, 1);
  app.footer(
      "Example:\n  catoptra check scenes/bowl.toml && catoptra trace scenes/bowl.toml\n\n"
      "'catoptra VERB --help' explains a verb. Exit codes: 0 done, 1 the run failed,\n"
      "2 something is wrong with the command line or the scene, 75 stopped by a signal: what is\n"
      "done is kept, and the same command goes on.");

  std::vector<const char*> words{"catoptra"};  // where the program lies is nobody's business
  words.insert(words.end(), argv + 1, argv + argc);
  const std::string command_line = shell_line(argc, words.data());
  const std::vector<Verb> verbs{add_check(app),
                                add_trace(app, command_line),
                                add_steer(app, command_line),
                                add_report(app),
                                add_look(app),
                                add_compare(app),
                                add_export(app)};

  try {
    app.parse(argc, argv);
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
    tell("catoptra: error: {}\n", error.what());
    return failed;
  }
}
