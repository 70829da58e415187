// What a person sees for a file that is not TOML, word for word: the parser's own words are never shown.
#include <catch2/catch.hpp>

#include "small_scene.h"

namespace catoptra {
namespace {

const std::string rest = "  the rest of the file was not read; fix this first\n";

struct Line {
  std::string text, expected;
};

/// Each line stands for the second of small_scene's lines that give the sun's place, or for its title.
void check_lines(const std::vector<Line>& lines) {
  for (const auto& [text, expected] : lines) {
    INFO(text);
    CHECK(complaints(varied("schema = 1", "schema = 1\n" + text)) == expected + rest);
  }
}

TEST_CASE("texts and quotes", "[scene][messages]") {
  check_lines({
      {"title = My bowl", R"(s.toml:2:9: error: a text needs quotes
    2 | title = My bowl
      |         ^^^^^^^
  allowed: title = "My bowl"
)"},
      {"title = 'My bowl\"", R"(s.toml:2:9: error: this quote is not closed
    2 | title = 'My bowl"
      |         ^^^^^^^^^
  allowed: a text between two quotes of one kind, on one line
)"},
      {"title = \"My bowl", R"(s.toml:2:9: error: this quote is not closed
    2 | title = "My bowl
      |         ^^^^^^^^
  allowed: a text between two quotes of one kind, on one line
)"},
      {"title = 'it''s'", R"(s.toml:2:9: error: something follows after this text
    2 | title = 'it''s'
      |         ^^^^^^^
  allowed: one value for a key; the other kind of quotes inside a text
)"},
      {R"(title = "C:\data")", R"(s.toml:2:9: error: a backslash has a special meaning between double quotes
    2 | title = "C:\data"
      |         ^^^^^^^^^
  allowed: a text in single quotes, or two backslashes for one
)"},
      {"x = True", R"(s.toml:2:5: error: true and false must be in small letters
    2 | x = True
      |     ^^^^
  allowed: x = true
)"},
  });
}

TEST_CASE("numbers: formulas, units, commas, points", "[scene][messages]") {
  check_lines({
      {"axis = [0, -sin(20), cos(20)]", R"(s.toml:2:12: error: formulas are not allowed
    2 | axis = [0, -sin(20), cos(20)]
      |            ^^^^^^^^
  allowed: the number itself, as 0.342 or -1.5e-3
)"},
      {"x = 2*3", R"(s.toml:2:5: error: formulas are not allowed
    2 | x = 2*3
      |     ^^^
  allowed: the number itself, as 0.342 or -1.5e-3
)"},
      {"x = { a = 1, b = 20 m }", R"(s.toml:2:18: error: a number takes no unit
    2 | x = { a = 1, b = 20 m }
      |                  ^^^^
  the unit is part of the key's name, as in diameter_m = 8
)"},
      {"x = 1,5", R"(s.toml:2:5: error: TOML writes this number differently
    2 | x = 1,5
      |     ^^^
  allowed: x = 1.5
)"},
      {"x = [1, -.5]", R"(s.toml:2:9: error: TOML writes this number differently
    2 | x = [1, -.5]
      |         ^^^
  allowed: -0.5
)"},
      {"x = 5.", R"(s.toml:2:5: error: TOML writes this number differently
    2 | x = 5.
      |     ^^
  allowed: x = 5.0
)"},
      {"x = 05", R"(s.toml:2:5: error: TOML writes this number differently
    2 | x = 05
      |     ^^
  allowed: x = 5
)"},
      {"x = 14 000", R"(s.toml:2:5: error: TOML writes this number differently
    2 | x = 14 000
      |     ^^^^^^
  allowed: x = 14000
)"},
      {"x = 1e999", R"(s.toml:2:5: error: this number is too large or not complete
    2 | x = 1e999
      |     ^^^^^
  allowed: as 250, 0.342 or -1.5e-3
)"},
      {"x = [1 2]", R"(s.toml:2:6: error: the values of a list need commas between them
    2 | x = [1 2]
      |      ^^^
  allowed: [1, 2, 3]
)"},
      {"x = ?", R"(s.toml:2:5: error: this is not a value
    2 | x = ?
      |     ^
  allowed: a number, a text in quotes, true, false, a list [..., ...] or a table { ... }
)"},
  });
}

TEST_CASE("times without seconds or offset, and none at all", "[scene][messages]") {
  check_lines({
      {"at = 2026-03-20T12:00", R"(s.toml:2:6: error: a time needs seconds and an offset from UTC
    2 | at = 2026-03-20T12:00
      |      ^^^^^^^^^^^^^^^^
  allowed: at = 2026-03-20T12:00:00+01:00
)"},
      {"at = 2026-03-20 12:00-07:00", R"(s.toml:2:6: error: a time needs seconds and an offset from UTC
    2 | at = 2026-03-20 12:00-07:00
      |      ^^^^^^^^^^^^^^^^^^^^^^
  allowed: at = 2026-03-20T12:00:00-07:00
)"},
      {"at = 2026-13-20T12:00:00Z", R"(s.toml:2:6: error: this date or time does not exist
    2 | at = 2026-13-20T12:00:00Z
      |      ^^^^^^^^^^^^^^^^^^^^
  allowed: at = 2026-06-21T12:30:00+01:00
)"},
  });
  check({{"azimuth_deg = 180\nelevation_deg = 60",
          "at = \"2026-06-21T12:30:00+01:00\"\n[site]\nlatitude_deg = 31\nlongitude_deg = -8",
          R"(s.toml:3:6: error: wrong type for 'at' in [sun]
    3 | at = "2026-06-21T12:30:00+01:00"
      |      ^^^^^^^^^^^^^^^^^^^^^^^^^^^
  found: text "2026-06-21T12:30:00+01:00"
  allowed: a date and time with its offset from UTC, as 2026-06-21T12:30:00+01:00
  a time stands without quotes
)"}});
}

TEST_CASE("braces, brackets and lines", "[scene][messages]") {
  check({{"mount = { kind = \"fixed\" }", "mount = {\n  kind = \"fixed\"\n}",
          R"(s.toml:16:9: error: a '{' must close on the same line
   16 | mount = {
      |         ^
  allowed: { ... } on one line
  or a table of its own: [primary.mount], with its keys on the lines below
)" + rest},
         {"mount = { kind = \"fixed\" }", "mount = { kind = \"fixed\"",
          R"(s.toml:16:9: error: a '{' must close on the same line
   16 | mount = { kind = "fixed"
      |         ^
  allowed: { ... } on one line
  or a table of its own: [primary.mount], with its keys on the lines below
)" + rest},
         {"mount = { kind = \"fixed\" }", "mount = { kind = \"fixed\", }",
          R"(s.toml:16:25: error: a comma before the closing brace
   16 | mount = { kind = "fixed", }
      |                         ^^
  allowed: { a = 1, b = 2 }
)" + rest},
         {"position_m = [0, 0, 10] }", "position_m = [0, 0, 10",
          R"(s.toml:21:40: error: this bracket is not closed, or a comma is missing after it
   21 | mount = { kind = "fixed", position_m = [0, 0, 10
      |                                        ^
  allowed: [1, 2, 3]
)" + rest}});
  check_lines({
      {"x = 1;", R"(s.toml:2:6: error: a line must not end with ';'
    2 | x = 1;
      |      ^
  allowed: x = 1
)"},
      {"x = 1 y = 2", R"(s.toml:2:5: error: a second key on this line
    2 | x = 1 y = 2
      |     ^^^
  allowed: each key on its own line, or { a = 1, b = 2 }
)"},
      {"x: 20", R"(s.toml:2:1: error: a key and its value need '=' between them
    2 | x: 20
      | ^^^^^
  allowed: x = 20
)"},
      {"x == 1", R"(s.toml:2:4: error: two '=' in a row
    2 | x == 1
      |    ^
  allowed: key = value
)"},
      {"my key = 1", R"(s.toml:2:1: error: a key must be one word
    2 | my key = 1
      | ^^^^^^^^^^
  allowed: letters a to z, digits, - and _
)"},
      {"[sun", R"(s.toml:2:1: error: this is not a table's name
    2 | [sun
      | ^^^^
  allowed: [sun] for one table, [[primary]] for each of several
)"},
      {"// a comment", R"(s.toml:2:1: error: a comment must begin with #
    2 | // a comment
      | ^^^^^^^^^^^^
)"},
      {"x = 1 // a comment", R"(s.toml:2:7: error: a comment must begin with #
    2 | x = 1 // a comment
      |       ^^^^^^^^^^^^
)"},
      {"what is this", R"(s.toml:2:1: error: this line is not TOML
    2 | what is this
      | ^^^^^^^^^^^^
  allowed: key = value; a table's name as [sun]; one of several tables as [[primary]]; # and a comment
)"},
  });
  check({{"[[receiver]]", "[primary]",
          R"(s.toml:17:1: error: 'primary' is already used above
   17 | [primary]
      | ^^^^^^^^^
  allowed: [NAME] once; [[NAME]], in two brackets, for each of several components
)" + rest}});
}

TEST_CASE("typographic quotes, minus signs and degrees", "[scene][messages]") {
  check({{"schema = 1", "schema = 1\ntitle = \xE2\x80\x9CMy bowl\xE2\x80\x9D",
          "s.toml:2:9: error: a character beyond ASCII outside quotes\n"
          "    2 | title = \xE2\x80\x9CMy bowl\xE2\x80\x9D\n"
          "      |         ^\n"
          "  allowed: letters a to z, digits, - and _ in a key; anything in quotes or a comment\n"
          "  a text stands between straight quotes: \"...\"\n"},
         {"elevation_deg = 60", "elevation_deg = 60\xC2\xB0",
          "s.toml:4:19: error: a character beyond ASCII outside quotes\n"
          "    4 | elevation_deg = 60\xC2\xB0\n"
          "      |                   ^\n"
          "  allowed: letters a to z, digits, - and _ in a key; anything in quotes or a comment\n"
          "  a number takes no unit; the key's name has it\n"}});
}

}  // namespace
}  // namespace catoptra
