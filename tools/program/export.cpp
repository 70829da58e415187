// catoptra export: a result's data for other programs, and figures for papers.
#include <algorithm>
#include <array>
#include <cmath>
#include <filesystem>
#include <fmt/format.h>
#include <fmt/ranges.h>
#include <memory>

#include "arguments.h"
#include "figures.h"
#include "files/names.h"
#include "files/provenance.h"
#include "files/stored_scene.h"
#include "files/whole_file.h"
#include "outputs.h"
#include "pictures/write_gltf.h"
#include "pictures/write_vtkhdf.h"
#include "scene/read_file.h"
#include "streams.h"
#include "verb.h"
#include "words/export_csv.h"
#include "words/schedule_rows.h"

namespace catoptra {
namespace {

namespace fs = std::filesystem;

struct Typed {  // as typed; empty: not given
  std::string result, to, output, sun;
  bool force = false;
};

enum class Format { csv, vtk, gltf, png, svg, pdf, toml };
constexpr std::array<std::string_view, 7> formats{"csv", "vtk", "gltf", "png", "svg", "pdf", "toml"};
constexpr std::array<std::string_view, 7> endings{".csv", ".vtkhdf", ".glb", ".png", ".svg", ".pdf", ".toml"};

Format format_of(const Typed& typed) {
  if (typed.to.empty())
    throw UsageError(fmt::format("--to is missing\n  allowed: --to {}", fmt::join(formats, ", --to ")));
  return static_cast<Format>(word_of("--to", typed.to, formats));
}

fs::path output_of(const Typed& typed, Format format) {
  const auto ending = endings[static_cast<std::size_t>(format)];
  // Beside the scene that a person wrote, not over it.
  const char* which = format == Format::toml ? "-scene" : "";
  if (typed.output.empty()) return fs::path(typed.result).stem().concat(which).concat(ending);
  if (fs::path(typed.output).extension() != ending)
    throw UsageError(fmt::format("--output is '{}'\n  allowed: a name that ends with {}, as --to {} asks", typed.output,
                                 ending, typed.to));
  return typed.output;
}

/// Which sun of a schedule a picture in space shows.
std::size_t row_of(const Typed& typed, const StoredFile& file, Format format) {
  const bool in_space = format == Format::vtk || format == Format::gltf;
  if (!typed.sun.empty() && !(in_space && is_schedule(file)))
    throw UsageError("--sun chooses one of a schedule's suns for --to vtk and --to gltf; here there is none to choose");
  if (!in_space || !is_schedule(file)) return 0;
  const Schedule schedule = schedule_of(file);
  if (!typed.sun.empty()) return integer_of("--sun", typed.sun, 1, schedule.rows.size()) - 1;
  constexpr auto absorbed = static_cast<std::size_t>(Term::absorbed);
  const auto most = std::ranges::max_element(schedule.rows, {},
                                             [](const ScheduleRow& row) { return row.result.budget[absorbed].value; });
  return static_cast<std::size_t>(most - schedule.rows.begin());
}

void write_table(const fs::path& path, const std::string& text) {
  write_whole_file(path, text);
  say("table: {}\n", path.string());
}

void export_tables(const StoredFile& file, const fs::path& output, Outputs& outputs) {
  const Scene scene = scene_of(file);
  if (is_schedule(file)) {
    outputs.add(output, "--output", Content::schedule_table);
    write_table(output, schedule_csv(scene, schedule_of(file)));
    return;
  }
  const auto receivers = receivers_of(file);
  std::vector<std::pair<fs::path, std::string>> tables;
  for (const Component& component : scene.components) {
    if (component.role != Role::receiver) continue;
    const auto map = flux_of(file, component.name);
    if (!map) continue;
    fs::path path = output;
    if (receivers.size() > 1) path.replace_filename(output.stem().concat("-" + component.name + ".csv"));
    outputs.add(path, "--output", Content::flux_table);
    tables.emplace_back(std::move(path), flux_csv(component, *map));
  }
  if (tables.empty()) throw std::runtime_error(fmt::format("'{}' holds no flux map", file.path));
  for (const auto& [path, text] : tables) write_table(path, text);
}

/// Whether a path from the scene's folder stays in it.
bool is_inside(const fs::path& path) {
  return path.is_relative() && std::ranges::find(path, fs::path("..")) == path.end();
}

bool is_there_already(const fs::path& path, const std::string& text) {
  std::error_code unknown;
  return fs::is_regular_file(path, unknown) && fs::file_size(path, unknown) == text.size() &&
         read_whole_file(path.string()) == text;
}

/// The scene as the result keeps it, and the files that it names where it looks for them.
void export_scene(const StoredFile& file, const fs::path& output, Outputs& outputs) {
  std::vector<SourceFile> texts{{output.string(), scene_text_of(file).text}}, elsewhere;
  for (const SourceFile& named : pulled_in_of(file)) {
    const fs::path path = output.parent_path() / named.path;
    if (!is_inside(named.path))
      elsewhere.push_back(named);
    else if (!is_there_already(path, named.text))
      texts.push_back({path.string(), named.text});
  }
  for (const SourceFile& one : texts)
    outputs.add(one.path, &one == &texts.front() ? "--output" : "a file that the scene names", Content::stored_scene);
  FileSet set;
  for (const SourceFile& one : texts) set.write(one.path, [&](const fs::path& to) { write_whole_file(to, one.text); });
  set.keep();
  for (const SourceFile& one : texts) say("{}: {}\n", &one == &texts.front() ? "scene" : "file of the scene", one.path);
  for (const SourceFile& one : elsewhere) say("not written, since it lies outside the scene's folder: {}\n", one.path);
}

void export_space(const StoredFile& file, const fs::path& output, Format format, std::size_t row) {
  const Scene scene = scene_of(file, row);
  const SceneView view = view_of(scene, MeshLines::bins);
  std::vector<NamedMap> maps;
  for (const auto& receiver : receivers_of(file)) {
    if (auto map = flux_of(file, receiver)) maps.push_back({receiver, std::move(*map)});
  }
  const auto paths = paths_of(file);
  if (format == Format::vtk) {
    write_vtkhdf(output, view, maps, paths);
  } else {
    write_gltf(output, view, maps, paths, "Catoptra " CATOPTRA_VERSION);
  }
  say("scene: {}\n", output.string());
  if (!is_schedule(file)) return;
  const Schedule schedule = schedule_of(file);
  say("sun {} of {}, {}; a schedule keeps no flux maps and no ray paths\n", row + 1, schedule.rows.size(),
      time_text(scene, schedule.rows[row].sun, true));
}

int export_figures(const StoredFile& file, const fs::path& output, const std::string& format, Content content,
                   Outputs& outputs) {
  const auto figures = draw_figures(file, format);
  if (!figures) return failed;
  std::vector<fs::path> paths;
  for (const Figure& figure : *figures)
    paths.push_back(fs::path(output).replace_extension().concat(fmt::format("-{}.{}", figure.shows, format)));
  for (const fs::path& path : paths) outputs.add(path, "--output", content);
  for (std::size_t i = 0; i < paths.size(); ++i) {
    write_whole_file(paths[i], (*figures)[i].content);
    say("figure: {}\n", paths[i].string());
  }
  return done;
}

int run(const Typed& typed) {
  const Format format = format_of(typed);
  const fs::path output = output_of(typed, format);
  const StoredFile file = read_or_refuse(typed.result);
  const std::size_t row = row_of(typed, file, format);
  require_writable(output);  // before figures are drawn
  Outputs outputs(std::vector{typed.result}, typed.force);
  switch (format) {
    case Format::csv:
      export_tables(file, output, outputs);
      return done;
    case Format::toml:
      export_scene(file, output, outputs);
      return done;
    case Format::vtk:
    case Format::gltf:
      outputs.add(output, "--output", format == Format::vtk ? Content::vtk : Content::gltf);
      export_space(file, output, format, row);
      return done;
    case Format::png:
      return export_figures(file, output, typed.to, Content::png, outputs);
    case Format::svg:
      return export_figures(file, output, typed.to, Content::svg, outputs);
    case Format::pdf:
      return export_figures(file, output, typed.to, Content::pdf, outputs);
  }
  return failed;
}

}  // namespace

Verb add_export(CLI::App& app) {
  CLI::App* command = app.add_subcommand("export", "Write a result for other programs, or as figures for papers");
  command->footer(
      "Examples:\n"
      "  catoptra export bowl.h5 --to csv        flux map as a table: bowl.csv\n"
      "  catoptra export bowl.h5 --to vtk        for ParaView: bowl.vtkhdf\n"
      "  catoptra export bowl.h5 --to gltf       for viewers of 3-D models: bowl.glb\n"
      "  catoptra export bowl.h5 --to pdf        bowl-budget.pdf, bowl-flux.pdf, …\n"
      "  catoptra export bowl-steer.h5 --to svg  bowl-steer-day.svg and others\n"
      "  catoptra export bowl.h5 --to toml       the traced scene: bowl-scene.toml\n\n"
      "Each of several receivers gets its own table and figures, named after it. Figures (png,\n"
      "svg, pdf) are drawn by Debian's python3-matplotlib and embed their fonts.");
  const auto typed = std::make_shared<Typed>();
  const auto option = [&](auto&&... words) { add_text_option(*command, words...); };
  command->add_option("RESULT", typed->result, "Result file of catoptra trace or steer (HDF5)")
      ->required()
      ->option_text(" ");
  option("--to", typed->to, "WORD", "csv, vtk, gltf, png, svg, pdf, toml");
  option("-o,--output", typed->output, "FILE", "Output file [the result's name with another ending, in this folder]");
  option("--sun", typed->sun, "N", "Sun position of a schedule that vtk and gltf show [the one with most power]");
  add_force_option(*command, typed->force);
  return {command, [typed] { return run(*typed); }};
}

}  // namespace catoptra
