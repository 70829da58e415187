// What a comparison makes of numbers: shares of DNI times aperture area, over all receivers.
#include "words/comparison.h"

#include <catch2/catch.hpp>
#include <regex>

using namespace catoptra;

namespace {

void put(StoredFile& file, const std::string& path, std::vector<double> values, std::vector<double> errors = {}) {
  StoredSet set{.path = path, .values = std::move(values)};
  if (!errors.empty()) set.attributes["standard_error"] = {false, std::move(errors)};
  file.add(std::move(set));
}

/// 40,000 W come in; numbers made up.
StoredFile file_of(const std::string& path, double more) {
  StoredFile file;
  file.path = path;
  put(file, "/sun/dni_W_m2", {800});
  put(file, "/aperture_area_m2", {50});
  file.add({.path = "/budget/term", .values = std::vector<std::string>{"spillage", "absorbed"}});
  put(file, "/budget/power_W", {6000 + more, 22000}, {20, 60});
  for (const auto& [name, useful_W, work_W] : {std::tuple{"left", 12000.0, 4000.0}, {"right", 2000.0, 1000.0}}) {
    const std::string group = std::string("/receivers/") + name + "/heat/";
    put(file, group + "useful_heat_W", {useful_W}, {24});
    put(file, group + "work_W", {work_W}, {8});
  }
  return file;
}

/// The line of file `letter` in the block `name`, without the spaces that align it.
std::string line_of(const std::string& text, const std::string& name, char letter) {
  const auto block = text.find(name + ", % of DNI x aperture area\n");
  REQUIRE(block != std::string::npos);
  const auto begin = text.find(std::string("\n  ") + letter + " ", block) + 1;
  return std::regex_replace(text.substr(begin, text.find('\n', begin) - begin), std::regex(" +"), " ");
}

}  // namespace

TEST_CASE("compare: terms and heat as shares of DNI times aperture area, all receivers together", "[results]") {
  const std::string text = comparison_text(std::vector{file_of("a.h5", 0), file_of("b.h5", 400)});
  INFO(text);
  // 6000 / 40,000 and its error of 20 / 40,000; B: 400 W more, 400 / (20 sqrt 2) = 14.1 errors.
  CHECK(line_of(text, "spillage", 'A') == " A 15.000 ± 0.050");
  CHECK(line_of(text, "spillage", 'B') == " B 16.000 ± 0.050 1.000 ± 0.071 +14.1");
  CHECK(line_of(text, "absorbed", 'A') == " A 55.00 ± 0.15");
  // (12,000 + 2000) / 40,000; the same rays decide over both, so their errors add: 48 / 40,000 and 16 / 40,000.
  CHECK(line_of(text, "useful heat", 'A') == " A 35.00 ± 0.12");
  CHECK(line_of(text, "maximum work", 'A') == " A 12.500 ± 0.040");
}
