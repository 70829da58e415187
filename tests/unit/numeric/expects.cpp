// Promises are checked where checks are on, and not even looked at where they are off.
#include <catch2/catch.hpp>

#undef CATOPTRA_CHECKS
#include "numeric/expects.h"

namespace catoptra {
namespace {

int looked_at = 0;
bool look(bool kept) {
  ++looked_at;
  return kept;
}

void promise_unchecked(bool kept) {
  CATOPTRA_EXPECTS(look(kept));
}

// The same macro as a debug build has it.
#define CATOPTRA_CHECKS
#undef CATOPTRA_EXPECTS
#include "numeric/expects_macro.h"

void promise_checked(bool kept) {
  CATOPTRA_EXPECTS(look(kept));
}

TEST_CASE("a broken promise throws in debug builds, with its words and place", "[expects]") {
  looked_at = 0;
  CHECK_NOTHROW(promise_checked(true));
  CHECK(looked_at == 1);
  CHECK_THROWS_WITH(promise_checked(false),
                    Catch::Contains("expects.cpp:") && Catch::Contains(": expected look(kept)"));
  CHECK_THROWS_AS(promise_checked(false), BrokenPromise);
}

TEST_CASE("elsewhere a promise is not looked at", "[expects]") {
  looked_at = 0;
  CHECK_NOTHROW(promise_unchecked(false));
  CHECK(looked_at == 0);
}

TEST_CASE("unit length is told from what is not", "[expects]") {
  CHECK(is_unit({0.6, 0, 0.8}));
  CHECK_FALSE(is_unit({0.6, 0, 0.81}));
  CHECK_FALSE(is_unit({0, 0, std::nan("")}));
}

}  // namespace
}  // namespace catoptra
