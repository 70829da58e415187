// From a TOML node to a value in SI.
#include <cmath>
#include <fmt/format.h>

#include "scene/table_reader.h"
#include "scene/words.h"

namespace catoptra {
namespace {

/// A text as a message can show it: short, on one line, whole characters.
std::string quoted(std::string_view text) {
  std::string out;
  int characters = 0;
  for (const char byte : text) {
    const bool starts = (static_cast<unsigned char>(byte) & 0xC0U) != 0x80U;
    if (starts && ++characters > 40) return "\"" + out + "...\"";
    out += static_cast<unsigned char>(byte) < 0x20 || byte == 0x7f ? ' ' : byte;
  }
  return "\"" + out + "\"";
}

std::optional<double> number_in(const toml::node& node) {
  if (const auto* whole = node.as_integer()) return static_cast<double>(whole->get());
  if (const auto* real = node.as_floating_point()) return real->get();
  return std::nullopt;
}

/// All elements as numbers; none where the node is no array of `size` numbers (size 0: any).
std::optional<std::vector<double>> numbers_in(const toml::node& node, std::size_t size) {
  const auto* array = node.as_array();
  if (array == nullptr || (size != 0 && array->size() != size)) return std::nullopt;
  std::vector<double> out;
  for (const auto& element : *array) {
    const auto x = number_in(element);
    if (!x) return std::nullopt;
    out.push_back(*x);
  }
  return out;
}

/// Reads one key's value; the first fault is reported and ends it.
class ValueReader {
 public:
  ValueReader(const KeyInfo& key, const std::string& what, const Reading& reading)
      : key_(key), what_(what), problems_(reading.problems), files_(reading.files) {}

  std::optional<Value> operator()(const toml::node& node) {
    switch (key_.type) {
      case ValueType::number:
        return number(node);
      case ValueType::whole:
        return whole(node);
      case ValueType::pair:
        return pair(node);
      case ValueType::whole_pair:
        return whole_pair(node);
      case ValueType::point:
        return point(node);
      case ValueType::direction:
        return direction(node);
      case ValueType::per_axis:
        return per_axis(node);
      case ValueType::angle_curve:
        return angle_curve(node);
      case ValueType::choice:
        return choice(node);
      case ValueType::points:
        return points(node);
      case ValueType::text:
        if (const auto* text = node.as_string()) return text->get();
        return wrong_type(node);
      case ValueType::number_file:
        return number_file(node);
    }
    return std::nullopt;
  }

 private:
  std::nullopt_t wrong_type(const toml::node& node) {
    std::vector<std::string> notes{"found: " + found_text(node), "allowed: " + allowed_text(key_)};
    if (const auto* text = node.as_string(); text != nullptr && key_.type != ValueType::choice) {
      const std::string& words = text->get();
      if (!words.empty() && (words[0] == '-' || (words[0] >= '0' && words[0] <= '9'))) {
        notes.emplace_back("a number stands without quotes; its unit is part of the key's name");
      }
    }
    problems_.error(place_of(node.source()), fmt::format("wrong type for '{}' in {}", key_.key, what_),
                    std::move(notes));
    return std::nullopt;
  }
  std::nullopt_t out_of_range(const toml::node& node) {
    problems_.error(place_of(node.source()), fmt::format("'{}' in {} is out of range", key_.key, what_),
                    {"found: " + found_text(node), "allowed: " + allowed_text(key_)});
    return std::nullopt;
  }
  /// Reports the first number of an array that its range forbids.
  bool in_range(const toml::node& node) {
    for (const auto& element : *node.as_array()) {
      if (!key_.range.holds(number_in(element).value_or(NAN))) {
        out_of_range(element);
        return false;
      }
    }
    return true;
  }

  std::optional<Value> number(const toml::node& node) {
    const auto x = number_in(node);
    if (!x) return wrong_type(node);
    if (!key_.range.holds(*x)) return out_of_range(node);
    return *x * key_.unit.to_si;
  }
  std::optional<Value> whole(const toml::node& node) {
    const auto* n = node.as_integer();
    if (n == nullptr) return wrong_type(node);
    if (!key_.range.holds(static_cast<double>(n->get()))) return out_of_range(node);
    return static_cast<int>(n->get());
  }
  std::optional<Value> pair(const toml::node& node) {
    const auto x = numbers_in(node, 2);
    if (!x) return wrong_type(node);
    if (!in_range(node)) return std::nullopt;
    return Vec2{(*x)[0] * key_.unit.to_si, (*x)[1] * key_.unit.to_si};
  }
  std::optional<Value> whole_pair(const toml::node& node) {
    const auto x = numbers_in(node, 2);
    if (!x || !node.as_array()->is_homogeneous<std::int64_t>()) return wrong_type(node);
    if (!in_range(node)) return std::nullopt;
    return std::array<int, 2>{static_cast<int>((*x)[0]), static_cast<int>((*x)[1])};
  }
  std::optional<Value> point(const toml::node& node) {
    const auto x = numbers_in(node, 3);
    if (!x) return wrong_type(node);
    if (!in_range(node)) return std::nullopt;
    return key_.unit.to_si * Vec{(*x)[0], (*x)[1], (*x)[2]};
  }
  std::optional<Value> direction(const toml::node& node) {
    const auto x = numbers_in(node, 3);
    if (!x) return wrong_type(node);
    if (!in_range(node)) return std::nullopt;
    // Scaled first, so that no square over- or underflows.
    const double largest = std::fmax(std::fabs((*x)[0]), std::fmax(std::fabs((*x)[1]), std::fabs((*x)[2])));
    if (!(largest >= 1e-300 && largest <= 1e300)) return out_of_range(node);
    return unit(Vec{(*x)[0] / largest, (*x)[1] / largest, (*x)[2] / largest});
  }
  std::optional<Value> per_axis(const toml::node& node) {
    if (const auto x = number_in(node)) {
      if (!key_.range.holds(*x)) return out_of_range(node);
      return PerAxis{*x * key_.unit.to_si, *x * key_.unit.to_si};
    }
    const auto x = numbers_in(node, 2);
    if (!x) return wrong_type(node);
    if (!in_range(node)) return std::nullopt;
    return PerAxis{(*x)[0] * key_.unit.to_si, (*x)[1] * key_.unit.to_si};
  }
  std::optional<Value> angle_curve(const toml::node& node) {
    if (const auto x = number_in(node)) {
      if (!key_.range.holds(*x)) return out_of_range(node);
      return AngleCurve{{{0, *x}}};
    }
    const auto* rows = node.as_array();
    if (rows == nullptr || rows->empty()) return wrong_type(node);
    AngleCurve out;
    for (const auto& row : *rows) {
      const auto x = numbers_in(row, 2);
      if (!x) return wrong_type(row);
      const double angle_rad = (*x)[0] * units::degree_rad;
      const bool rises = out.rows.empty() || angle_rad > out.rows.back().x;
      if (!((*x)[0] >= 0 && (*x)[0] <= 90) || !rises || !key_.range.holds((*x)[1])) return out_of_range(row);
      out.rows.push_back({angle_rad, (*x)[1]});
    }
    return out;
  }
  std::optional<Value> choice(const toml::node& node) {
    const auto* text = node.as_string();
    if (text == nullptr) return wrong_type(node);
    for (std::size_t i = 0; i < key_.words.size(); ++i) {
      if (key_.words[i] == text->get()) return Choice{static_cast<int>(i)};
    }
    std::vector<std::string> notes = word_notes(text->get(), key_.words);
    problems_.error(place_of(node.source()),
                    fmt::format("unknown word {} for '{}' in {}", quoted(text->get()), key_.key, what_),
                    std::move(notes));
    return std::nullopt;
  }
  std::optional<Value> points(const toml::node& node) {
    const auto* rows = node.as_array();
    if (rows == nullptr || rows->empty()) return wrong_type(node);
    std::vector<Vec2> out;
    for (const auto& row : *rows) {
      const auto x = numbers_in(row, 2);
      if (!x) return wrong_type(row);
      if (!in_range(row)) return std::nullopt;
      out.push_back({(*x)[0] * key_.unit.to_si, (*x)[1] * key_.unit.to_si});
    }
    return out;
  }

  std::optional<Value> number_file(const toml::node& node) {
    const auto* path = node.as_string();
    if (path == nullptr) return wrong_type(node);
    auto rows = files_.read(path->get(), place_of(node.source()), key_.words, problems_);
    if (!rows) return std::nullopt;
    return NumberFile{path->get(), std::move(*rows)};
  }

  const KeyInfo& key_;
  const std::string& what_;
  Problems& problems_;
  PulledIn& files_;
};

}  // namespace

std::string found_text(const toml::node& node) {
  if (const auto* text = node.as_string()) return "text " + quoted(text->get());
  if (const auto* whole = node.as_integer()) return fmt::format("number {}", whole->get());
  if (const auto* real = node.as_floating_point()) return "number " + number_text(real->get());
  if (const auto* truth = node.as_boolean()) return truth->get() ? "true" : "false";
  if (const auto* array = node.as_array()) {
    if (!array->empty() && array->is_homogeneous<toml::table>()) return "an array of tables";
    const auto numbers = numbers_in(node, 0);
    if (!numbers || numbers->size() > 6) return fmt::format("an array of {} values", array->size());
    std::string out;
    for (const double x : *numbers) out += (out.empty() ? "" : ", ") + number_text(x);
    return "[" + out + "]";
  }
  if (node.is_table()) return "a table";
  return "a date or time";
}

std::optional<Value> read_value(const toml::node& node, const KeyInfo& key, const std::string& what,
                                const Reading& reading) {
  return ValueReader(key, what, reading)(node);
}

}  // namespace catoptra
