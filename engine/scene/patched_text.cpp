#include "scene/patched_text.h"

#include <algorithm>
#include <utility>

namespace catoptra {
namespace {

bool starts_character(char byte) {
  return (static_cast<unsigned char>(byte) & 0xC0U) != 0x80U;
}

}  // namespace

PatchedText::PatchedText(std::string original) : text_(std::move(original)) {
  segments_.push_back({text_.size(), {}, true});
}

std::size_t PatchedText::cut(std::size_t offset) {
  std::size_t begin = 0;
  for (std::size_t i = 0; i < segments_.size(); ++i) {
    if (begin == offset) return i;
    Segment& segment = segments_[i];
    if (offset < begin + segment.size) {
      Segment rest = segment;
      segment.size = offset - begin;
      rest.size -= segment.size;
      if (rest.copied) rest.origin.offset += segment.size;
      segments_.insert(segments_.begin() + static_cast<std::ptrdiff_t>(i) + 1, rest);
      return i + 1;
    }
    begin += segment.size;
  }
  return segments_.size();
}

void PatchedText::replace(std::size_t begin, std::size_t end, const std::vector<Piece>& pieces) {
  const auto first = static_cast<std::ptrdiff_t>(cut(begin));
  const auto last = static_cast<std::ptrdiff_t>(cut(end));
  segments_.erase(segments_.begin() + first, segments_.begin() + last);
  std::string fresh;
  std::vector<Segment> inserted;
  for (const Piece& piece : pieces) {
    if (piece.text.empty()) continue;
    inserted.push_back({piece.text.size(), piece.origin, piece.copied});
    fresh += piece.text;
  }
  segments_.insert(segments_.begin() + first, inserted.begin(), inserted.end());
  text_.replace(begin, end - begin, fresh);
}

PatchedText::Origin PatchedText::origin(std::size_t offset) const {
  Origin end;
  std::size_t begin = 0;
  for (const Segment& segment : segments_) {
    Origin out = segment.origin;
    if (offset < begin + segment.size) {
      if (segment.copied) out.offset += offset - begin;
      return out;
    }
    begin += segment.size;
    end = out;
    if (segment.copied) end.offset += segment.size;
  }
  return end;
}

bool PatchedText::has(int patch, std::size_t offset) const {
  return std::ranges::any_of(segments_, [&](const Segment& segment) {
    const std::size_t last = segment.origin.offset + (segment.copied ? segment.size - 1 : 0);
    return segment.size > 0 && segment.origin.patch == patch && last >= offset;
  });
}

TextLines::TextLines(std::string_view text) : text_(text) {
  constexpr std::string_view byte_order_mark = "\xEF\xBB\xBF";
  begins_.push_back(text.starts_with(byte_order_mark) ? byte_order_mark.size() : 0);
  for (auto at = text.find('\n'); at != std::string_view::npos; at = text.find('\n', at + 1)) begins_.push_back(at + 1);
}

std::size_t TextLines::offset(Place place) const {
  const auto line = static_cast<std::size_t>(std::clamp(place.line, 1, static_cast<int>(begins_.size())));
  std::size_t at = begins_[line - 1];
  for (int column = 1; column < place.column && at < text_.size(); ++column) {
    ++at;
    while (at < text_.size() && !starts_character(text_[at])) ++at;
  }
  return at;
}

Place TextLines::place(std::size_t offset) const {
  const auto line = std::ranges::upper_bound(begins_, offset) - begins_.begin();
  if (line == 0) return {1, 1, 1};
  const std::size_t begin = begins_[static_cast<std::size_t>(line) - 1];
  const auto before = text_.substr(begin, offset - begin);
  return {static_cast<int>(line), static_cast<int>(std::ranges::count_if(before, starts_character)) + 1, 1};
}

}  // namespace catoptra
