// Blocks of rays: what travels with a ray.
#include "trace/bundle.h"

#include <catch2/catch.hpp>
#include <cstring>
#include <memory>
#include <vector>

using namespace catoptra;

namespace {

/// Fills a block's arrays with bytes that differ from place to place, whatever arrays it has.
template <class Block>
std::unique_ptr<Block> filled(unsigned seed) {
  auto block = std::make_unique<Block>();
  static_assert(std::is_trivially_copyable_v<Block>);
  std::vector<unsigned char> bytes(sizeof(Block));
  unsigned x = seed;
  for (auto& b : bytes) {
    x = x * 1664525u + 1013904223u;
    b = static_cast<unsigned char>(x >> 24);
  }
  std::memcpy(static_cast<void*>(block.get()), bytes.data(), bytes.size());
  block->count = bundle_size;
  return block;
}

/// How many bytes two blocks differ in.
template <class Block>
int different_bytes(const Block& a, const Block& b) {
  std::vector<unsigned char> of_a(sizeof(Block)), of_b(sizeof(Block));
  std::memcpy(of_a.data(), &a, sizeof(Block));
  std::memcpy(of_b.data(), &b, sizeof(Block));
  int count = 0;
  for (std::size_t i = 0; i < of_a.size(); ++i) count += of_a[i] != of_b[i] ? 1 : 0;
  return count;
}

}  // namespace

TEST_CASE("a ray's state is copied whole", "[trace]") {
  // Each member by name: a member more that the copy forgets changes the size, and this test is to be mended with it.
  static_assert(sizeof(RayTag) == sizeof(std::uint16_t) + sizeof(Reached) + sizeof(MediumId));
  static_assert(sizeof(RayState) == (sizeof(LaneArray) + block_room * sizeof(RayTag) + 63) / 64 * 64);
  RayState from, to;
  from.weight[3] = 0.25;
  from.tag[3] = {.sample = 17, .reached = Reached::again, .medium = 2};
  to.tag[4] = {.sample = 5, .reached = Reached::first_time, .medium = 1};
  copy_state(from, 3, to, 4);
  CHECK(to.weight[4] == 0.25);
  CHECK(to.tag[4].sample == 17);
  CHECK(to.tag[4].reached == Reached::again);
  CHECK(to.tag[4].medium == 2);
  to.begin(4, 9);
  CHECK(to.tag[4].sample == 9);
  CHECK(to.tag[4].reached == Reached::no);
  CHECK(to.tag[4].medium == air);
}

TEST_CASE("copies of rays and contacts leave out nothing, and touch no other", "[trace]") {
  const auto contact = filled<ContactBlock>(1);
  auto contacts = std::make_unique<ContactBlock>(*contact);
  copy_contact(*contact, 3, *contacts, 4);
  // Fourteen doubles, a primitive and a tag; few of the random bytes agree by chance.
  constexpr int of_contact = 14 * 8 + 4 + 4;
  CHECK(different_bytes(*contact, *contacts) <= of_contact);
  CHECK(different_bytes(*contact, *contacts) >= of_contact - 4);
  CHECK(std::memcmp(&contacts->primitive[4], &contact->primitive[3], sizeof(PrimitiveId)) == 0);
  CHECK(std::memcmp(&contacts->wz[4], &contact->wz[3], sizeof(double)) == 0);

  const auto ray = filled<RayBlock>(2);
  auto rays = std::make_unique<RayBlock>(*ray);
  copy_ray(*ray, 3, *rays, 4);
  constexpr int of_ray = 8 * 8 + 4;
  CHECK(different_bytes(*ray, *rays) <= of_ray);
  CHECK(different_bytes(*ray, *rays) >= of_ray - 3);
  CHECK(std::memcmp(&rays->from[4], &ray->from[3], sizeof(double)) == 0);
}
