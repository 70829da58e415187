// A setting changes its own bytes of a scene's text and no others, in all ways that TOML has to write a table.
#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <toml++/toml.h>

#include "scene/read_setting.h"
#include "scene/write_setting.h"
#include "source_dir.h"

using namespace catoptra;

namespace {

std::string with(const std::string& text, const std::vector<std::string>& settings) {
  PatchedText patched(text);
  int number = 0;
  for (const std::string& setting : settings) {
    const toml::table root = toml::parse(std::string_view(patched.text()));
    const SettingParts parts = parts_of(setting);
    FoundPath found = find_path(root, std::string_view(setting).substr(0, parts.path_size),
                                [](const toml::node&) { return std::string(); });
    write_setting(patched, number++, std::move(found.where), value_of(setting, parts.value_at));
  }
  return patched.text();
}

std::string crlf(const std::string& text) {
  std::string out;
  for (const char c : text) out += c == '\n' ? std::string("\r\n") : std::string(1, c);
  return out;
}

std::string replaced(std::string whole, const std::string& old, const std::string& fresh) {
  const auto at = whole.find(old);
  INFO(old);
  REQUIRE(at != std::string::npos);
  REQUIRE(whole.find(old, at + 1) == std::string::npos);
  return whole.replace(at, old.size(), fresh);
}

// As people write it: comments, tabs, letters of two bytes, dots in names and keys, dotted keys, lists over lines.
const std::string text = R"(schema = 1 # sun.dni_W_m2 = 4
title = 'Höhe # frei'
[sun]
at = 2026-06-21 13:30:00+01:00 # a blank in it
[finish."front.silver"]
kind = "mirror"
reflectance = [[0, 0.95], # "é"
  [60, 0.9]]
[[primary]]
name = "bowl é"
shape = { kind = "sphere", radius_m = 1_0.0 } # { 10 }
aperture = {}
mount.kind = "fixed"
  mount.position_m = [0, 0, 1]
[[secondary]]
name = "pilot"
  [secondary.shape] # its form
	kind = "conic"
	conic_constant	=	-7	# m
  [secondary.mount.pose]
axis = [0, 0, -1]
[[receiver]]
name = "tube.1"
mount = { kind = "fixed", pose.axis = [0, 0, 1], position_m = [0, 0,
   1.6] }
[[receiver]]
name = "tube.2"
finish = "dark")";

}  // namespace

TEST_CASE("a value of TOML 1.0 ends where the parser ends it", "[scene][settings]") {
  // Each form of a value that the standard knows, before what may stand behind it (toml.io/en/v1.0.0).
  const std::string three = R"(""")";
  for (const std::string& value : std::vector<std::string>{"5",
                                                           "-1_000",
                                                           "0xBEEF",
                                                           "6.26e-34",
                                                           "inf",
                                                           "true",
                                                           "1979-05-27T07:32:00-08:00",
                                                           "1979-05-27 07:32:00Z",
                                                           "07:32:00",
                                                           R"("a \" # } b")",
                                                           R"('C:\')",
                                                           R"("")",
                                                           "''",
                                                           three + "two\nlines \\" + three + " " + three,
                                                           three + "\"quoted\"" + three,
                                                           three + "\"\"quoted\"\"" + three,
                                                           "'''it''s '''''",
                                                           "[]",
                                                           "{}",
                                                           "[1, [2, 3], ]",
                                                           "[ # ] no end\n 'a', \"]\" ]",
                                                           "{ a = 1, b.\"c }\" = [ { d = '}' } ] }"})
    for (const std::string& behind :
         std::vector<std::string>{"", " ", "\t# comment", "\n", "\r\nb = 2", ", b = 2 }", "]", " }"}) {
      INFO(value << " before " << behind);
      if (behind.empty() || behind[0] == '\n') REQUIRE_NOTHROW(toml::parse("a = " + value + behind));
      CHECK(end_of_value("a = " + value + behind, 4) == 4 + value.size());
    }
}

TEST_CASE("settings: a value's own bytes change and no others", "[scene][settings]") {
  struct Case {
    std::string setting, old, fresh;
  };
  for (const auto& [setting, old, fresh] : std::vector<Case>{
           {"schema=2", "= 1 #", "= 2 #"},
           {"title=Dish", "'Höhe # frei'", "\"Dish\""},
           {"title='Dish'", "'Höhe # frei'", "'Dish'"},
           {R"(title=a "b" \ é)", "'Höhe # frei'", R"("a \"b\" \\ é")"},
           {"title = 1 2 ", "'Höhe # frei'", "\"1 2\""},
           {"sun.at=2026-12-21T12:00:00Z", "2026-06-21 13:30:00+01:00", "2026-12-21T12:00:00Z"},
           {"finish.front.silver.reflectance=0.9", "[[0, 0.95], # \"é\"\n  [60, 0.9]]", "0.9"},
           {"finish.front.silver.reflectance.1.y=1e-1", "0.9]]", "1e-1]]"},
           {"primary.bowl é.shape.radius_m=12", "1_0.0", "12"},
           {"primary.bowl é.shape={ kind = \"plane\" }", "{ kind = \"sphere\", radius_m = 1_0.0 }",
            "{ kind = \"plane\" }"},
           {"primary.bowl é.mount.kind=two_axis", "mount.kind = \"fixed\"", "mount.kind = \"two_axis\""},
           {"primary.bowl é.mount.position_m.z=-1", "0, 1]\n[[sec", "0, -1]\n[[sec"},
           {"secondary.pilot.shape.conic_constant=-6.5", "\t-7\t", "\t-6.5\t"},
           {"receiver.tube.1.mount.position_m=[1, 2, 3]", "[0, 0,\n   1.6]", "[1, 2, 3]"},
           {"receiver.tube.1.mount.pose.axis.2=true", "0, 1], position", "0, true], position"},
           {"receiver.tube.2.finish=false", "\"dark\"", "false"},
           // Keys that are not there.
           {"sun.dni_W_m2=850", "# a blank in it\n", "# a blank in it\ndni_W_m2 = 850\n"},
           {"site.latitude_deg=31", "# frei'\n", "# frei'\nsite.latitude_deg = 31\n"},
           {"finish.black={ kind = \"dark\" }", "[finish.\"front.silver\"]",
            "[finish]\nblack = { kind = \"dark\" }\n[finish.\"front.silver\"]"},
           {"finish.front.silver.slope_error_mrad=2", "  [60, 0.9]]\n", "  [60, 0.9]]\nslope_error_mrad = 2\n"},
           {"primary.bowl é.shape.height_m=1", "1_0.0 }", "1_0.0, height_m = 1 }"},
           {"primary.bowl é.shape.a b=1", "1_0.0 }", "1_0.0, \"a b\" = 1 }"},
           {"primary.bowl é.aperture.kind=circle", "{}", "{ kind = \"circle\" }"},
           {"primary.bowl é.finish=dark", "  mount.position_m = [0, 0, 1]\n",
            "  mount.position_m = [0, 0, 1]\n  finish = \"dark\"\n"},
           {"primary.bowl é.mount.axis=[0, 0, 1]", "  mount.position_m = [0, 0, 1]\n",
            "  mount.position_m = [0, 0, 1]\n  mount.axis = [0, 0, 1]\n"},
           {"secondary.pilot.shape.radius_m=1", "-7	# m\n", "-7	# m\n	radius_m = 1\n"},
           {"secondary.pilot.finish=dark", "name = \"pilot\"\n", "name = \"pilot\"\nfinish = \"dark\"\n"},
           {"secondary.pilot.mount.kind=steered", "  [secondary.mount.pose]\n",
            "[secondary.mount]\nkind = \"steered\"\n  [secondary.mount.pose]\n"},
           {"receiver.tube.1.mount.pose.roll_deg=3", "1.6] }", "1.6], pose.roll_deg = 3 }"},
           {"receiver.tube.1.heat.emittance=0.1", "1.6] }\n", "1.6] }\nheat.emittance = 0.1\n"},
           {"receiver.tube.2.heat={ emittance = 0.1 }", "\"dark\"", "\"dark\"\nheat = { emittance = 0.1 }\n"},
           // Tables with statements of their own become one value.
           {"secondary.pilot.shape={ kind = \"plane\" }",
            "name = \"pilot\"\n  [secondary.shape] # its form\n\tkind = \"conic\"\n\tconic_constant\t=\t-7\t# m\n",
            "name = \"pilot\"\nshape = { kind = \"plane\" }\n"},
           {"secondary.pilot.mount={ kind = \"fixed\" }", "  [secondary.mount.pose]\naxis = [0, 0, -1]\n", ""},
           {"primary.bowl é.mount={ kind = \"two_axis\" }", "mount.kind = \"fixed\"\n  mount.position_m = [0, 0, 1]\n",
            "mount = { kind = \"two_axis\" }\n"},
           {"finish.front.silver={ kind = \"dark\" }",
            "[finish.\"front.silver\"]\nkind = \"mirror\"\nreflectance = [[0, 0.95], # \"é\"\n  [60, 0.9]]\n", ""},
       }) {
    INFO(setting);
    std::string wanted = replaced(text, old, fresh);
    if (setting.starts_with("secondary.pilot.mount={"))
      wanted = replaced(wanted, "name = \"pilot\"\n", "name = \"pilot\"\nmount = { kind = \"fixed\" }\n");
    if (setting.starts_with("finish.front.silver={"))
      wanted = replaced(wanted, "# frei'\n", "# frei'\nfinish.\"front.silver\" = { kind = \"dark\" }\n");
    CHECK(with(text, {setting}) == wanted);
    CHECK(with(crlf(text), {setting}) == crlf(wanted));
    CHECK(with("\xEF\xBB\xBF" + text, {setting}) == "\xEF\xBB\xBF" + wanted);
  }
}

TEST_CASE("settings: later ones see what earlier ones wrote", "[scene][settings]") {
  CHECK(with("schema = 1\n", {"sun={}", "sun.dni_W_m2=850", "sun.shape={kind='disc'}", "sun.shape.kind=point"}) ==
        "schema = 1\nsun = { dni_W_m2 = 850, shape = {kind=\"point\"} }\n");
  CHECK(with("[sun]\n", {"title=x", "site.latitude_deg=3", "site.longitude_deg=4"}) ==
        "title = \"x\"\nsite.latitude_deg = 3\nsite.longitude_deg = 4\n[sun]\n");
  CHECK(with("[sun]", {"sun.dni_W_m2=1", "sun.azimuth_deg=2"}) == "[sun]\ndni_W_m2 = 1\nazimuth_deg = 2\n");
  CHECK(with("receiver = [{ name = 'a', flux = { bins = [1, 2] } }, { name = 'b' }]",
             {"receiver.b.flux.bins=[3, 4]", "receiver.a.flux.bins.0=5"}) ==
        "receiver = [{ name = 'a', flux = { bins = [5, 2] } }, { name = 'b', flux.bins = [3, 4] }]");
}

namespace {

/// Every path through a table that a setting can name, with the node that it leads to. Lists that are no lists of
/// tables count as one value.
void add_paths(const toml::node& node, const std::string& path, std::vector<std::string>& values,
               std::vector<std::string>& tables) {
  if (const auto* table = node.as_table()) {
    if (!path.empty()) tables.push_back(path);
    for (const auto& [key, inner] : *table)
      add_paths(inner, (path.empty() ? "" : path + ".") + std::string(key.str()), values, tables);
  } else if (const auto* list = node.as_array(); list != nullptr && list->is_homogeneous<toml::table>()) {
    for (const toml::node& element : *list)
      add_paths(element, path + "." + (*element.as_table())["name"].value_or(std::string()), values, tables);
  } else {
    values.push_back(path);
  }
}

/// The same walk by names, in a tree that may be changed.
toml::node& node_of(toml::table& root, const std::string& path) {
  toml::node* node = &root;
  std::string left = path;
  while (!left.empty()) {
    toml::node* next = nullptr;
    std::size_t size = 0;
    const auto offer = [&](const std::string& name, toml::node& to) {
      const bool fits = left.starts_with(name) && (left.size() == name.size() || left[name.size()] == '.');
      if (!fits || name.size() < size) return;
      next = &to;
      size = name.size();
    };
    if (auto* table = node->as_table()) {
      for (auto&& [key, inner] : *table) offer(std::string(key.str()), inner);
    } else {
      for (toml::node& element : *node->as_array())
        offer((*element.as_table())["name"].value_or(std::string()), element);
    }
    REQUIRE(next != nullptr);
    node = next;
    left = left.size() == size ? "" : left.substr(size + 1);
  }
  return *node;
}

}  // namespace

TEST_CASE("settings: in every shipped scene each value can be set and each table takes a key, alone",
          "[scene][settings]") {
  std::size_t set = 0, added = 0;
  for (const auto& entry : std::filesystem::directory_iterator(CATOPTRA_SOURCE_DIR "/scenes")) {
    if (entry.path().extension() != ".toml") continue;
    INFO(entry.path().filename());
    std::stringstream whole;
    whole << std::ifstream(entry.path()).rdbuf();
    const std::string scene = whole.str();
    std::vector<std::string> values, tables;
    add_paths(toml::parse(std::string_view(scene)), "", values, tables);
    for (const std::string& path : values) {
      if (path.ends_with(".name")) continue;  // a path goes by it
      INFO(path);
      toml::table wanted = toml::parse(std::string_view(scene));
      const auto dot = path.rfind('.');
      toml::table& holder = dot == std::string::npos ? wanted : *node_of(wanted, path.substr(0, dot)).as_table();
      holder.insert_or_assign(dot == std::string::npos ? path : path.substr(dot + 1), 12345);
      const std::string changed = with(scene, {path + "=12345"});
      CHECK(toml::parse(std::string_view(changed)) == wanted);
      ++set;
    }
    for (const std::string& path : tables) {
      if (path == "finish") continue;  // its keys are finishes
      INFO(path);
      toml::table wanted = toml::parse(std::string_view(scene));
      node_of(wanted, path).as_table()->insert_or_assign("new_m", toml::array{1, 2});
      const std::string changed = with(scene, {path + ".new_m=[1, 2]"});
      CHECK(toml::parse(std::string_view(changed)) == wanted);
      // Not one byte is lost, and no comment.
      CHECK(changed.size() >= scene.size() + 13);
      ++added;
    }
  }
  CHECK(set > 400);
  CHECK(added > 150);
}
