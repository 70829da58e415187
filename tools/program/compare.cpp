// catoptra compare: results side by side.
#include <fmt/format.h>
#include <memory>

#include "arguments.h"
#include "outputs.h"
#include "page.h"
#include "pictures/page_data.h"
#include "pictures/page_view.h"
#include "streams.h"
#include "verb.h"
#include "words/comparison.h"
#include "words/table.h"

namespace catoptra {
namespace {

constexpr std::size_t most_files = 26;  // each has a letter

int run(const std::vector<std::string>& results, const std::string& output, bool force) {
  if (results.size() < 2 || results.size() > most_files)
    throw UsageError(fmt::format("compare takes 2 to {} results, not {}", most_files, results.size()));
  if (!output.empty()) {
    page_path(output, output);
    require_pages();
  }
  std::vector<StoredFile> files;
  for (const auto& path : results) files.push_back(read_or_refuse(path));
  std::string text;
  try {
    text = comparison_text(files);
  } catch (const NotAResult& reason) {
    throw UsageError(reason.what());
  }
  if (!output.empty()) Outputs(results, force).add(output, "--output", Content::comparison_page);
  say("{}", text);
  if (!output.empty()) {
    std::vector<PageFile> pages;
    for (const auto& file : files) {
      PageView view = page_view(file);
      pages.push_back({file_json(file), std::move(view.view), std::move(view.rows)});
    }
    write_page(output, page_json("comparison", "Results side by side", pages));
  }
  say("{}", caution_text);
  return done;
}

}  // namespace

Verb add_compare(CLI::App& app) {
  CLI::App* command =
      app.add_subcommand("compare", "Compare results side by side, with differences in standard errors");
  command->footer(
      "Example:\n"
      "  catoptra compare flat.h5 cup.h5 cone.h5 -o beside.html\n\n"
      "Differences are relative to the first result. All results must be of one kind: either of\n"
      "one instant, or schedules.");
  const auto results = std::make_shared<std::vector<std::string>>();
  const auto output = std::make_shared<std::string>();
  command->add_option("RESULT", *results, "Two or more result files of catoptra trace or steer (HDF5)")
      ->required()
      ->option_text(" ");
  add_text_option(*command, "-o,--output", *output, "FILE",
                  "Also write a page with curves, maps, budgets and scenes side by side");
  const auto force = std::make_shared<bool>(false);
  add_force_option(*command, *force);
  return {command, [=] { return run(*results, *output, *force); }};
}

}  // namespace catoptra
