#include "files/provenance.h"

#include <catch2/catch.hpp>
#include <stdlib.h>

using namespace catoptra;

TEST_CASE("a result's time follows SOURCE_DATE_EPOCH", "[results]") {
  // POSIX.1-2017, "Seconds since the Epoch": 951782400 = 11016 days of 86400 s, the leap day of the year 2000.
  setenv("SOURCE_DATE_EPOCH", "951782400", 1);
  const auto from = provenance_now("x");
  CHECK(from.created_utc == "2000-02-29T00:00:00Z");
  CHECK(from.reproducible);
  for (const char* wrong : {"", "12x", "-1", " 1", "1e9", "99999999999999999999"}) {
    CAPTURE(wrong);
    setenv("SOURCE_DATE_EPOCH", wrong, 1);
    CHECK_THROWS_AS(provenance_now("x"), std::runtime_error);
  }
  unsetenv("SOURCE_DATE_EPOCH");
  const auto now = provenance_now("x");
  CHECK_FALSE(now.reproducible);
  CHECK(now.created_utc.size() == 20);
  CHECK(now.created_utc > "2026");
}

TEST_CASE("a command line is quoted as a POSIX shell reads it", "[results]") {
  const char* words[] = {"catoptra", "trace", "my scene.toml", "it's", "", "--precision=0.1%"};
  // POSIX.1-2017, Shell and Utilities, 2.2.2: nothing is special between single quotes but the quote itself.
  CHECK(shell_line(6, words) == R"(catoptra trace 'my scene.toml' 'it'\''s' '' --precision=0.1%)");
}
