#pragma once
// A number with its standard error, as every JSON output has it.
#include <nlohmann/json.hpp>

#include "numeric/statistics.h"

namespace catoptra {

inline nlohmann::ordered_json json_of(const Estimate& estimate) {
  return {{"value", estimate.value}, {"standard_error", estimate.standard_error}};
}

}  // namespace catoptra
