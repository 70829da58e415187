#include "support/random_scene.h"

#include <fmt/format.h>
#include <functional>
#include <random>
#include <stdexcept>
#include <utility>

#include "geometry/kinds/apertures.h"
#include "geometry/kinds/shapes.h"
#include "scene/array.h"
#include "scene/facets.h"
#include "scene/keys.h"
#include "scene/model.h"
#include "scene/read.h"

namespace catoptra::test {

namespace {

struct Kind {
  std::string_view word;
  std::vector<KeyInfo> keys;
  bool takes_aperture = false;
};

/// Every kind of a list, but those that need a file.
template <class Variant>
std::vector<Kind> kinds_of() {
  std::vector<Kind> out;
  const auto add = [&]<class T>(std::type_identity<T>) {
    Kind kind{T::kind, keys_of<T>()};
    if constexpr (
        requires(const T& t) { t.surface(); } && !requires(const T& t) { t.own_outline(); }) {
      try {
        kind.takes_aperture = std::visit([](const auto& s) { return s.above_outline; }, T{}.surface());
      } catch (const std::invalid_argument&) {  // made of sizes that it lacks yet: it ends where those say
      }
    }
    if constexpr (requires { T::pose_fields; }) {
      for (const auto& field : T::pose_fields) kind.keys.push_back(key_info(field));
    }
    for (const KeyInfo& key : kind.keys) {
      if (key.type == ValueType::number_file && key.need == Need::required) return;
    }
    out.push_back(std::move(kind));
  };
  [&]<std::size_t... I>(std::index_sequence<I...>) {
    (add(std::type_identity<std::variant_alternative_t<I, Variant>>{}), ...);
  }
  (std::make_index_sequence<std::variant_size_v<Variant>>{});
  return out;
}

struct Lists {
  std::vector<Kind> shapes = kinds_of<AnyShape>(), apertures = kinds_of<AnyAperture>(),
                    finishes = kinds_of<AnyFinish>(), sunshapes = kinds_of<AnySunshape>(),
                    mounts = kinds_of<AnyMount>(), arrays = kinds_of<AnyArray>(), facets = kinds_of<AnyFacets>();
};
const Lists& lists() {
  static const Lists all;
  return all;
}

class Drawing {
 public:
  explicit Drawing(std::uint64_t seed) : random_(seed) {}

  std::string scene();

 private:
  // Not the standard library's distributions, which differ from one library to the next.
  double between(double low, double high) {
    return low + (high - low) * static_cast<double>(random_() >> 11) * 0x1p-53;
  }
  bool chance(double share) { return between(0, 1) < share; }
  std::size_t below(std::size_t n) { return random_() % n; }
  const Kind& one_of(const std::vector<Kind>& kinds) { return kinds[below(kinds.size())]; }

  double number(const KeyInfo& key, double reach);
  std::string value(const KeyInfo& key);
  std::string table(const Kind& kind);
  void head();
  std::string finishes();
  std::string one_component(Role role, const std::string& name);
  bool add(Role role, const std::string& name, int tries = 200);

  std::mt19937_64 random_;
  double size_m_ = 1;
  std::string text_;
  std::vector<std::string> mirrors_, absorbers_, panes_;
  std::vector<std::string> targets_;  // names that a text may be
};

/// `reach`: of lengths that may have either sign, in sizes of the scene.
double Drawing::number(const KeyInfo& key, double reach) {
  const Range& range = key.range;
  if (key.unit.symbol == "m") {
    if (range.zero_excluded) return (chance(0.7) ? 1 : -1) * size_m_ * between(0.5, 4);
    if (range.low < 0) return size_m_ * between(-reach, reach);
    if (range.high <= 1) return between(1e-3, 0.02);  // of glass
    return size_m_ * between(0.05, 2);
  }
  if (key.unit.symbol.starts_with("m-")) {  // the term of r^n has the unit m^(1 - n)
    return between(-0.02, 0.02) * std::pow(size_m_, -std::stod(std::string(key.unit.symbol.substr(2))));
  }
  if (key.unit.symbol == "mrad") return between(std::fmax(range.low, -5), std::fmin(range.high, 5));
  if (key.unit.symbol == "um2") return between(0, 0.02);
  if (key.unit.symbol == "nm") return between(400, 2000);
  if (key.unit.symbol == "1/m") return between(0, 20);
  if (key.unit.symbol == "1" && !(range.high - range.low < 1e3)) return between(-2, 1.3);  // a conic constant
  if (key.unit.symbol == "1" && range.high > 4) return between(0, 1);                      // B of a glass
  return between(range.low, range.high - 1e-3 * (range.high - range.low));
}

std::string Drawing::value(const KeyInfo& key) {
  const auto text = [](double x) { return fmt::format("{:.6g}", x); };
  const auto list = [&](int count, double reach) {
    std::string out;
    for (int i = 0; i < count; ++i) out += (i > 0 ? ", " : "[") + text(number(key, reach));
    return out + "]";
  };
  const auto whole = [&] { return fmt::format("{:.0f}", key.range.low + static_cast<double>(below(6))); };
  switch (key.type) {
    case ValueType::number:
      return text(number(key, 1.5));
    case ValueType::whole:
      return whole();
    case ValueType::pair:
      return list(2, 0.5);
    case ValueType::whole_pair:
      return fmt::format("[{}, {}]", whole(), whole());
    case ValueType::point:
      // Somewhere above the primaries, or among them.
      return fmt::format("[{}, {}, {}]", text(number(key, 1)), text(number(key, 1)),
                         text(std::fmax(key.range.low, size_m_ * between(-0.5, 3))));
    case ValueType::direction:
      return fmt::format("[{:.4f}, {:.4f}, {:.4f}]", between(-0.6, 0.6), between(-0.6, 0.6), chance(0.5) ? 1.0 : -1.0);
    case ValueType::per_axis:
      return chance(0.5) ? text(number(key, 1)) : list(2, 1);
    case ValueType::angle_curve:
      if (chance(0.6)) return text(chance(0.1) ? std::round(between(0, 1)) : between(0, 1));
      return fmt::format("[[0, {:.3f}], [{:.0f}, {:.3f}], [90, {:.3f}]]", between(0, 1), between(10, 80), between(0, 1),
                         between(0, 1));
    case ValueType::choice:
      return fmt::format("\"{}\"", key.words[below(key.words.size())]);
    case ValueType::points: {
      std::string out;
      const std::size_t corners = 3 + below(5);
      if (key.unit.symbol == "m") {  // a star about a point: no two edges cross
        const double x = size_m_ * between(-0.3, 0.3), y = size_m_ * between(-0.3, 0.3);
        for (std::size_t i = 0; i < corners; ++i) {
          const double angle = 2 * pi * (static_cast<double>(i) + between(0.1, 0.9)) / static_cast<double>(corners);
          const double radius = size_m_ * between(0.1, 0.7);
          out += fmt::format("{}[{:.5g}, {:.5g}]", i > 0 ? ", " : "[", x + radius * std::cos(angle),
                             y + radius * std::sin(angle));
        }
      } else {  // a sun's rows: mrad, radiance
        double angle = 0;
        for (std::size_t i = 0; i < corners; ++i, angle += between(0.3, 4)) {
          out += fmt::format("{}[{:.4f}, {:.4f}]", i > 0 ? ", " : "[", angle, between(0, 1));
        }
      }
      return out + "]";
    }
    case ValueType::text:
      return targets_.empty() ? "\"none\"" : fmt::format("\"{}\"", targets_[below(targets_.size())]);
    case ValueType::number_file:
      break;  // none is at hand
  }
  throw std::logic_error("a type of value that no scene is drawn with");
}

std::string Drawing::table(const Kind& kind) {
  std::string out = fmt::format("{{ kind = \"{}\"", kind.word);
  for (const KeyInfo& key : kind.keys) {
    if (key.type == ValueType::number_file) continue;
    // Positions and turns matter more than the rest; an error or bias is there now and then.
    const double share = key.type == ValueType::point || key.type == ValueType::direction ? 0.8 : 0.35;
    if (key.need == Need::required || chance(share)) out += fmt::format(", {} = {}", key.key, value(key));
  }
  return out + " }";
}

std::string Drawing::finishes() {
  std::string out;
  const auto add = [&](std::string_view word, std::vector<std::string>& names) {
    for (const Kind& kind : lists().finishes) {
      if (kind.word != word) continue;
      names.push_back(fmt::format("{}{}", word, names.size()));
      out += fmt::format("[finish.{}]\nkind = \"{}\"\n", names.back(), word);
      for (const KeyInfo& key : kind.keys) {
        if (key.need == Need::required || chance(0.5)) out += fmt::format("{} = {}\n", key.key, value(key));
      }
    }
  };
  for (const Kind& kind : lists().finishes) {
    auto& names = kind.word.find("glass") != std::string_view::npos ? panes_
                  : kind.word == "mirror"                           ? mirrors_
                                                                    : absorbers_;
    add(kind.word, names);
    if (kind.word == "mirror") add(kind.word, names);
  }
  return out;
}

std::string Drawing::one_component(Role role, const std::string& name) {
  static constexpr std::array<std::string_view, 5> words{"primary", "secondary", "receiver", "obstacle", "cover"};
  std::string out = fmt::format("[[{}]]\nname = \"{}\"\n", words[static_cast<std::size_t>(role)], name);
  const Kind& shape = one_of(lists().shapes);
  out += fmt::format("shape = {}\n", table(shape));
  if (shape.takes_aperture) out += fmt::format("aperture = {}\n", table(one_of(lists().apertures)));
  const auto of = [&](const std::vector<std::string>& names) { return names[below(names.size())]; };
  const auto finish = [&] {
    if (role == Role::cover) return of(panes_);
    const bool mirror = role == Role::receiver || role == Role::obstacle ? chance(0.2) : chance(0.9);
    return mirror ? of(mirrors_) : of(absorbers_);
  };
  if (role != Role::obstacle || chance(0.3)) out += fmt::format("finish = \"{}\"\n", finish());
  if (role != Role::cover && chance(0.3)) out += fmt::format("back = \"{}\"\n", finish());
  out += fmt::format("mount = {}\n", table(one_of(lists().mounts)));
  if (role == Role::receiver) out += fmt::format("flux = {{ bins = [{}, {}] }}\n", 1 + below(20), 1 + below(20));
  if (chance(0.15)) out += fmt::format("array = {}\n", table(one_of(lists().arrays)));
  if (chance(0.15)) out += fmt::format("facets = {}\n", table(one_of(lists().facets)));
  return out;
}

/// Draws until the reader takes it, or the tries are used up.
bool Drawing::add(Role role, const std::string& name, int tries) {
  for (int attempt = 0; attempt < tries; ++attempt) {
    std::string longer = text_ + one_component(role, name);
    const auto outcome = read_scene_text(longer, "random.toml");
    if (!outcome.scene) continue;
    text_ = std::move(longer);
    targets_.push_back(name);
    return true;
  }
  return false;
}

/// The sun and the finishes, drawn until they are sound.
void Drawing::head() {
  static constexpr std::string_view plain = R"([[primary]]
name = "plain"
shape = { kind = "disc", diameter_m = 1 }
finish = "dark"
mount = { kind = "fixed" }
)";
  do {
    for (auto* names : {&mirrors_, &absorbers_, &panes_}) names->clear();
    text_ = fmt::format(
        "schema = 1\n[sun]\ndni_W_m2 = {:.1f}\nshape = {}\nazimuth_deg = {:.2f}\nelevation_deg = {:.2f}\n",
        between(100, 1100), table(one_of(lists().sunshapes)), between(0, 360), chance(0.1) ? 90.0 : between(1, 90));
    text_ += finishes();
  } while (!read_scene_text(text_ + std::string(plain), "random.toml").scene);
}

std::string Drawing::scene() {
  size_m_ = std::pow(10, between(-1, 2));
  head();
  // What moves by a receiver's or a primary's place needs a name: the receiver is drawn with the first primary.
  const std::string before = text_;
  const bool with_receiver = chance(0.5);
  targets_ = {"one"};
  if (with_receiver) targets_.emplace_back("first");
  const std::vector<std::string> names = targets_;
  do {
    text_ = before + (with_receiver ? one_component(Role::receiver, "first") : "");
    targets_ = names;
  } while (!add(Role::primary, "one", 20));
  const auto some = [&](Role role, std::string_view name, double share) {
    for (int i = 0; i < 3 && chance(share); ++i) add(role, fmt::format("{} {}", name, i));
  };
  some(Role::primary, "more", 0.3);
  some(Role::secondary, "second", 0.4);
  some(Role::receiver, "end", 0.6);
  some(Role::cover, "pane", 0.25);
  some(Role::obstacle, "mast", 0.3);
  return text_;
}

}  // namespace

std::string random_scene(std::uint64_t seed) {
  return Drawing(seed).scene();
}

std::vector<std::string> drawn_kinds() {
  std::vector<std::string> out;
  const Lists& all = lists();
  for (const auto* list :
       {&all.shapes, &all.apertures, &all.finishes, &all.sunshapes, &all.mounts, &all.arrays, &all.facets}) {
    for (const Kind& kind : *list) out.push_back(fmt::format("kind = \"{}\"", kind.word));
  }
  return out;
}

}  // namespace catoptra::test
