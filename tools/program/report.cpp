// catoptra report: a result as one page to look at.
#include <filesystem>
#include <fmt/format.h>
#include <memory>

#include "arguments.h"
#include "files/whole_file.h"
#include "outputs.h"
#include "page.h"
#include "pictures/page_data.h"
#include "pictures/page_view.h"
#include "streams.h"
#include "verb.h"

namespace catoptra {
namespace {

int run(const std::string& result, const std::string& output, bool force) {
  const auto path = page_path(output, result);
  require_pages();
  const StoredFile file = read_or_refuse(result);
  Outputs(std::vector{result}, force).add(path, "--output", Content::result_page);
  const PageView view = page_view(file);
  if (view.view == "null")
    tell("catoptra: '{}' holds a scene that this program can't build: no view in space\n  {}\n", result, view.why);
  const PageFile page{file_json(file), view.view, view.rows};
  write_page(path, page_json("result", file.text("title"), std::span(&page, 1)));
  return done;
}

}  // namespace

StoredFile read_or_refuse(const std::string& path) {
  namespace fs = std::filesystem;
  std::error_code unknown;
  const auto there = fs::status(path, unknown);
  // Opening a pipe would wait for somebody to write to it.
  if (fs::exists(there) && !fs::is_regular_file(there) && !fs::is_directory(there))
    throw UsageError(fmt::format("'{}' is not a plain file\n  allowed: what catoptra trace or steer wrote", path));
  settle_folder(fs::path(path).has_parent_path() ? fs::path(path).parent_path() : fs::path("."));
  try {
    StoredFile file = read_result(path);
    if (!file.has_checksum)
      tell(
          "catoptra: '{}' has no checksum: an older version wrote it, or another program has\n  changed it; "
          "damage would not be noticed\n",
          path);
    return file;
  } catch (const NotAResult& reason) {
    throw UsageError(reason.what());
  }
}

Verb add_report(CLI::App& app) {
  CLI::App* command = app.add_subcommand("report", "Show a result on one page: budget, flux maps, curves, a 3-D view");
  command->footer(
      "Example:\n"
      "  catoptra trace scenes/bowl.toml && catoptra report bowl.h5\n\n"
      "The page is one HTML file for any browser. It contains all that it shows and needs no\n"
      "network.");
  const auto result = std::make_shared<std::string>(), output = std::make_shared<std::string>();
  command->add_option("RESULT", *result, "Result file of catoptra trace or steer (HDF5)")->required()->option_text(" ");
  add_text_option(*command, "-o,--output", *output, "FILE",
                  "Output page [the result's name with .html, in this folder]");
  const auto force = std::make_shared<bool>(false);
  add_force_option(*command, *force);
  return {command, [=] { return run(*result, *output, *force); }};
}

}  // namespace catoptra
