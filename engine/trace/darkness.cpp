#include "trace/darkness.h"

#include <algorithm>
#include <fmt/format.h>

namespace catoptra {

std::optional<std::string> why_dark(const TraceResult& out) {
  if (out.receivers.empty() || out.budget[static_cast<std::size_t>(Term::absorbed)].value > 0) return std::nullopt;
  const double incident_W = out.incident_power_W;
  std::size_t most = static_cast<std::size_t>(Term::shading);
  for (std::size_t t = most; t < term_count; ++t) {
    if (out.budget[t].value > out.budget[most].value) most = t;
  }
  std::string words = "no light is absorbed";
  if (out.budget[most].value > 0) {
    std::string name(term_names[most]);
    std::ranges::replace(name, '_', ' ');
    words += fmt::format("; {} takes {:.1f} % of what falls on the primaries", name,
                         100 * out.budget[most].value / incident_W);
  }
  if (most == static_cast<std::size_t>(Term::blocking))
    words += ": the light meets the dark back of a mirror or receiver, or an obstacle; check where their axes point";
  if (most == static_cast<std::size_t>(Term::spillage))
    words += ": the light misses every receiver; check where mirrors and receivers stand and point";
  if (most == static_cast<std::size_t>(Term::shading))
    words += ": something stands in the sun, or a primary turns its dark back to it";
  return words;
}

}  // namespace catoptra
