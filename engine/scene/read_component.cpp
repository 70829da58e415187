#include "scene/read_component.h"

#include <algorithm>
#include <fmt/format.h>
#include <memory>

#include "geometry/kinds/apertures.h"
#include "geometry/kinds/shapes.h"
#include "scene/array.h"
#include "scene/read_kind.h"
#include "scene/roles.h"

namespace catoptra {
namespace {

/// A sub-table that starts with one of Variant's kinds, as a reader; none where it is missing (said if required) or no
/// table.
template <class Variant>
std::optional<TableReader> sub_table(TableReader& parent, std::string_view key, Need need) {
  const std::string example = kind_example(kind_words<Variant>());
  const toml::node* node = need == Need::required ? parent.require(key, example) : parent.find(key);
  if (node == nullptr) return std::nullopt;
  const auto* table = table_in(*node, key, parent.what(), example, parent.problems());
  if (table == nullptr) return std::nullopt;
  return TableReader(*table, place_of(node->source()), fmt::format("{} of {}", key, parent.what()), parent.reading());
}

bool is_fit_for_name(std::string_view name) {
  const bool plain = std::ranges::none_of(
      name, [](char c) { return static_cast<unsigned char>(c) < 0x20 || c == 0x7f || c == '/' || c == '\''; });
  return plain && !name.empty() && name.size() <= 60 && name != "." && name != "..";
}

class ComponentReader {
 public:
  ComponentReader(TableReader reader, Role role) : reader_(std::move(reader)), problems_(reader_.problems()) {
    draft_.component.role = role;
    draft_.component.places = std::make_shared<const KeyPlaces>(places_in(reader_.table(), reader_.place()));
  }

  Draft operator()() {
    draft_.what = reader_.what();
    read_name();
    draft_.shape_sound = is_sound([&] { read_shape_and_aperture(); }) && !lacks_shape_;
    const bool needs_finish = draft_.component.role != Role::obstacle;
    draft_.finish = reader_.text("finish", needs_finish ? Need::required : Need::optional);
    // A pane is the same from both sides.
    if (draft_.component.role != Role::cover) draft_.back = reader_.text("back", Need::optional);
    draft_.mount_sound = is_sound([&] { read_mount(); });
    if (auto array = read_frames<AnyArray>("array"))
      draft_.component.array = std::visit([](const auto& kind) { return kind.frames(); }, *array);
    draft_.facets = read_frames<AnyFacets>("facets");
    if (draft_.component.role == Role::receiver) {
      read_flux();
      read_heat();
    }
    reader_.finish();
    return std::move(draft_);
  }

 private:
  template <class Read>
  bool is_sound(const Read& read) {
    const std::size_t errors_before = problems_.error_count();
    read();
    return problems_.error_count() == errors_before;
  }

  void read_name() {
    const auto name = reader_.text("name", Need::required);
    if (!name) return;
    if (is_fit_for_name(*name)) {
      draft_.component.name = *name;
    } else {
      problems_.error(draft_.at("name"), fmt::format("'name' in {} can't be used", reader_.what()),
                      {"allowed: 1 to 60 characters; not . or .., no slash, no quote, no control characters"});
    }
  }

  void read_shape_and_aperture() {
    Component& component = draft_.component;
    bool needs_aperture = false, shape_known = false;
    if (auto table = sub_table<AnyShape>(reader_, "shape", Need::required)) {
      if (const auto shape = read_kind<AnyShape>(*table)) {
        shape_known = true;
        std::visit(
            [&](const auto& kind) {
              component.shape_kind = kind.kind;
              if constexpr (requires { kind.surface(); }) {
                component.surface = kind.surface();
                if constexpr (requires { kind.own_outline(); }) {
                  component.outline = kind.own_outline();
                } else {
                  needs_aperture = std::visit([](const auto& s) { return s.above_outline; }, component.surface);
                }
              } else {
                draft_.corrector = kind;
              }
            },
            *shape);
      }
    }
    auto table = sub_table<AnyAperture>(reader_, "aperture", needs_aperture ? Need::required : Need::optional);
    lacks_shape_ = !reader_.table().contains("shape") || (needs_aperture && !table);
    if (!table) return;
    const auto aperture = read_kind<AnyAperture>(*table);
    if (shape_known && !needs_aperture) {
      problems_.error(draft_.at("aperture"), fmt::format("'aperture' in {} has no meaning", reader_.what()),
                      {fmt::format("a {} ends where its own sizes say", component.shape_kind)});
    } else if (aperture) {
      component.outline = std::visit([](const auto& kind) -> AnyOutline { return kind.outline(); }, *aperture);
    }
  }

  void read_mount() {
    auto table = sub_table<AnyMount>(reader_, "mount", Need::required);
    if (!table) return;
    const auto kind = table->table()["kind"].value<std::string>();
    if (kind == CarriedMount::kind) draft_.by = table->table()["by"].value<std::string>();
    draft_.aim = table->table()["aim"].value<std::string>();
    draft_.primary = table->table()["primary"].value<std::string>();
    const auto members = [](auto& mount, TableReader& reader) {
      ReadFields()(mount, reader);
      using Mount = std::remove_cvref_t<decltype(mount)>;
      if constexpr (std::is_same_v<Mount, SteeredMount>) read_pose(mount, reader);
      if constexpr (requires { mount.aim; }) {
        const bool by_name = reader.table().contains("aim"), by_point = reader.table().contains("aim_m");
        if (by_name == by_point) {
          reader.problems().error(
              by_name ? reader.place_of_value("aim") : reader.place(),
              fmt::format("{} in {}", by_name ? "both 'aim' and 'aim_m'" : "neither 'aim' nor 'aim_m'", reader.what()),
              {"allowed: one of them, aim = \"a component's name\" or aim_m = [x, y, z]"});
        }
      }
    };
    if (auto mount = read_kind<AnyMount>(*table, members)) draft_.component.mount = std::move(*mount);
  }

  static void read_pose(SteeredMount& mount, TableReader& reader) {
    mount.axis = mount.home_axis;
    const toml::node* node = reader.find("pose");
    if (node == nullptr) return;
    const auto* table = table_in(*node, "pose", reader.what(),
                                 "{ offset_m = [x, y, z], axis = [x, y, z], roll_deg = 0 }", reader.problems());
    if (table == nullptr) return;
    TableReader pose(*table, place_of(node->source()), fmt::format("pose in {}", reader.what()), reader.reading());
    pose.read_fields(mount, std::span<const Field<SteeredMount>>(SteeredMount::pose_fields));
    pose.finish();
  }

  template <class Variant>
  std::optional<Variant> read_frames(std::string_view key) {
    auto table = sub_table<Variant>(reader_, key, Need::optional);
    return table ? read_kind<Variant>(*table) : std::nullopt;
  }

  void read_flux() {
    const toml::node* node = reader_.find("flux");
    if (node == nullptr) return;
    const auto* table = table_in(*node, "flux", reader_.what(), "{ bins = [n, m] }", problems_);
    if (table == nullptr) return;
    TableReader flux(*table, place_of(node->source()), fmt::format("flux of {}", reader_.what()), reader_.reading());
    flux.read_fields(draft_.component, std::span<const Field<Component>>(Component::flux_fields));
    flux.finish();
  }

  void read_heat() {
    const toml::node* node = reader_.find("heat");
    if (node == nullptr) return;
    const auto* table = table_in(*node, "heat", reader_.what(), "{ emittance = 0.1, temperature_K = 700 }", problems_);
    if (table == nullptr) return;
    TableReader heat(*table, place_of(node->source()), fmt::format("heat of {}", reader_.what()), reader_.reading());
    heat.read_fields(draft_.component.heat.emplace(), std::span<const Field<HeatLoss>>(HeatLoss::fields));
    heat.finish();
  }

  TableReader reader_;
  Problems& problems_;
  Draft draft_;
  bool lacks_shape_ = false;  // or its aperture: said at the end, with all keys that are missing
};

}  // namespace

std::vector<Draft> read_components(const toml::node& node, Role role, const Reading& reading) {
  const auto word = role_word(role);
  const auto* array = node.as_array();
  if (array == nullptr || !std::ranges::all_of(*array, [](const toml::node& n) { return n.is_table(); })) {
    reading.problems.error(
        place_of(node.source()), fmt::format("wrong type for '{}' in the scene", word),
        {"found: " + found_text(node), fmt::format("allowed: tables under [[{}]], in two brackets", word)});
    return {};
  }
  std::vector<Draft> out;
  int number = 0;
  for (const auto& element : *array) {
    const toml::table& table = *element.as_table();
    ++number;
    const auto name = table["name"].value<std::string>();
    const std::string what =
        name && is_fit_for_name(*name) ? fmt::format("{} '{}'", word, *name) : fmt::format("{} {}", word, number);
    out.push_back(ComponentReader(TableReader(table, place_of(table.source()), what, reading), role)());
  }
  return out;
}

}  // namespace catoptra
