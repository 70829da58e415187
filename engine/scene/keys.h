#pragma once
// Scene keys without their type: what messages, the reader and the scene reference need of a Field.
#include <string>
#include <type_traits>
#include <variant>
#include <vector>

#include "numeric/field.h"

namespace catoptra {

enum class ValueType {
  number,
  whole,
  pair,
  whole_pair,
  point,
  direction,
  per_axis,
  angle_curve,
  choice,
  points,
  text,
  number_file
};

/// What a value may be once read, in SI; the types are those of Field::Member.
using Value = std::variant<double, int, Vec2, std::array<int, 2>, Vec, PerAxis, AngleCurve, Choice, std::vector<Vec2>,
                           std::string, NumberFile>;

struct KeyInfo {
  std::string_view key;
  ValueType type = ValueType::number;
  Unit unit = units::none;
  Range range{};
  Need need = Need::required;
  std::string_view meaning{};
  std::span<const std::string_view> words{};
  Value default_value{};  // SI; of optional keys
};

/// "a number from 0 to 100, in mrad".
std::string allowed_text(const KeyInfo& key);
/// The default as a scene would write it; "-" for a required key, empty for a text or list that is empty.
std::string default_text(const KeyInfo& key);

template <class T>
KeyInfo key_info(const Field<T>& field) {
  KeyInfo out{field.key, ValueType::number, field.unit, field.range, field.need, field.meaning, field.words, 0.0};
  const T defaults{};
  std::visit(
      [&](auto member) {
        using Type = std::remove_cvref_t<decltype(defaults.*member)>;
        if constexpr (std::is_same_v<Type, double>) out.type = ValueType::number;
        if constexpr (std::is_same_v<Type, int>) out.type = ValueType::whole;
        if constexpr (std::is_same_v<Type, Vec2>) out.type = ValueType::pair;
        if constexpr (std::is_same_v<Type, std::array<int, 2>>) out.type = ValueType::whole_pair;
        if constexpr (std::is_same_v<Type, Vec>) {
          out.type = field.unit.suffix.empty() ? ValueType::direction : ValueType::point;
        }
        if constexpr (std::is_same_v<Type, PerAxis>) out.type = ValueType::per_axis;
        if constexpr (std::is_same_v<Type, AngleCurve>) out.type = ValueType::angle_curve;
        if constexpr (std::is_same_v<Type, Choice>) out.type = ValueType::choice;
        if constexpr (std::is_same_v<Type, std::vector<Vec2>>) out.type = ValueType::points;
        if constexpr (std::is_same_v<Type, std::string>) out.type = ValueType::text;
        if constexpr (std::is_same_v<Type, NumberFile>) out.type = ValueType::number_file;
        out.default_value = defaults.*member;
      },
      field.member);
  return out;
}

/// The keys of a kind, its pose's apart.
template <class T>
std::vector<KeyInfo> keys_of() {
  std::vector<KeyInfo> out;
  for (const auto& field : T::fields) out.push_back(key_info(field));
  return out;
}

/// `out`'s member takes a value that was read for this field.
template <class T>
void assign(T& out, const Field<T>& field, const Value& value) {
  std::visit([&](auto member) { out.*member = std::get<std::remove_cvref_t<decltype(out.*member)>>(value); },
             field.member);
}

}  // namespace catoptra
