#pragma once
// Reads `{ kind = "...", ... }` into the member of a closed set that the word names.
#include <stdexcept>
#include <utility>
#include <variant>

#include "scene/table_reader.h"

namespace catoptra {

/// The words of a closed set, in its order.
template <class Variant>
std::vector<std::string_view> kind_words() {
  return []<std::size_t... I>(std::index_sequence<I...>) {
    return std::vector<std::string_view>{std::variant_alternative_t<I, Variant>::kind...};
  }
  (std::make_index_sequence<std::variant_size_v<Variant>>{});
}

/// "{ kind = "circle", ... }; kinds: circle, ring": what is allowed for a table that starts with its kind.
std::string kind_example(std::span<const std::string_view> words);
/// The table in `node`; a problem where something else stands. `example` says what is allowed.
const toml::table* table_in(const toml::node& node, std::string_view key, const std::string& what,
                            const std::string& example, Problems& problems);
/// The place of the table's kind among `words`, or a problem.
std::optional<std::size_t> read_kind_word(TableReader& reader, std::span<const std::string_view> words);

struct ReadFields {
  template <class T>
  void operator()(T& out, TableReader& reader) const {
    reader.read_fields(out, std::span<const Field<T>>(T::fields));
  }
};

/// `read_members(T&, reader)` reads the keys of the kind T; unless said, those that T::fields lists. Then T may
/// complete() itself from them and check() itself: a KeyFault is reported at its key, another std::invalid_argument at
/// the table. None where anything was wrong.
template <class Variant, class ReadMembers = ReadFields>
std::optional<Variant> read_kind(TableReader& reader, ReadMembers&& read_members = {}) {
  const auto words = kind_words<Variant>();
  const auto chosen = read_kind_word(reader, words);
  if (!chosen) return std::nullopt;  // its keys can't be judged either
  const std::size_t errors_before = reader.problems().error_count();
  std::optional<Variant> out;
  const auto read_one = [&]<class T>(std::in_place_type_t<T>) {
    T value{};
    read_members(value, reader);
    reader.finish();
    if (reader.problems().error_count() != errors_before) return;
    try {
      if constexpr (requires { value.complete(); }) value.complete();
      if constexpr (requires { value.check(); }) value.check();
    } catch (const KeyFault& fault) {
      reader.problems().error(reader.place_of_value(fault.key), fault.what(), fault.notes);
      return;
    } catch (const std::invalid_argument& fault) {
      reader.problems().error(reader.place(), fault.what());
      return;
    }
    out = std::move(value);
  };
  [&]<std::size_t... I>(std::index_sequence<I...>) {
    ((I == *chosen ? read_one(std::in_place_type<std::variant_alternative_t<I, Variant>>) : void()), ...);
  }
  (std::make_index_sequence<std::variant_size_v<Variant>>{});
  return out;
}

}  // namespace catoptra
