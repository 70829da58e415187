#include "numeric/sha256.h"

#include <catch2/catch.hpp>

using namespace catoptra;

// NIST, "SHA-256 example" of the Cryptographic Standards and Guidelines: one block, two blocks; the empty message and a
// million letters 'a' of FIPS 180-2, appendix B (from memory, and as sha256sum of GNU coreutils 9.1 has them).
TEST_CASE("SHA-256 of the standard's messages", "[numeric]") {
  CHECK(hex(sha256("abc")) == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  CHECK(hex(sha256("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq")) ==
        "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
  CHECK(hex(sha256("")) == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
  CHECK(hex(sha256(std::string(1'000'000, 'a'))) == "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
}

TEST_CASE("SHA-256 where the length just fits the last block and just does not", "[numeric]") {
  // printf '%055d' 0 | sha256sum, and the like.
  CHECK(hex(sha256(std::string(55, '0'))) == "9f8ef876f51f5313c91cc3f6b8119af09d8bbdd72098fa149b2780eb3591d6be");
  CHECK(hex(sha256(std::string(56, '0'))) == "bd03ac1428f0ea86f4b83a731ffc7967bb82866d8545322f888d2f6e857ffc18");
  CHECK(hex(sha256(std::string(64, '0'))) == "60e05bd1b195af2f94112fa7197a5c88289058840ce7c6df9693756bc6250f55");
}
