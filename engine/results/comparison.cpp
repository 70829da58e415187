#include "results/comparison.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <optional>

#include "results/stored_scene.h"
#include "results/table.h"
#include "study/heat_numbers.h"

namespace catoptra {
namespace {

using Numbers = std::vector<double>;

double mean(const Numbers& values) {
  double sum = 0;
  for (const double v : values) sum += v;
  return sum / static_cast<double>(values.size());
}

/// The number at `path`, or its mean over a schedule's suns with that of their errors.
std::optional<Estimate> estimate_of(const StoredFile& file, const std::string& path) {
  const Numbers* values = file.values<double>(path);
  if (!values || values->empty()) return std::nullopt;
  const Numbers* errors = file.errors(path);
  return Estimate{mean(*values), errors && !errors->empty() ? mean(*errors) : 0};
}

/// DNI times aperture area.
double whole_W(const StoredFile& file) {
  return file.number("/sun/dni_W_m2") * file.number("/aperture_area_m2");
}

/// A term of the budget as a share of DNI times aperture area.
std::optional<Estimate> term_of(const StoredFile& file, std::string_view term) {
  const auto* terms = file.values<std::string>("/budget/term");
  const Numbers *power = file.values<double>("/budget/power_W"), *error = file.errors("/budget/power_W");
  if (!terms || !power || !error || power->size() != error->size()) return std::nullopt;
  const auto place = static_cast<std::size_t>(std::ranges::find(*terms, term) - terms->begin());
  if (place == terms->size()) return std::nullopt;
  Numbers of_suns, errors_of_suns;
  for (std::size_t i = place; i < power->size(); i += terms->size()) {
    of_suns.push_back((*power)[i]);
    errors_of_suns.push_back((*error)[i]);
  }
  return times({mean(of_suns), mean(errors_of_suns)}, 1 / whole_W(file));
}

/// A number of all receivers' heat balances together, as a share of DNI times aperture area. Their errors are added up:
/// the same rays decide over all of them.
std::optional<Estimate> heat_share(const StoredFile& file, const std::string& number) {
  std::optional<Estimate> sum_W;
  for (const auto& receiver : receivers_of(file)) {
    const auto found = estimate_of(file, "/receivers/" + receiver + "/heat/" + number);
    if (!found) continue;
    const Estimate before = sum_W.value_or(Estimate{0, 0});
    sum_W = {before.value + found->value, before.standard_error + found->standard_error};
  }
  if (!sum_W) return std::nullopt;
  return times(*sum_W, 1 / whole_W(file));
}

std::string_view letter(std::size_t file) {
  static constexpr std::string_view letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZ";
  return letters.substr(file % letters.size(), 1);
}

std::string with_error(const Estimate& estimate) {
  const Rounded text = rounded(estimate);
  return text.error.empty() ? text.value : fmt::format("{} ± {}", text.value, text.error);
}

std::string apart(const Estimate& difference) {
  if (difference.value == 0 || !std::isfinite(difference.value)) return "";
  // An error that is nothing but rounding is none.
  if (!(difference.standard_error > 1e-12 * std::fabs(difference.value))) return "exact";
  return fmt::format("{:+.3g}", difference.value / difference.standard_error);
}

class Text {
 public:
  explicit Text(std::span<const StoredFile> files) : files_(files) {}

  /// A number with its unit: `of(file)` gives the estimate, none where a file has no such number.
  void block(std::string_view name, std::string_view unit, double factor, const auto& of) {
    std::string lines;
    std::optional<Estimate> first;
    bool something = false;  // a line of zeros for every file would say nothing
    for (std::size_t i = 0; i < files_.size(); ++i) {
      std::optional<Estimate> found = of(files_[i]);
      if (!found) continue;
      found = times(*found, factor);
      something = something || found->value != 0;
      std::string line = fmt::format("  {} {}", letter(i), to_right(with_error(*found), 26));
      if (first && i > 0) {
        const Estimate difference{found->value - first->value,
                                  std::hypot(found->standard_error, first->standard_error)};
        line += to_right(with_error(difference), 28) + to_right(apart(difference), 20);
      }
      if (i == 0) first = found;
      line.erase(line.find_last_not_of(' ') + 1);
      lines += line + "\n";
    }
    if (something) text += fmt::format("{}{}{}\n{}", name, unit.empty() ? "" : ", ", unit, lines);
  }

  std::string text;

 private:
  std::span<const StoredFile> files_;
};

constexpr std::string_view share_words = "% of DNI x aperture area";

std::string compared_as(const auto& number) {
  return number.compared_as.empty() ? words_of(number.name) : std::string(number.compared_as);
}

/// Those of the list that are compared, in `group`, which ends with a slash.
void compare_numbers(Text& out, const std::string& lead, const std::string& group, const auto& numbers) {
  for (const auto& number : numbers) {
    const bool percent = number.compared == Compared::in_percent;
    if (number.compared == Compared::no) continue;
    const std::string_view unit = number.label_unit.empty() ? number.unit : number.label_unit;
    out.block(lead + compared_as(number), percent ? "%" : unit, percent ? 100 : 1,
              [&](const StoredFile& file) { return estimate_of(file, group + number.key()); });
  }
}

/// Names of receivers in any of the files, in the order of their first appearance.
std::vector<std::string> receivers_of_all(std::span<const StoredFile> files) {
  std::vector<std::string> names;
  for (const auto& file : files) {
    for (const auto& name : receivers_of(file))
      if (std::ranges::find(names, name) == names.end()) names.push_back(name);
  }
  return names;
}

}  // namespace

std::string comparison_text(std::span<const StoredFile> files) {
  for (const auto& file : files) {
    if (is_schedule(file) == is_schedule(files.front())) continue;
    const auto kind = [](const StoredFile& f) { return is_schedule(f) ? "a schedule" : "one instant"; };
    throw NotAResult(fmt::format("'{}' is {}, '{}' is {}\n  allowed: results of one kind", files.front().path,
                                 kind(files.front()), file.path, kind(file)));
  }
  const bool schedule = is_schedule(files.front());
  Text out(files);
  for (std::size_t i = 0; i < files.size(); ++i) out.text += fmt::format("{}  {}\n", letter(i), files[i].path);
  out.text += fmt::format("\n{:<4}{:>26}{:>28}{:>20}\n", "", schedule ? "mean over the suns" : "value",
                          "difference from A", "in its errors");
  compare_numbers(out, "", "/", result_numbers);
  if (const auto* names = files.front().values<std::string>("/budget/term")) {
    for (const auto& term : *names)
      out.block(words_of(term), share_words, 100, [&](const StoredFile& file) { return term_of(file, term); });
  }
  for (const auto& number : heat_numbers) {
    if (number.compared != Compared::as_share) continue;
    out.block(compared_as(number), share_words, 100,
              [&](const StoredFile& file) { return heat_share(file, number.key()); });
  }
  for (const auto& receiver : receivers_of_all(files))
    compare_numbers(out, receiver + ": ", "/receivers/" + receiver + "/", receiver_numbers);
  return out.text +
         "\n± one standard error. The last column holds for independent runs: of other\n"
         "scenes or seeds. Runs of one scene and seed share their chances.\n";
}

}  // namespace catoptra
