#include "scene/read.h"

#include <algorithm>
#include <cctype>
#include <fmt/format.h>
#include <map>
#include <stdexcept>

#include "geometry/bounds.h"
#include "scene/ascii_keys.h"
#include "scene/check.h"
#include "scene/clean_texts.h"
#include "scene/complete_correctors.h"
#include "scene/draft.h"
#include "scene/plain_text.h"
#include "scene/read_component.h"
#include "scene/read_file.h"
#include "scene/read_kind.h"
#include "scene/read_sun.h"
#include "scene/roles.h"
#include "scene/toml_depth.h"
#include "scene/toml_fault.h"
#include "scene/words.h"

namespace catoptra {
namespace {

constexpr std::int64_t schema_known = 1;

/// Glass and metal mirrors are off by a milliradian or two; 0.05 is beyond what such a mirror keeps outdoors (common
/// practice, no source). 0.0015 was meant in radians.
void check_errors(TableReader& reader, const AnyFinish& finish) {
  const auto* mirror = std::get_if<Mirror>(&finish);
  if (mirror == nullptr) return;
  constexpr double least_rad = 0.05e-3;
  const double error_rad = std::max(mirror->slope_error_rad.x, mirror->slope_error_rad.y);
  if (error_rad == 0 || error_rad >= least_rad) return;
  reader.problems().warning(
      reader.place_of_value("slope_error_mrad"),
      fmt::format("a slope error of {} mrad is smaller than any solar mirror's", number_text(1e3 * error_rad)),
      {fmt::format("{0} rad is slope_error_mrad = {1}", number_text(1e3 * error_rad), number_text(1e6 * error_rad))});
}

std::vector<NamedFinish> read_finishes(const toml::node& node, const Reading& reading) {
  Problems& problems = reading.problems;
  const auto* table = table_in(node, "finish", "the scene", "tables [finish.NAME]", problems);
  if (table == nullptr) return {};
  std::vector<NamedFinish> out;
  for (const auto& [name, entry] : *table) {
    const auto* finish = table_in(entry, name.str(), "[finish]", "a table [finish.NAME]", problems);
    if (finish == nullptr) continue;
    // An implicit table has no place of its own: its name has.
    const Place place = entry.source().begin ? place_of(entry.source()) : place_of(name.source());
    if (name.str() == "dark") {
      problems.error(place, "the finish 'dark' is built in", {"allowed: any other name"});
      continue;
    }
    TableReader reader(*finish, place, fmt::format("finish '{}'", shortened(name.str())), reading);
    if (auto kind = read_kind<AnyFinish>(reader)) {
      check_errors(reader, *kind);
      out.push_back({std::string(name.str()), std::move(*kind)});
    }
  }
  return out;
}

/// Looks up the names that components use for finishes; -1 is dark.
class FinishFinder {
 public:
  FinishFinder(const toml::table& root, const std::vector<NamedFinish>& finishes, Problems& problems)
      : finishes_(finishes), problems_(problems) {
    // A finish that was refused for its own reasons is known all the same.
    if (const auto* table = root["finish"].as_table()) {
      for (const auto& [name, entry] : *table) names_.push_back(name.str());
    }
    names_.push_back("dark");
  }

  int operator()(const std::optional<std::string>& given, Place place, std::string_view key, const std::string& what) {
    if (!given || given == "dark") return -1;
    const std::string& name = *given;
    const auto at = std::ranges::find(finishes_, name, &NamedFinish::name);
    if (at != finishes_.end()) return static_cast<int>(at - finishes_.begin());
    if (std::ranges::find(names_, name) == names_.end()) {
      problems_.error(place, fmt::format("no finish is called '{}', the '{}' of {}", shortened(name), key, what),
                      problems_.is_full() ? std::vector<std::string>() : word_notes(name, names_));
    }
    return -1;
  }

 private:
  const std::vector<NamedFinish>& finishes_;
  Problems& problems_;
  std::vector<std::string_view> names_;
};

void refuse_repeated_names(const std::vector<Draft>& drafts, Problems& problems) {
  std::map<std::string_view, const Draft*> first;
  for (const auto& draft : drafts) {
    if (draft.component.name.empty()) continue;
    const auto [at, fresh] = first.emplace(draft.component.name, &draft);
    if (fresh) continue;
    problems.error(draft.at("name"), fmt::format("a second component is called '{}'", draft.component.name),
                   {fmt::format("the first is the {} of line {}", role_word(at->second->component.role),
                                at->second->at("name").line)});
  }
}

/// Along x and y: of the outline; of the surface where that ends by itself.
Vec2 width_m(const Component& facet) {
  if (!std::holds_alternative<Whole>(facet.outline)) {
    const Box2 box = catoptra::box(facet.outline);
    return {box.high.x - box.low.x, box.high.y - box.low.y};
  }
  const Box box = bounds_of(facet.surface, facet.outline);  // a hair too large
  return {box.high.x - box.low.x, box.high.y - box.low.y};
}

void place_facets(std::vector<Draft>& drafts, Problems& problems) {
  for (auto& draft : drafts) {
    if (!draft.facets || !draft.shape_sound) continue;
    try {
      draft.component.facets = frames_of(*draft.facets, width_m(draft.component));
    } catch (const KeyFault& fault) {
      problems.error(draft.at("facets." + fault.key), fault.what(), fault.notes);
    }
  }
}

class SceneReader {
 public:
  SceneReader(std::string text, const std::string& path, PulledIn files)
      : problems_(path, text), files_(std::move(files)) {
    scene_.path = path;
    scene_.text = std::move(text);
  }

  ReadOutcome operator()() {
    if (refuse_non_text(scene_.text, problems_) && refuse_plain_non_ascii(scene_.text, problems_) &&
        refuse_deep_nesting(scene_.text, problems_)) {
      try {
        const toml::table root = toml::parse(std::string_view(scene_.text));
        if (refuse_control_characters(root, problems_)) read_root(root);
      } catch (const toml::parse_error& fault) {
        report_syntax(fault);
      }
    }
    ReadOutcome out;
    if (problems_.error_count() == 0) out.scene = std::move(scene_);
    out.problems = problems_.take();
    out.left_out = problems_.left_out();
    return out;
  }

 private:
  void report_syntax(const toml::parse_error& fault) {
    // "Error while parsing X: the matter", in the parser's words.
    auto [place, message, notes] = explain_toml_fault(scene_.text, place_of(fault.source()), fault.description());
    problems_.error(place, std::move(message), std::move(notes));
  }

  void read_root(const toml::table& root) {
    if (root.empty()) {
      problems_.error({1, 1, 1}, "the scene is empty",
                      {"allowed: schema = 1, a table [sun], at least one table [[primary]], and what they need"});
      return;
    }
    const Reading reading{problems_, files_};
    TableReader reader(root, {1, 1, 1}, "the scene", reading);
    if (const auto* node = reader.require("schema", "schema = 1, the version of the keys")) read_schema(*node);
    if (auto title = reader.text("title", Need::optional)) scene_.title = std::move(*title);
    const toml::node* site = reader.find("site");
    if (site != nullptr) scene_.site = read_site(*site, reading);
    if (const auto* node = reader.require("sun", "a table [sun]")) {
      if (auto sun = read_sun(*node, scene_.site, site != nullptr, reading)) scene_.sun = std::move(*sun);
    }
    if (const auto* node = reader.find("finish")) scene_.finishes = read_finishes(*node, reading);
    std::vector<Draft> drafts;
    for (const Role role : all_roles) {
      const auto word = role_word(role);
      const toml::node* node =
          role == Role::primary ? reader.require(word, "at least one table [[primary]]") : reader.find(word);
      if (node == nullptr) continue;
      auto some = read_components(*node, role, reading);
      std::ranges::move(some, std::back_inserter(drafts));
    }
    const auto suggested = reader.finish();
    // A misspelt table is one mistake, not two.
    receiver_wanted_ = std::ranges::find(suggested, role_word(Role::receiver)) == suggested.end();
    finish_components(root, std::move(drafts));
  }

  void read_schema(const toml::node& node) {
    const auto* number = node.as_integer();
    if (number != nullptr && number->get() == schema_known) return;
    problems_.error(place_of(node.source()), "this schema is not known",
                    {"found: " + found_text(node), fmt::format("allowed: {}", schema_known)});
  }

  void finish_components(const toml::table& root, std::vector<Draft> drafts) {
    FinishFinder find_finish(root, scene_.finishes, problems_);
    for (auto& draft : drafts) {
      draft.component.front_finish = find_finish(draft.finish, draft.at("finish"), "finish", draft.what);
      draft.component.back_finish = find_finish(draft.back, draft.at("back"), "back", draft.what);
    }
    refuse_repeated_names(drafts, problems_);
    complete_correctors(drafts, problems_);
    place_facets(drafts, problems_);
    for (const auto& draft : drafts) scene_.components.push_back(draft.component);
    if (receiver_wanted_) check_roles(drafts, problems_);
    check_names_and_limits(drafts, scene_, problems_);
    scene_.pulled_in = files_.take();
    // Only a scene that can be placed can be looked at as a whole.
    if (problems_.error_count() == 0) check_layout(drafts, scene_, problems_);
    if (problems_.error_count() == 0) check_sense(drafts, scene_, problems_);
  }

  Scene scene_;
  Problems problems_;
  PulledIn files_;
  bool receiver_wanted_ = true;
};

}  // namespace

ReadOutcome read_scene(const std::string& path) {
  try {
    return read_scene_text(read_whole_file(path), path);
  } catch (const std::runtime_error& fault) {
    ReadOutcome out;
    out.problems.push_back(
        {Severity::error, path, {}, fmt::format("can't read the scene: {}", fault.what()), {}, {}, 1});
    return out;
  }
}

ReadOutcome read_scene_text(std::string text, const std::string& path) {
  return SceneReader(std::move(text), path, PulledIn(path))();
}

ReadOutcome read_kept_scene(std::string text, const std::string& path, std::vector<SourceFile> pulled_in) {
  return SceneReader(std::move(text), path, PulledIn(path, std::move(pulled_in)))();
}

}  // namespace catoptra
