#pragma once
// What the sun sends onto primaries: how much, and on which copies samples have to tell it.
// Derivation: docs/theory/tracing.md, "Incident power".
#include "trace/plan.h"

namespace catoptra {

/// Sets every primary's Instance::incident and ComponentPlan::counts_all, and plan.incident_known_W: anew whenever
/// something has moved.
void plan_incident(Plan& plan);

}  // namespace catoptra
