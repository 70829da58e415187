#include "scene/clean_texts.h"

#include <fmt/format.h>
#include <optional>

#include "scene/plain_text.h"
#include "scene/table_reader.h"

namespace catoptra {
namespace {

class TextChecker {
 public:
  explicit TextChecker(Problems& problems) : problems_(problems) {}

  void visit(const toml::table& table) {
    for (const auto& [key, node] : table) {
      check(key.str(), key.source(), "key");
      visit(node);
    }
  }
  bool all_clean() const { return clean_; }

 private:
  void visit(const toml::node& node) {
    if (const auto* table = node.as_table()) return visit(*table);
    if (const auto* text = node.as_string()) return check(text->get(), node.source(), "text");
    if (const auto* array = node.as_array()) {
      for (const auto& element : *array) visit(element);
    }
  }

  void check(std::string_view text, const toml::source_region& source, std::string_view what) {
    const auto found = control_character(text);
    if (!found) return;
    clean_ = false;
    problems_.error(
        place_of(source), fmt::format("a control character in a {}", what),
        {fmt::format("found: U+{:04X}", static_cast<unsigned>(*found)), "allowed: what can be seen, on one line"});
  }

  Problems& problems_;
  bool clean_ = true;
};

}  // namespace

bool refuse_control_characters(const toml::table& root, Problems& problems) {
  TextChecker checker(problems);
  checker.visit(root);
  return checker.all_clean();
}

}  // namespace catoptra
