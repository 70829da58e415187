// Files made to hurt: too deep, too long, with more faults than anyone reads, with characters that act on a terminal.
#include <algorithm>
#include <catch2/catch.hpp>
#include <fmt/format.h>

#include "scene/plain_text.h"
#include "scene/read_file.h"
#include "small_scene.h"

namespace catoptra {
namespace {

std::string repeated(const std::string& part, int times) {
  std::string out;
  for (int i = 0; i < times; ++i) out += part;
  return out;
}

TEST_CASE("a key of a hundred thousand parts is refused before the parser builds its tree", "[scene][messages]") {
  const std::string deep = repeated("a.", 100'000) + "a";
  for (const std::string& line : {deep + " = 1", "[" + deep + "]", "[[" + deep + "]]", "x = { " + deep + " = 1 }"}) {
    const std::string all = complaints("schema = 1\n" + line + "\n");
    CHECK(all.find("s.toml:2:") == 0);
    CHECK(all.find("error: a key of too many parts\n") != std::string::npos);
    CHECK(all.find("\n  allowed: 20 parts with dots between them\n") != std::string::npos);
    CHECK(all.size() < 1000);
  }
  // Numbers have points too, and quotes and comments may hold what they like.
  CHECK(complaints("schema = 1 # " + deep).find("too many parts") == std::string::npos);
  CHECK(complaints("x = [" + repeated("1.5, ", 50) + "1.5]").find("too many parts") == std::string::npos);
  CHECK(complaints("x = \"" + deep + "\"").find("too many parts") == std::string::npos);
  // Of the parts that are allowed the parser's own tree is taken down safely.
  CHECK(complaints(repeated("a.", 19) + "a = 1").find("error: unknown key 'a' in the scene") != std::string::npos);
}

TEST_CASE("brackets within brackets are refused beyond reason", "[scene][messages]") {
  for (const auto& [open, close] : {std::pair<std::string, std::string>{"[", "]"}, {"{a=", "}"}}) {
    const std::string line = "x = " + repeated(open, 100'000) + "1" + repeated(close, 100'000);
    const std::string all = complaints("schema = 1\n" + line + "\n");
    CHECK(all.find("error: brackets within brackets, too deep\n") != std::string::npos);
    CHECK(all.find("\n  allowed: 20 open brackets\n") != std::string::npos);
    CHECK(all.size() < 1000);
  }
  CHECK(complaints("x = " + repeated("[", 20) + repeated("]", 20)).find("too deep") == std::string::npos);
}

TEST_CASE("five thousand faults on one line: forty are said, none with the whole line", "[scene][messages]") {
  std::string line = "x0 = 1";
  for (int i = 1; i < 5000; ++i) line += fmt::format(", x{} = 1", i);
  const std::string text = varied("", "[finish.odd]\nkind = \"dark\"\nmore = { " + line + " }\n");
  std::string tables = small_scene + "[site]\nlatitude_deg = 1\nlongitude_deg = 1\n";
  for (int i = 0; i < 5000; ++i) tables += fmt::format("x{} = 1\n", i);
  const auto outcome = read_scene_text(tables, "s.toml");
  CHECK_FALSE(outcome.scene);
  CHECK(outcome.problems.size() == 40);
  CHECK(outcome.left_out == 4960);
  const std::string all = text_of(outcome.problems, outcome.left_out);
  CHECK(all.ends_with("\nand 4960 more\n"));
  // In the mount all of them stand on one line, which no message repeats.
  const auto one_line = read_scene_text(varied("kind = \"fixed\" }", "kind = \"fixed\", " + line + " }"), "s.toml");
  CHECK(one_line.problems.size() == 40);
  CHECK(one_line.left_out == 4960);
  CHECK(text_of(one_line.problems, one_line.left_out).size() < 40 * 500);
  const std::string& second = one_line.problems[1].text();
  INFO(second);
  CHECK(second.find("s.toml:16:35: error: unknown key 'x1' in mount of primary 'bowl'\n") == 0);
  CHECK(second.find("...\n      |                                   ^^\n") != std::string::npos);
}

TEST_CASE("a long line is shown round its fault", "[scene][messages]") {
  const std::string left(100, 'l'), right(200, 'r');
  const auto outcome = read_scene_text(
      varied("schema = 1", fmt::format("schema = 1 # {0}\ntitle = '{0}' #\nx = 1 # {1}", left, right)), "s.toml");
  REQUIRE(outcome.problems.size() == 1);
  CHECK(outcome.problems[0].text() == "s.toml:3:1: error: unknown key 'x' in the scene\n    3 | x = 1 # " +
                                          std::string(152, 'r') +
                                          "...\n      | ^\n  allowed: schema, title, site, sun, finish, primary, "
                                          "secondary, receiver, obstacle, cover");
  const std::string far = varied("{ kind = \"sphere\"", "{          " + std::string(300, ' ') + "kind = \"spheer\"");
  const std::string text = complaints(far);
  INFO(text);
  CHECK(text.find("s.toml:13:327: error: unknown kind in shape of primary 'bowl': text \"spheer\"\n   13 | ...") == 0);
  const auto quoted = text.find("...") + 3, marked = text.find("^");
  const auto line_begin = text.rfind('\n', quoted) + 1, mark_begin = text.rfind('\n', marked) + 1;
  CHECK(text.substr(line_begin + (marked - mark_begin), 8) == "\"spheer\"");
}

TEST_CASE("errors are said before warnings where there are too many", "[scene][messages]") {
  Problems problems("f", "one\n");
  for (int i = 0; i < 60; ++i) problems.warning({1, i + 1, 1}, "odd");
  problems.error({1, 99, 1}, "wrong");
  const auto said = problems.take();
  REQUIRE(said.size() == 40);
  CHECK(said.back().message == "wrong");
  CHECK(problems.left_out() == 21);
}

TEST_CASE("the last line counts the problems, from two on", "[scene][messages]") {
  const auto last_line = [](int errors, int warnings) {
    Problems problems("f", "");
    for (int i = 0; i < errors; ++i) problems.error({1, i + 1, 1}, "wrong");
    for (int i = 0; i < warnings; ++i) problems.warning({2, i + 1, 1}, "odd");
    const auto said = problems.take();
    const std::string all = text_of(said, problems.left_out());
    const auto begin = all.find_last_of('\n', all.size() - 2);
    return begin == std::string::npos ? all : all.substr(begin + 1);
  };
  CHECK(last_line(18, 0) == "18 errors\n");
  CHECK(last_line(2, 1) == "2 errors, 1 warning\n");
  CHECK(last_line(1, 2) == "1 error, 2 warnings\n");
  CHECK(last_line(0, 2) == "2 warnings\n");
  CHECK(last_line(1, 0) == "f:1:1: error: wrong\n");
}

TEST_CASE("characters that act on a terminal are refused, however they come", "[scene][messages]") {
  check({{"schema = 1", R"(schema = 1
title = "t\u001b[31m")",
          R"(s.toml:2:9: error: a control character in a text
    2 | title = "t\u001b[31m"
      |         ^^^^^^^^^^^^^
  found: U+001B
  allowed: what can be seen, on one line
)"},
         {"name = \"bowl\"", R"(name = "bo\u009bwl")",
          R"(s.toml:12:8: error: a control character in a text
   12 | name = "bo\u009bwl"
      |        ^^^^^^^^^^^^
  found: U+009B
  allowed: what can be seen, on one line
)"},
         {"[finish.black]", R"([finish."b\u0007ck"])",
          R"(s.toml:8:9: error: a control character in a key
    8 | [finish."b\u0007ck"]
      |         ^^^^^^^^^^^
  found: U+0007
  allowed: what can be seen, on one line
)"}});
  // The C1 control CSI as it stands, U+009B.
  CHECK(complaints(varied("\"bowl\"", "\"\xC2\x9B\"")) ==
        "s.toml:12:9: error: not a text file\n  found: character U+009B\n"
        "  allowed: UTF-8 text without control characters\n");
  CHECK(control_character("plain \t \xC3\xA4\xE2\x82\xAC\xF0\x9F\x8C\x9E") == std::nullopt);
  CHECK(control_character("a\nb") == U'\n');
  CHECK(control_character("\xE2\x80\xAE") == char32_t{0x202E});
  CHECK(control_character("\xEF\xBF\xBE") == char32_t{0xFFFE});
}

TEST_CASE("files that the kernel makes up are no scenes and no tables", "[scene][messages]") {
  CHECK_THROWS_WITH(read_whole_file("/proc/self/status"),
                    "not a file on a disk: the system makes it up when it is read");
  CHECK_THROWS_WITH(read_whole_file("/proc/kmsg"), "not a file on a disk: the system makes it up when it is read");
  CHECK_THROWS_WITH(read_whole_file("/dev/zero"), "not a regular file");
  const std::string text =
      varied("mount = { kind = \"fixed\" }",
             "mount = { kind = \"fixed\" }\narray = { kind = \"csv\", file = \"/proc/self/status\" }");
  CHECK(
      complaints(text) ==
      R"(s.toml:17:32: error: can't read /proc/self/status: not a file on a disk: the system makes it up when it is read
   17 | array = { kind = "csv", file = "/proc/self/status" }
      |                                ^^^^^^^^^^^^^^^^^^^
  allowed: a file's path from the scene's folder
)");
}

}  // namespace
}  // namespace catoptra
