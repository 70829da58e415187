#include "words/table.h"

#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <functional>
#include <vector>

#include "files/names.h"
#include "study/heat_numbers.h"

namespace catoptra {
namespace {

/// The decimal place (as in 10^place) of the second significant digit, after rounding to two digits.
int place_of_second_digit(double x) {
  const std::string digits = fmt::format("{:.1e}", x);  // "9.6e-04"; rounding may carry into the next power
  return std::stoi(digits.substr(digits.find('e') + 1)) - 1;
}

std::string fixed_to_place(double x, int place) {
  if (place <= 0) return fmt::format("{:.{}f}", x, -place);
  const double step = std::pow(10.0, place);
  return fmt::format("{:.0f}", std::round(x / step) * step);
}

std::string six_digits(double x) {
  if (x == 0) return "0";
  const int place = place_of_second_digit(std::fabs(x)) - 4;
  std::string text = fixed_to_place(x, std::min(place, 0));
  while (text.find('.') != text.npos && (text.back() == '0' || text.back() == '.')) {
    const bool point = text.back() == '.';
    text.pop_back();
    if (point) break;
  }
  return text;
}

/// "value ± error" with the two columns' right edges in line.
std::string cells(const Estimate& estimate, int value_width) {
  const Rounded text = rounded(estimate);
  const std::string error = text.error.empty() ? "" : "± " + text.error;
  return fmt::format("{:>{}} {:<11}", text.value, value_width, error);
}

std::string trimmed(std::string line) {
  line.erase(line.find_last_not_of(' ') + 1);
  return line + "\n";
}

std::string row(std::string_view name, const Estimate& estimate, std::string_view unit = "") {
  return trimmed(fmt::format("  {:<22}{} {}", name, cells(estimate, 14), unit));
}

/// The lines of those numbers that have one in a table.
template <class T>
std::string rows(const auto& numbers, const T& from) {
  std::string text;
  for (const Number<T>& number : numbers) {
    const Estimate estimate = number.at(from);
    if (number.label.empty() || (estimate.value == 0 && !number.shown_as_zero)) continue;
    text += row(number.label, estimate, number.label_unit);
  }
  return text;
}

std::string budget_text(const TraceResult& result) {
  const double total_W = result.dni_W_m2 * result.aperture_area_m2;
  const auto line = [&](std::string_view name, const Estimate& power) {
    return trimmed(fmt::format("  {:<22}{}{}", name, cells(power, 14), cells(times(power, 100 / total_W), 12)));
  };
  std::string text = fmt::format("{:<24}{:>14} {:<11}{:>12}\n", "budget", "W", "", "%");
  text += line("DNI x aperture area", {total_W, 0});
  for (std::size_t i = 0; i < term_count; ++i) text += line(words_of(term_names[i]), result.budget[i]);
  text += line("closure", result.closure);
  return text;
}

/// A component's part in a loss.
struct Part {
  std::string_view name;
  Estimate power;
};

/// The losses to which several components add, the largest parts first; nothing where no loss is so.
std::string losses_text(const TraceResult& result) {
  constexpr std::size_t most_shown = 6;
  const double percent_W = 100 / (result.dni_W_m2 * result.aperture_area_m2);
  std::string text;
  for (const TermWords& term : budget_terms) {
    if (term.term == Term::absorbed) continue;  // the receivers' tables tell it
    const auto place = static_cast<std::size_t>(term.term);
    std::vector<Part> parts;
    for (const ComponentPowers& component : result.by_component) {
      if (component.terms[place].value != 0) parts.push_back({component.name, component.terms[place]});
    }
    if (parts.size() < 2) continue;
    std::ranges::stable_sort(parts, std::greater<>{}, [](const Part& part) { return std::fabs(part.power.value); });
    text += fmt::format("  {}\n", words_of(term.name));
    for (std::size_t i = 0; i < std::min(parts.size(), most_shown); ++i) {
      const auto& [name, power] = parts[i];
      constexpr std::size_t room = 20;
      if (name.size() > room) text += fmt::format("    {}\n", name);  // on a line of its own
      text += trimmed(fmt::format("    {:<{}}{}{}", name.size() > room ? "" : name, room, cells(power, 14),
                                  cells(times(power, percent_W), 12)));
    }
    if (parts.size() > most_shown) text += fmt::format("    and {} more\n", parts.size() - most_shown);
  }
  return text.empty() ? text : "losses by component\n" + text + "\n";
}

std::string receiver_text(const ReceiverResult& receiver) {
  std::string text = fmt::format("\nreceiver '{}', {} m2\n", receiver.name, six_digits(receiver.area_m2));
  text += rows(receiver_numbers, receiver);
  if (!std::isnan(receiver.peak_at[0]))
    text += fmt::format("  {:<22}{:>14}\n", "  peak at",
                        fmt::format("{} = {:.4g}, {} = {:.4g}", receiver.flux.first.name, receiver.peak_at[0],
                                    receiver.flux.second.name, receiver.peak_at[1]));
  return text;
}

std::string heat_text(const HeatBalance& heat) {
  return fmt::format("  heat at {} K\n", six_digits(heat.temperature_K)) + rows(heat_numbers, heat);
}

/// `lead` and `text`, broken between words so that no line passes 80 columns; blanks stand under `lead`.
std::string wrapped(std::string_view lead, std::string_view text) {
  std::string out, line(lead);
  while (!text.empty()) {
    const std::string_view word = text.substr(0, text.find(' '));
    if (line.size() > lead.size() && line.size() + 1 + word.size() > 80) {
      out += line + "\n";
      line.assign(lead.size(), ' ');
    }
    if (line.size() > lead.size()) line += ' ';
    line += word;
    text.remove_prefix(std::min(word.size() + 1, text.size()));
  }
  return out + line + "\n";
}

}  // namespace

const std::string_view caution_text =
    "caution: concentrated sunlight burns and blinds; before you build, follow local\n"
    "codes and have the design checked by licensed practice.\n";

Rounded rounded(const Estimate& estimate) {
  const auto [value, error] = estimate;
  if (std::isinf(value)) return {"infinite", ""};
  if (!std::isfinite(value)) return {"not defined", ""};
  if (!std::isfinite(error)) return {six_digits(value), "not known"};
  // Sums of doubles leave a few units in the last place even where every replicate agrees: no statistical error.
  if (error <= 1e-13 * std::fabs(value)) return {six_digits(value), ""};
  const int place = place_of_second_digit(error);
  return {fixed_to_place(value, place), fixed_to_place(error, place)};
}

std::string compact(const Estimate& estimate) {
  const Rounded text = rounded(estimate);
  return text.value + (text.error.empty() ? "" : "±" + text.error);
}

std::string to_right(const std::string& text, std::size_t width) {
  const auto columns = text.size() - static_cast<std::size_t>(std::ranges::count(text, '\xc2'));
  return std::string(columns < width ? width - columns : 1, ' ') + text;
}

std::string result_text(const Scene& scene, const TraceResult& result) {
  std::string text = scene.title.empty() ? "" : wrapped("", scene.title);
  text += fmt::format("{} samples in {} replicates, seed {}, {:.3g} s\n", result.samples, result.replicates,
                      result.seed, result.wall_time_s);
  text += fmt::format("DNI {} W/m2, sun at azimuth {:.2f}, elevation {:.2f} degrees\n", six_digits(result.dni_W_m2),
                      azimuth_deg(result.to_sun), elevation_deg(result.to_sun));
  text += fmt::format("primaries: aperture area {} m2, incident power {} W\n", six_digits(result.aperture_area_m2),
                      six_digits(result.incident_power_W));
  text += "± one standard error, from the spread of the replicates\n\n";
  text += budget_text(result);
  text += "\n";
  text += losses_text(result);
  text += rows(result_numbers, result);
  for (const auto& receiver : result.receivers) {
    text += receiver_text(receiver);
    if (const auto heat = heat_balance(scene, receiver)) text += heat_text(*heat);
  }
  const auto words = remarks(result);
  if (!words.empty()) text += "\n";
  for (const auto& remark : words) text += wrapped("warning: ", remark);
  return text;
}

}  // namespace catoptra
