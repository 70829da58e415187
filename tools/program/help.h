#pragma once
// --help within 80 columns.
#include <CLI/CLI.hpp>
#include <string>

namespace catoptra {

/// Wraps what CLI11 leaves as long as it was written: meanings of options and verbs, paragraphs above and below them.
/// Lines that are set in (examples) stay as they are.
class HelpFormatter : public CLI::Formatter {
 public:
  HelpFormatter() { column_width(24); }

  std::string make_description(const CLI::App* app) const override;
  std::string make_footer(const CLI::App* app) const override;
  std::string make_option_desc(const CLI::Option* option) const override;
  std::string make_subcommand(const CLI::App* verb) const override;
};

}  // namespace catoptra
