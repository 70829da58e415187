#include "words/comparison.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <functional>
#include <optional>

#include "files/stored_scene.h"
#include "study/heat_numbers.h"
#include "words/sun_means.h"
#include "words/table.h"

namespace catoptra {
namespace {

using Numbers = std::vector<double>;

/// The number at `path`, or its mean over a schedule's suns.
std::optional<Estimate> estimate_of(const StoredFile& file, const std::string& path) {
  const Numbers* values = file.values<double>(path);
  if (!values || values->empty()) return std::nullopt;
  if (const auto means = means_over_suns(file, *file.find(path)); !means.empty()) return means.front();
  return file.estimate(path);
}

/// DNI times aperture area.
double whole_W(const StoredFile& file) {
  return file.number("/sun/dni_W_m2") * file.number("/aperture_area_m2");
}

/// A term of the budget as a share of DNI times aperture area.
std::optional<Estimate> term_of(const StoredFile& file, std::string_view term) {
  const auto* terms = file.values<std::string>("/budget/term");
  const StoredSet* power = file.find("/budget/power_W");
  if (!terms || !power) return std::nullopt;
  const auto place = static_cast<std::size_t>(std::ranges::find(*terms, term) - terms->begin());
  const auto means = means_over_suns(file, *power);
  if (place >= (means.empty() ? terms->size() : std::min(terms->size(), means.size()))) return std::nullopt;
  return times(means.empty() ? file.estimate(power->path, place) : means[place], 1 / whole_W(file));
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

/// b - a. What is left of equal numbers by rounding, a few units in the last place, is no difference.
Estimate difference_of(const Estimate& b, const Estimate& a) {
  const double value = b.value - a.value;
  const bool rounding = std::fabs(value) <= 1e-13 * std::fmax(std::fabs(a.value), std::fabs(b.value));
  return {rounding ? 0 : value, std::hypot(a.standard_error, b.standard_error)};
}

/// Two instants are compared whatever their suns; two schedules have the same ones within a microradian.
bool have_same_suns(const StoredFile& a, const StoredFile& b) {
  if (!is_schedule(a)) return true;
  const Numbers *of_a = a.values<double>("/sun/to_sun"), *of_b = b.values<double>("/sun/to_sun");
  return of_a && of_b && std::ranges::equal(*of_a, *of_b, [](double x, double y) { return std::fabs(x - y) < 1e-6; });
}

/// "9 suns of 2026-06-21", "312 suns of 12 days, 2026-01-21 to 2026-12-21".
std::string suns_text(const StoredFile& file) {
  const auto* local = file.values<std::string>("/local_time");
  if (local == nullptr || local->empty()) return "no suns";
  std::vector<std::string> days;
  for (const std::string& time : *local)
    if (days.empty() || days.back() != time.substr(0, 10)) days.push_back(time.substr(0, 10));
  const std::string count = fmt::format("{} sun{} of ", local->size(), local->size() > 1 ? "s" : "");
  if (days.size() == 1) return count + days.front();
  return count + fmt::format("{} days, {} to {}", days.size(), days.front(), days.back());
}

class Text {
 public:
  explicit Text(std::span<const StoredFile> files) : files_(files) {
    for (const StoredFile& file : files) same_suns_.push_back(have_same_suns(files.front(), file));
  }
  bool all_same_suns() const { return std::ranges::all_of(same_suns_, std::identity()); }

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
        const Estimate difference = difference_of(*found, *first);
        // Between other suns chance is the least of what differs.
        line += same_suns_[i] ? to_right(with_error(difference), 28) + to_right(apart(difference), 20)
                              : to_right(with_error({difference.value, 0}), 28);
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
  std::vector<bool> same_suns_;  // as the first file
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
  for (std::size_t i = 0; i < files.size(); ++i) {
    out.text += fmt::format("{}  {}\n", letter(i), files[i].path);
    if (schedule) out.text += fmt::format("   {}\n", suns_text(files[i]));
  }
  out.text += fmt::format("\n{:<4}{:>26}{:>28}{:>20}\n", "", schedule ? "mean over the suns" : "value",
                          "difference from A", "in standard errors");
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
  if (!out.all_same_suns())
    out.text +=
        "\nNot all have the suns of A: between results of other suns, differences have no\nstandard errors, as these "
        "tell of chance alone.\n";
  return out.text +
         "\n± one standard error. The last column assumes independent runs. Runs with the\n"
         "same seed share their random numbers, so they are not independent.\n";
}

}  // namespace catoptra
