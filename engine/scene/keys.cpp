#include "scene/keys.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "scene/words.h"

namespace catoptra {
namespace {

std::string list_text(std::initializer_list<double> numbers, double to_si) {
  std::string out;
  for (const double x : numbers) out += (out.empty() ? "" : ", ") + number_text(x / to_si);
  return "[" + out + "]";
}

struct DefaultText {
  const KeyInfo& key;

  std::string operator()(double x) const { return number_text(x / key.unit.to_si); }
  std::string operator()(int n) const { return std::to_string(n); }
  std::string operator()(const Vec2& v) const { return list_text({v.x, v.y}, key.unit.to_si); }
  std::string operator()(const std::array<int, 2>& n) const { return fmt::format("[{}, {}]", n[0], n[1]); }
  std::string operator()(const Vec& v) const { return list_text({v.x, v.y, v.z}, key.unit.to_si); }
  std::string operator()(const PerAxis& a) const {
    return a.x == a.y ? number_text(a.x / key.unit.to_si) : list_text({a.x, a.y}, key.unit.to_si);
  }
  std::string operator()(const AngleCurve& curve) const {
    return curve.rows.size() == 1 ? number_text(curve.rows[0].y) : std::string();
  }
  std::string operator()(Choice choice) const {
    return fmt::format("\"{}\"", key.words[static_cast<std::size_t>(choice.index)]);
  }
  std::string operator()(const std::vector<Vec2>&) const { return {}; }
  std::string operator()(const std::string& text) const { return text; }
  std::string operator()(const NumberFile& file) const { return file.path; }
};

}  // namespace

std::string allowed_text(const KeyInfo& key) {
  const std::string range = range_text(key.range);
  const std::string unit = key.unit.suffix.empty() ? std::string() : fmt::format(", in {}", key.unit.symbol);
  const std::string one = range + unit;
  const std::string each = range.empty() ? unit : fmt::format(", each {}{}", range, unit);
  const std::string gap = range.empty() ? "" : " ";
  switch (key.type) {
    case ValueType::number:
      return "a number" + gap + one;
    case ValueType::whole:
      return "a whole number" + gap + one;
    case ValueType::pair:
      return "two numbers [x, y]" + each;
    case ValueType::whole_pair:
      return "two whole numbers [n, m]" + each;
    case ValueType::point:
      return "three numbers [x, y, z]" + each;
    case ValueType::direction:
      return "a direction [x, y, z] of any length but 0";
    case ValueType::per_axis:
      return "a number, or two [x, y]" + each;
    case ValueType::angle_curve:
      return fmt::format(
          "a number {0}, or rows [[incidence angle in degrees, number {0}], ...], "
          "the angles rising from 0 to 90",
          range);
    case ValueType::choice:
      return joined(key.words);
    case ValueType::points:
      return "rows [[x, y], ...]" + each;
    case ValueType::text:
      return "a text in quotes";
    case ValueType::number_file:
      return fmt::format("a file's path from the scene's folder, in quotes; its first line {}",
                         fmt::join(key.words, ","));
  }
  return {};
}

std::string default_text(const KeyInfo& key) {
  if (key.need == Need::required) return "-";
  return std::visit(DefaultText{key}, key.default_value);
}

}  // namespace catoptra
