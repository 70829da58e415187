#pragma once
// Reads one TOML table strictly: every key is asked for by name, and what nobody asked for is reported with the nearest
// right word. The only rooms' header that shows toml++; include it from reading sources only.
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <toml++/toml.h>
#include <vector>

#include "scene/key_places.h"
#include "scene/keys.h"
#include "scene/problem.h"
#include "scene/pulled_in.h"

namespace catoptra {

Place place_of(const toml::source_region& region);
/// The places of all keys in `table`, which itself stands at `place`.
KeyPlaces places_in(const toml::table& table, Place place);
/// What stands in the file, in short: `text "20 m"`, `number -3`, `a table`.
std::string found_text(const toml::node& node);
/// The value in SI, or a problem; a file that the key names is read. `what` names the table, as in "shape of primary
/// 'bowl'".
std::optional<Value> read_value(const toml::node& node, const KeyInfo& key, const std::string& what,
                                const Reading& reading);

class TableReader {
 public:
  TableReader(const toml::table& table, Place place, std::string what, const Reading& reading)
      : table_(table), place_(place), what_(std::move(what)), reading_(reading) {}

  /// The node of a key, null where the table lacks it; the key counts as known from now on.
  const toml::node* find(std::string_view key);
  /// As find(); where the key is missing, finish() will say so with `allowed`.
  const toml::node* require(std::string_view key, std::string allowed);
  std::optional<Value> read(const KeyInfo& key);
  template <class T>
  void read_fields(T& out, std::span<const Field<T>> fields) {
    for (const auto& field : fields) {
      if (const auto value = read(key_info(field))) assign(out, field, *value);
    }
  }
  /// A text, or none where the key is missing or wrong.
  std::optional<std::string> text(std::string_view key, Need need);
  /// Reports unknown and missing keys. Call once, after all keys were asked for. Returns the known keys that unknown
  /// ones were probably meant to be.
  std::vector<std::string_view> finish();

  const toml::table& table() const { return table_; }
  /// Where the key's value stands; the table where there is none.
  Place place_of_value(std::string_view key) const;
  Place place() const { return place_; }
  const std::string& what() const { return what_; }
  Problems& problems() { return reading_.problems; }
  const Reading& reading() const { return reading_; }

 private:
  struct Missing {
    std::string_view key;
    std::string allowed;
  };

  const toml::table& table_;
  Place place_;
  std::string what_;
  Reading reading_;
  std::vector<std::string_view> known_;
  std::vector<Missing> missing_;
};

}  // namespace catoptra
