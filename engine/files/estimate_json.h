#pragma once
// Numbers with their standard errors, as every JSON output has them.
#include <nlohmann/json.hpp>

#include "trace/numbers.h"

namespace catoptra {

inline nlohmann::ordered_json json_of(const Estimate& estimate) {
  return {{"value", estimate.value}, {"standard_error", estimate.standard_error}};
}

/// The budget's terms by name.
inline nlohmann::ordered_json budget_json(const TraceResult& result) {
  auto out = nlohmann::ordered_json::object();
  for (std::size_t i = 0; i < term_count; ++i)
    out[std::string(term_names[i])] = {{"power_W", json_of(result.budget[i])}};
  return out;
}

}  // namespace catoptra
