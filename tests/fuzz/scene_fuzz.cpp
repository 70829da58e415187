// Mutates scenes, always in the same way, and reads them: no crash, every refusal has a place and fits its file,
// whatever is accepted can be described. The scenes are the shipped ones, and others drawn from the lists of keys, so
// that every kind is among them. `scene_fuzz FOLDER [ROUNDS]`
#include <algorithm>
#include <array>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <iterator>
#include <random>
#include <string>
#include <vector>

#include "scene/describe.h"
#include "scene/read.h"
#include "scene/read_file.h"
#include "support/random_scene.h"

namespace {

using Random = std::mt19937_64;

std::size_t below(Random& random, std::size_t n) {
  return n == 0 ? 0 : random() % n;
}

/// Pieces that tend to hurt.
const std::array<std::string, 34> pieces{"nan",
                                         "inf",
                                         "-inf",
                                         "1e308",
                                         "-1e-320",
                                         "0",
                                         "-1",
                                         "99999999999999999999",
                                         "\"",
                                         "\"\"\"",
                                         "'",
                                         "[",
                                         "]",
                                         "[[",
                                         "]]",
                                         "{",
                                         "}",
                                         "=",
                                         ",",
                                         ".",
                                         "#",
                                         "\n",
                                         "\r\n",
                                         "\t",
                                         "\x01",
                                         "\xC3\xA9",
                                         "\xFF",
                                         "\xF0\x9F",
                                         "kind = \"carried\"",
                                         "by = \"bowl\"",
                                         "array = { kind = \"grid\", count = [3, 3], spacing_m = [5, 5] }",
                                         "2026-02-30T25:61:00Z",
                                         "true",
                                         "[0, 0, 0]"};

std::string mutated(std::string text, Random& random) {
  const std::size_t changes = 1 + below(random, 4);
  for (std::size_t change = 0; change < changes && !text.empty(); ++change) {
    const std::size_t at = below(random, text.size());
    switch (below(random, 7)) {
      case 0:
        text[at] = static_cast<char>(random() & 0xFFU);
        break;
      case 1:
        text.erase(at, 1 + below(random, 20));
        break;
      case 2:
        text.insert(at, pieces[below(random, pieces.size())]);
        break;
      case 3: {  // another value for a key
        const auto equals = text.find('=', at);
        if (equals != std::string::npos) {
          const auto end = text.find_first_of(",}\n", equals);
          if (end != std::string::npos)
            text.replace(equals + 1, end - equals - 1, " " + pieces[below(random, pieces.size())]);
        }
        break;
      }
      case 4: {  // a line twice
        const auto begin = text.rfind('\n', at), end = text.find('\n', at);
        if (begin != std::string::npos && end != std::string::npos) text.insert(end, text.substr(begin, end - begin));
        break;
      }
      case 5: {  // a digit changed: still TOML, another scene
        const auto digit = text.find_first_of("0123456789", at);
        if (digit != std::string::npos) text[digit] = static_cast<char>('0' + below(random, 10));
        break;
      }
      default:
        text.resize(at);
    }
  }
  return text;
}

/// Empty where the reading is as it should be.
std::string fault_of(const catoptra::ReadOutcome& outcome, const std::string& text) {
  bool errors = false;
  long lines = 1;
  for (const char c : text) lines += c == '\n' ? 1 : 0;
  for (const auto& problem : outcome.problems) {
    errors = errors || problem.severity == catoptra::Severity::error;
    if (problem.message.empty() || problem.text().empty()) return "a problem without words";
    if (problem.place.line < 1 || problem.place.column < 1 || problem.place.line > lines + 1) {
      return "a problem without a place in the file: " + problem.text();
    }
  }
  if (outcome.scene.has_value() == errors) return "a scene in spite of an error, or neither";
  if (outcome.scene && catoptra::describe(*outcome.scene).empty()) return "no description";
  return {};
}

/// A scene and where it comes from.
struct Seed {
  std::string name, text;
};

std::vector<Seed> shipped(const std::string& folder) {
  std::vector<std::string> paths;
  for (const auto& entry : std::filesystem::directory_iterator(folder)) {
    if (entry.path().extension() == ".toml") paths.push_back(entry.path().string());
  }
  std::sort(paths.begin(), paths.end());
  std::vector<Seed> out;
  for (const auto& path : paths) out.push_back({path, catoptra::read_whole_file(path)});
  return out;
}

/// Until each kind stands in one of them, and 24 at least; none where some kind never comes.
std::vector<Seed> drawn() {
  constexpr std::size_t least = 24, most = 6000;  // some kinds fit seldom
  std::vector<std::string> missing = catoptra::test::drawn_kinds();
  std::vector<Seed> out;
  for (std::uint64_t number = 0; number < most && (out.size() < least || !missing.empty()); ++number) {
    Seed seed{"drawn scene " + std::to_string(number), catoptra::test::random_scene(number)};
    const auto found =
        std::erase_if(missing, [&](const std::string& kind) { return seed.text.find(kind) != std::string::npos; });
    if (found > 0 || out.size() < least) out.push_back(std::move(seed));
  }
  for (const auto& kind : missing) std::fprintf(stderr, "no scene was drawn with %s\n", kind.c_str());
  return missing.empty() ? out : std::vector<Seed>();
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 2) {
    std::fputs("usage: scene_fuzz FOLDER [ROUNDS]\n", stderr);
    return 2;
  }
  const int rounds = argc > 2 ? std::atoi(argv[2]) : 400;
  std::vector<Seed> seeds = drawn();
  if (seeds.empty()) return 1;
  std::ranges::move(shipped(argv[1]), std::back_inserter(seeds));
  int accepted = 0, refused = 0;
  for (const auto& [name, sound] : seeds) {
    for (int round = 0; round < rounds; ++round) {
      Random random(static_cast<std::uint64_t>(round) * 7919 + 1);
      const std::string text = mutated(sound, random);
      const auto outcome = catoptra::read_scene_text(text, "fuzz.toml");
      (outcome.scene ? accepted : refused) += 1;
      if (const auto fault = fault_of(outcome, text); !fault.empty()) {
        std::fprintf(stderr, "%s, round %d: %s\n--- the scene\n%s\n", name.c_str(), round, fault.c_str(), text.c_str());
        return 1;
      }
    }
  }
  std::printf("%zu scenes: %d accepted, %d refused\n", seeds.size(), accepted, refused);
  // Both kinds must occur, or the mutations are too weak or too strong to show anything.
  return accepted > 0 && refused > 0 ? 0 : 1;
}
