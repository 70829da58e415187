// Where each byte of a changed text was written, against a list that has the answer for every single byte.
#include "scene/patched_text.h"

#include <catch2/catch.hpp>
#include <random>

using namespace catoptra;

namespace {

struct Known {
  char byte;
  PatchedText::Origin origin;
};

}  // namespace

TEST_CASE("patched text: every byte knows its origin after any changes", "[scene]") {
  std::mt19937 random(1);
  const auto below = [&](std::size_t n) { return std::uniform_int_distribution<std::size_t>(0, n - 1)(random); };
  for (int round = 0; round < 200; ++round) {
    std::string original;
    std::vector<Known> known;
    for (std::size_t i = 0; i < 1 + below(30); ++i) {
      original += static_cast<char>('a' + below(26));
      known.push_back({original.back(), {-1, i}});
    }
    PatchedText text(original);
    for (int patch = 0; patch < 6; ++patch) {
      const std::size_t begin = below(known.size() + 1), end = begin + below(known.size() - begin + 1);
      std::vector<PatchedText::Piece> pieces;
      std::vector<Known> fresh;
      for (std::size_t k = 0; k < below(4); ++k) {
        const std::size_t at = below(50);
        const bool copied = below(2) == 0;
        std::string words;
        for (std::size_t i = 0; i < below(5); ++i) {
          words += static_cast<char>('A' + below(26));
          fresh.push_back({words.back(), {patch, at + (copied ? i : 0)}});
        }
        pieces.push_back({words, {patch, at}, copied});
      }
      text.replace(begin, end, pieces);
      const auto from = known.begin() + static_cast<std::ptrdiff_t>(begin);
      const auto place = known.erase(from, known.begin() + static_cast<std::ptrdiff_t>(end));
      known.insert(place, fresh.begin(), fresh.end());

      REQUIRE(text.text().size() == known.size());
      for (std::size_t i = 0; i < known.size(); ++i) {
        CHECK(text.text()[i] == known[i].byte);
        CHECK(text.origin(i) == known[i].origin);
      }
      for (int asked = 0; asked <= patch; ++asked)
        for (const std::size_t offset : {std::size_t{0}, std::size_t{25}}) {
          bool left = false;
          for (const Known& one : known) left = left || (one.origin.patch == asked && one.origin.offset >= offset);
          if (offset == 0) CHECK(text.has(asked, offset) == left);
          if (left) CHECK(text.has(asked, offset));
        }
      if (known.empty()) break;
    }
  }
}

TEST_CASE("patched text: places count characters, bytes count bytes", "[scene]") {
  const std::string text = "\xEF\xBB\xBFone\né = 5\r\n\nlast";
  const TextLines lines(text);
  struct Case {
    Place place;
    std::size_t offset;
  };
  for (const auto& [place, offset] : std::vector<Case>{{{1, 1, 1}, 3},
                                                       {{1, 3, 1}, 5},
                                                       {{2, 1, 1}, 7},
                                                       {{2, 2, 1}, 9},  // behind the letter of two bytes
                                                       {{2, 5, 1}, 12},
                                                       {{3, 1, 1}, 15},
                                                       {{4, 1, 1}, 16},
                                                       {{4, 5, 1}, 20}}) {
    CHECK(lines.offset(place) == offset);
    CHECK(lines.place(offset) == place);
  }
  CHECK(lines.place(0) == Place{1, 1, 1});  // the byte order mark is no character
}
