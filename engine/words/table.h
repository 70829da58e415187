#pragma once
// A trace's result as text for a terminal of 80 columns.
#include <string>
#include <string_view>

#include "scene/model.h"
#include "trace/result.h"

namespace catoptra {

/// What a measurement's report shows: the error rounded to two significant digits, the value to the same place (JCGM
/// 100:2008, section 7.2.6: two digits of the uncertainty suffice). Six significant digits and no error where that is
/// 0; "not defined" for what is not a number.
struct Rounded {
  std::string value, error;  // error: empty where there is none
};
Rounded rounded(const Estimate& estimate);
/// "0.7602±0.0012", for tables without room.
std::string compact(const Estimate& estimate);
/// Blanks before `text` up to `width` columns, one at least; "±" is two bytes of one column.
std::string to_right(const std::string& text, std::size_t width);

/// The budget in W and in % of DNI x aperture area, the efficiencies, each receiver, remarks, with standard errors.
std::string result_text(const Scene& scene, const TraceResult& result);

/// The caution that closes every text from which somebody may build.
extern const std::string_view caution_text;

}  // namespace catoptra
