#include "help.h"

#include <sstream>

namespace catoptra {
namespace {

constexpr std::size_t columns = 80;

/// Words in lines of at most `width`.
std::string wrapped(const std::string& text, std::size_t width) {
  std::istringstream words(text);
  std::string out, word;
  std::size_t used = 0;
  while (words >> word) {
    if (used > 0 && used + 1 + word.size() > width) {
      out += '\n';
      used = 0;
    }
    if (used > 0) out += ' ';
    out += word;
    used += word.size() + (used > 0 ? 1 : 0);
  }
  return out;
}

/// Paragraphs, each wrapped afresh; lines that are set in stay.
std::string wrapped_paragraphs(const std::string& text) {
  std::istringstream lines(text);
  std::string out, paragraph, line;
  const auto flush = [&] {
    if (!paragraph.empty()) out += wrapped(paragraph, columns) + "\n";
    paragraph.clear();
  };
  while (std::getline(lines, line)) {
    if (line.empty() || line.front() == ' ' || line.ends_with(':')) {  // the last heads examples
      flush();
      out += line + "\n";
    } else {
      paragraph += line + " ";
    }
  }
  flush();
  return out;
}

}  // namespace

std::string HelpFormatter::make_description(const CLI::App* app) const {
  return wrapped_paragraphs(Formatter::make_description(app));
}

std::string HelpFormatter::make_footer(const CLI::App* app) const {
  return wrapped_paragraphs(Formatter::make_footer(app));
}

std::string HelpFormatter::make_option_desc(const CLI::Option* option) const {
  return wrapped(Formatter::make_option_desc(option), columns - column_width_);
}

std::string HelpFormatter::make_subcommand(const CLI::App* verb) const {
  std::stringstream out;
  CLI::detail::format_help(out, verb->get_name(), wrapped(verb->get_description(), columns - column_width_),
                           column_width_);
  return out.str();
}

}  // namespace catoptra
