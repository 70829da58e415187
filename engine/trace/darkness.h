#pragma once
#include <optional>
#include <string>

#include "trace/result.h"

namespace catoptra {

/// A warning where receivers absorb nothing at all: most likely something is turned the wrong way, and where the light
/// ends instead is the best hint. None where something is absorbed.
std::optional<std::string> why_dark(const TraceResult& result);

}  // namespace catoptra
