#pragma once
// The numbers that outputs hold, each once: its name, its unit, its meaning, whether it has an error. Result files,
// JSON, CSV, tables, comparisons and readers walk these lists. A new number is one new entry.
#include <algorithm>
#include <array>
#include <string>
#include <string_view>
#include <variant>

#include "trace/result.h"

namespace catoptra {

/// "_W_m2" for "W m-2": keys end with their unit. Nothing for "1".
inline std::string unit_suffix(std::string_view unit) {
  if (unit == "1") return "";
  std::string out = "_" + std::string(unit);
  std::erase(out, '-');
  std::ranges::replace(out, ' ', '_');
  return out;
}

/// What every file and table calls the standard error of the number `name`, whose key ends with `suffix`.
inline std::string error_key(std::string_view name, std::string_view suffix) {
  return std::string(name) + "_standard_error" + std::string(suffix);
}

/// "primary_absorption" as people write it.
inline std::string words_of(std::string_view name) {
  std::string words(name);
  std::ranges::replace(words, '_', ' ');
  return words;
}

/// How a comparison sets results side by side in a number; `as_share`: the sum over all receivers, as a share of DNI
/// times aperture area.
enum class Compared { no, as_it_is, in_percent, as_share };

/// A number of a T. Text is for people unless it says otherwise.
template <class T>
struct Number {
  std::string_view name;                         // without its unit: "absorbed_power"
  std::string_view unit;                         // UDUNITS spelling: "W", "m2"; "1" for ratios
  std::string_view meaning;                      // for a plot's axis and docs/result-schema.md
  std::variant<double T::*, Estimate T::*> of;   // an Estimate has a standard error
  bool by_sun = true;                            // false: no sun of a schedule changes it, which holds it once
  std::string_view label = "", label_unit = "";  // at the two ends of its line in a trace's table; "": not there
  bool shown_as_zero = true;                     // false: no line in the table while it is 0
  Compared compared = Compared::no;
  std::string_view compared_as = "";  // "": words_of(name)

  std::string suffix() const { return unit_suffix(unit); }
  std::string key() const { return std::string(name) + suffix(); }
  /// There where has_error().
  std::string error_key() const { return catoptra::error_key(name, suffix()); }
  constexpr bool has_error() const { return std::holds_alternative<Estimate T::*>(of); }

  /// The standard error is 0 where it has none.
  Estimate at(const T& from) const {
    if (const auto* estimate = std::get_if<Estimate T::*>(&of)) return from.**estimate;
    return {from.*std::get<double T::*>(of), 0};
  }
  void set(T& to, const Estimate& estimate) const {
    if (const auto* place = std::get_if<Estimate T::*>(&of))
      to.** place = estimate;
    else
      to.*std::get<double T::*>(of) = estimate.value;
  }
};

/// Of the whole scene.
inline constexpr std::array result_numbers{
    Number<TraceResult>{.name = "aperture_area",
                        .unit = "m2",
                        .meaning = "aperture area of all primaries",
                        .of = &TraceResult::aperture_area_m2,
                        .by_sun = false},
    Number<TraceResult>{
        .name = "incident_power",
        .unit = "W",
        .meaning =
            "DNI times the area that the primaries show to the sun: inside the rim, or of the lit side where a front "
            "bulges toward the sun",
        .of = &TraceResult::incident_power_W,
        .compared = Compared::as_it_is},
    Number<TraceResult>{.name = "closure",
                        .unit = "W",
                        .meaning = "DNI times aperture area minus all terms of the budget: 0 within its error",
                        .of = &TraceResult::closure},
    Number<TraceResult>{.name = "optical_efficiency",
                        .unit = "1",
                        .meaning = "absorbed power / (DNI times aperture area)",
                        .of = &TraceResult::optical_efficiency,
                        .label = "optical efficiency",
                        .compared = Compared::in_percent},
    Number<TraceResult>{.name = "intercept_factor",
                        .unit = "1",
                        .meaning = "power that reaches the receivers / power that leaves the last mirror unblocked",
                        .of = &TraceResult::intercept_factor,
                        .label = "intercept factor",
                        .compared = Compared::in_percent},
};

/// Of each receiver.
inline constexpr std::array receiver_numbers{
    Number<ReceiverResult>{.name = "area",
                           .unit = "m2",
                           .meaning = "area of the front, all copies together",
                           .of = &ReceiverResult::area_m2,
                           .by_sun = false},
    Number<ReceiverResult>{.name = "intercept_factor",
                           .unit = "1",
                           .meaning = "power that reaches this receiver / power that leaves the last mirror unblocked",
                           .of = &ReceiverResult::intercept_factor,
                           .label = "intercept factor"},
    Number<ReceiverResult>{.name = "arriving_power",
                           .unit = "W",
                           .meaning = "power that arrives on the front for the first time, by way of the mirrors",
                           .of = &ReceiverResult::arriving_power_W,
                           .label = "arriving power",
                           .label_unit = "W"},
    Number<ReceiverResult>{.name = "absorbed_power",
                           .unit = "W",
                           .meaning = "absorbed power",
                           .of = &ReceiverResult::absorbed_power_W,
                           .label = "absorbed power",
                           .label_unit = "W",
                           .compared = Compared::as_it_is},
    Number<ReceiverResult>{.name = "direct_power",
                           .unit = "W",
                           .meaning = "absorbed power of light that did not fall on a primary first: straight from the "
                                      "sun, or by way of other components; part of no other number",
                           .of = &ReceiverResult::direct_power_W,
                           .label = "direct sunlight",
                           .label_unit = "W, in no other line",
                           .shown_as_zero = false},
    Number<ReceiverResult>{.name = "mean_concentration",
                           .unit = "1",
                           .meaning = "irradiance averaged over the front / DNI",
                           .of = &ReceiverResult::mean_concentration,
                           .label = "mean concentration",
                           .label_unit = "x DNI",
                           .compared = Compared::as_it_is},
    Number<ReceiverResult>{
        .name = "peak_concentration",
        .unit = "1",
        .meaning = "irradiance of the brightest bin / DNI, without the bias of picking the largest of noisy values",
        .of = &ReceiverResult::peak_concentration,
        .label = "peak concentration",
        .label_unit = "x DNI, of one bin",
        .compared = Compared::as_it_is},
};

}  // namespace catoptra
